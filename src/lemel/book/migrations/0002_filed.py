"""Records of the shop in versions, and long work."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("book", "0001_initial")]

    operations = [
        migrations.CreateModel(
            name="Filed",
            fields=[
                ("number", models.BigAutoField(primary_key=True, serialize=False)),
                ("kind", models.CharField(max_length=40)),
                ("name", models.CharField(max_length=200)),
                ("n", models.IntegerField()),
                ("made_at", models.CharField(db_index=True, max_length=40)),
                ("by", models.CharField(blank=True, max_length=40)),
                ("record", models.TextField()),
                ("private", models.TextField(default="{}")),
                ("gone", models.BooleanField(default=False)),
                ("digest", models.CharField(max_length=64)),
                (
                    "owner",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        to="book.party",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        fields=("kind", "name", "n"), name="versions_are_counted"
                    )
                ]
            },
        ),
        migrations.CreateModel(
            name="Job",
            fields=[
                ("id", models.CharField(max_length=40, primary_key=True, serialize=False)),
                ("kind", models.CharField(max_length=40)),
                ("about", models.CharField(blank=True, db_index=True, max_length=200)),
                ("state", models.CharField(db_index=True, max_length=40)),
                ("made_at", models.CharField(max_length=40)),
                ("changed_at", models.CharField(max_length=40)),
                ("by", models.CharField(blank=True, max_length=40)),
                ("asked", models.TextField()),
                ("progress", models.TextField(default="{}")),
                ("answer", models.TextField(default="")),
                ("wants_stop", models.BooleanField(default=False)),
            ],
        ),
    ]
