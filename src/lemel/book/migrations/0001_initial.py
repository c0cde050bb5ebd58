"""The first tables of the book."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True

    dependencies: list[tuple[str, str]] = []

    operations = [
        migrations.CreateModel(
            name="Evidence",
            fields=[
                ("id", models.CharField(max_length=200, primary_key=True, serialize=False)),
                ("about", models.CharField(db_index=True, max_length=200)),
                ("record", models.TextField()),
                ("withdrawn", models.BooleanField(default=False)),
            ],
        ),
        migrations.CreateModel(
            name="Kept",
            fields=[
                ("id", models.CharField(max_length=200, primary_key=True, serialize=False)),
                ("record", models.TextField()),
                ("digest", models.CharField(max_length=64)),
                ("accepted_at", models.CharField(max_length=40)),
                ("redacted", models.BooleanField(default=False)),
            ],
        ),
        migrations.CreateModel(
            name="Party",
            fields=[
                ("key", models.CharField(max_length=40, primary_key=True, serialize=False)),
                ("code", models.CharField(max_length=200, unique=True)),
                ("shown", models.CharField(blank=True, max_length=200)),
                ("is_owner", models.BooleanField(default=False)),
                ("erased_at", models.CharField(blank=True, max_length=40)),
            ],
        ),
        migrations.CreateModel(
            name="Entry",
            fields=[
                ("number", models.BigIntegerField(primary_key=True, serialize=False)),
                ("key", models.CharField(max_length=200, unique=True)),
                ("kind", models.CharField(db_index=True, max_length=40)),
                ("about", models.CharField(blank=True, db_index=True, max_length=200)),
                ("made_at", models.CharField(db_index=True, max_length=40)),
                ("by", models.CharField(blank=True, max_length=40)),
                ("consent", models.CharField(blank=True, max_length=200)),
                ("memo", models.TextField(default="{}")),
                ("content", models.CharField(max_length=64)),
                ("previous", models.CharField(blank=True, max_length=64)),
                ("digest", models.CharField(max_length=64)),
                (
                    "reverses",
                    models.OneToOneField(
                        null=True, on_delete=django.db.models.deletion.DO_NOTHING, to="book.entry"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Heat",
            fields=[
                ("id", models.CharField(max_length=200, primary_key=True, serialize=False)),
                ("state", models.CharField(max_length=40)),
                (
                    "plan",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.DO_NOTHING, to="book.kept"
                    ),
                ),
                (
                    "owner",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.DO_NOTHING, to="book.party"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Body",
            fields=[
                ("id", models.CharField(max_length=200, primary_key=True, serialize=False)),
                ("kind", models.CharField(max_length=40)),
                ("record", models.TextField()),
                ("origin", models.TextField(default="{}")),
                ("made_at", models.CharField(max_length=40)),
                ("withdrawn", models.BooleanField(default=False)),
                ("suspect", models.BooleanField(default=False)),
                (
                    "owner",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.DO_NOTHING, to="book.party"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Account",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("place", models.CharField(max_length=40)),
                ("body", models.CharField(max_length=200)),
                ("gross_mg", models.BigIntegerField(default=0)),
                (
                    "owner",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.DO_NOTHING, to="book.party"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Permission",
            fields=[
                ("id", models.CharField(max_length=200, primary_key=True, serialize=False)),
                ("record", models.TextField()),
                ("withdrawn", models.BooleanField(default=False)),
                (
                    "owner",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.DO_NOTHING, to="book.party"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Posting",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("line", models.IntegerField()),
                ("gross_mg", models.BigIntegerField()),
                (
                    "account",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.DO_NOTHING, to="book.account"
                    ),
                ),
                (
                    "entry",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.DO_NOTHING, to="book.entry"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Part",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("element", models.CharField(max_length=8)),
                ("ng", models.BigIntegerField()),
                (
                    "posting",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.DO_NOTHING, to="book.posting"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Step",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("n", models.IntegerField()),
                ("name", models.CharField(max_length=200)),
                ("kind", models.CharField(max_length=40)),
                ("about", models.CharField(max_length=200)),
                ("planned", models.TextField()),
                (
                    "entry",
                    models.ForeignKey(
                        null=True, on_delete=django.db.models.deletion.DO_NOTHING, to="book.entry"
                    ),
                ),
                (
                    "plan",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.DO_NOTHING, to="book.kept"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Reservation",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("gross_mg", models.BigIntegerField()),
                ("released", models.BooleanField(default=False)),
                (
                    "account",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.DO_NOTHING, to="book.account"
                    ),
                ),
                (
                    "step",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.DO_NOTHING, to="book.step"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Purchase",
            fields=[
                (
                    "body",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        primary_key=True,
                        serialize=False,
                        to="book.body",
                    ),
                ),
                ("made_at", models.CharField(max_length=40)),
                ("described", models.TextField(blank=True)),
                ("gross_mg", models.BigIntegerField()),
                ("price", models.CharField(blank=True, max_length=40)),
                (
                    "seller",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.DO_NOTHING, to="book.party"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="HeatEvent",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("n", models.IntegerField()),
                ("made_at", models.CharField(max_length=40)),
                ("by", models.CharField(blank=True, max_length=40)),
                ("what", models.CharField(max_length=40)),
                ("facts", models.TextField(default="{}")),
                (
                    "heat",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.DO_NOTHING, to="book.heat"
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("heat", "n"), name="events_are_counted")
                ],
            },
        ),
        migrations.CreateModel(
            name="Held",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("element", models.CharField(max_length=8)),
                ("ng", models.BigIntegerField()),
                (
                    "account",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.DO_NOTHING, to="book.account"
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        fields=("account", "element"), name="one_total_an_element"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Kin",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("gross_mg", models.BigIntegerField()),
                (
                    "child",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="parents",
                        to="book.body",
                    ),
                ),
                (
                    "parent",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="children",
                        to="book.body",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("child", "parent"), name="kin_once")
                ],
            },
        ),
        migrations.AddConstraint(
            model_name="account",
            constraint=models.UniqueConstraint(
                fields=("owner", "place", "body"), name="one_account_a_heap"
            ),
        ),
        migrations.AddConstraint(
            model_name="posting",
            constraint=models.UniqueConstraint(fields=("entry", "line"), name="lines_are_counted"),
        ),
        migrations.AddConstraint(
            model_name="part",
            constraint=models.UniqueConstraint(
                fields=("posting", "element"), name="each_element_once"
            ),
        ),
        migrations.AddConstraint(
            model_name="step",
            constraint=models.UniqueConstraint(fields=("plan", "n"), name="steps_are_counted"),
        ),
        migrations.AddConstraint(
            model_name="step",
            constraint=models.UniqueConstraint(fields=("plan", "name"), name="steps_have_names"),
        ),
    ]
