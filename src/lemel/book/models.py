"""The tables of the book. Nothing here is edited or deleted once written, save where it is said.

The ledger is `Account`, `Entry`, `Posting`, `Part`; `Account.gross_mg` and `Held` are totals that
the database itself keeps when an entry is sealed. `Party` holds the names: it lies outside the
chain of digests, so that a name can be erased and the chain still holds.
"""

from __future__ import annotations

from django.db import models

from lemel.book.engine import ready

# A model is only defined once Django is configured, whoever is the first to ask for one.
ready()

KEY = 40
ID = 200


class Party(models.Model):
    """A person or firm: an opaque key for the ledger, and the names, which may be erased."""

    key = models.CharField(primary_key=True, max_length=KEY)
    code = models.CharField(max_length=ID, unique=True)
    shown = models.CharField(max_length=ID, blank=True)
    is_owner = models.BooleanField(default=False)
    erased_at = models.CharField(max_length=KEY, blank=True)


class Account(models.Model):
    """One heap of one owner's metal; its total is kept by the database."""

    owner = models.ForeignKey(Party, on_delete=models.DO_NOTHING)
    place = models.CharField(max_length=KEY)
    body = models.CharField(max_length=ID)
    gross_mg = models.BigIntegerField(default=0)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["owner", "place", "body"], name="one_account_a_heap")
        ]


class Held(models.Model):
    """How much of one element an account holds, in ng; kept by the database."""

    account = models.ForeignKey(Account, on_delete=models.DO_NOTHING)
    element = models.CharField(max_length=8)
    ng = models.BigIntegerField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["account", "element"], name="one_total_an_element")
        ]


class Entry(models.Model):
    """One sealed movement of metal; written after its postings, never touched again."""

    number = models.BigIntegerField(primary_key=True)
    key = models.CharField(max_length=ID, unique=True)
    kind = models.CharField(max_length=KEY, db_index=True)
    about = models.CharField(max_length=ID, blank=True, db_index=True)
    made_at = models.CharField(max_length=KEY, db_index=True)
    by = models.CharField(max_length=KEY, blank=True)
    consent = models.CharField(max_length=ID, blank=True)
    memo = models.TextField(default="{}")
    reverses = models.OneToOneField("self", null=True, on_delete=models.DO_NOTHING)
    content = models.CharField(max_length=64)
    previous = models.CharField(max_length=64, blank=True)
    digest = models.CharField(max_length=64)


class Posting(models.Model):
    """One line of an entry: so much metal into an account, or out of it (negative)."""

    entry = models.ForeignKey(Entry, on_delete=models.DO_NOTHING)
    line = models.IntegerField()
    account = models.ForeignKey(Account, on_delete=models.DO_NOTHING)
    gross_mg = models.BigIntegerField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["entry", "line"], name="lines_are_counted")]


class Part(models.Model):
    """The nanograms of one element in a posting, `rest` included."""

    posting = models.ForeignKey(Posting, on_delete=models.DO_NOTHING)
    element = models.CharField(max_length=8)
    ng = models.BigIntegerField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["posting", "element"], name="each_element_once")
        ]


class Body(models.Model):
    """A lot, addition, bar, heat or piece as it was when it came to be (`record`, plain data).

    `withdrawn` and `suspect` may change; the rest may not.
    """

    id = models.CharField(primary_key=True, max_length=ID)
    kind = models.CharField(max_length=KEY)
    owner = models.ForeignKey(Party, on_delete=models.DO_NOTHING)
    record = models.TextField()
    origin = models.TextField(default="{}")
    made_at = models.CharField(max_length=KEY)
    withdrawn = models.BooleanField(default=False)
    suspect = models.BooleanField(default=False)


class Kin(models.Model):
    """`child` holds metal of `parent`, so many mg of it."""

    child = models.ForeignKey(Body, on_delete=models.DO_NOTHING, related_name="parents")
    parent = models.ForeignKey(Body, on_delete=models.DO_NOTHING, related_name="children")
    gross_mg = models.BigIntegerField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["child", "parent"], name="kin_once")]


class Evidence(models.Model):
    """A reading, as it was taken; withdrawn rather than deleted."""

    id = models.CharField(primary_key=True, max_length=ID)
    about = models.CharField(max_length=ID, db_index=True)
    record = models.TextField()
    withdrawn = models.BooleanField(default=False)


class Permission(models.Model):
    """A consent of an owner, as it was given; withdrawn rather than deleted."""

    id = models.CharField(primary_key=True, max_length=ID)
    owner = models.ForeignKey(Party, on_delete=models.DO_NOTHING)
    record = models.TextField()
    withdrawn = models.BooleanField(default=False)


class Purchase(models.Model):
    """The register of what was bought in: the least that must be kept."""

    body = models.OneToOneField(Body, on_delete=models.DO_NOTHING, primary_key=True)
    seller = models.ForeignKey(Party, on_delete=models.DO_NOTHING)
    made_at = models.CharField(max_length=KEY)
    described = models.TextField(blank=True)
    gross_mg = models.BigIntegerField()
    price = models.CharField(max_length=KEY, blank=True)


class Kept(models.Model):
    """A plan kept whole, with the digest of its text."""

    id = models.CharField(primary_key=True, max_length=ID)
    record = models.TextField()
    digest = models.CharField(max_length=64)
    accepted_at = models.CharField(max_length=KEY)
    redacted = models.BooleanField(default=False)


class Step(models.Model):
    """One step of a kept plan: what it takes and gives by the plan, and the entry that did it."""

    plan = models.ForeignKey(Kept, on_delete=models.DO_NOTHING)
    n = models.IntegerField()
    name = models.CharField(max_length=ID)
    kind = models.CharField(max_length=KEY)
    about = models.CharField(max_length=ID)
    planned = models.TextField()
    entry = models.ForeignKey(Entry, null=True, on_delete=models.DO_NOTHING)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["plan", "n"], name="steps_are_counted"),
            models.UniqueConstraint(fields=["plan", "name"], name="steps_have_names"),
        ]


class Reservation(models.Model):
    """So many mg of a heap promised to a step of a plan."""

    step = models.ForeignKey(Step, on_delete=models.DO_NOTHING)
    account = models.ForeignKey(Account, on_delete=models.DO_NOTHING)
    gross_mg = models.BigIntegerField()
    released = models.BooleanField(default=False)


class Heat(models.Model):
    """One heat and the state it is in."""

    id = models.CharField(primary_key=True, max_length=ID)
    plan = models.ForeignKey(Kept, on_delete=models.DO_NOTHING)
    owner = models.ForeignKey(Party, on_delete=models.DO_NOTHING)
    state = models.CharField(max_length=KEY)


class HeatEvent(models.Model):
    """What happened to a heat, in order."""

    heat = models.ForeignKey(Heat, on_delete=models.DO_NOTHING)
    n = models.IntegerField()
    made_at = models.CharField(max_length=KEY)
    by = models.CharField(max_length=KEY, blank=True)
    what = models.CharField(max_length=KEY)
    facts = models.TextField(default="{}")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["heat", "n"], name="events_are_counted")]


class Filed(models.Model):
    """One version of a record of the shop: an order, a tool, a price, a rule, a photograph.

    The newest version of a name stands; earlier ones stay. `private` holds what a person may want
    erased, outside the digest; it may be emptied, the rest is never touched.
    """

    number = models.BigAutoField(primary_key=True)
    kind = models.CharField(max_length=KEY)
    name = models.CharField(max_length=ID)
    n = models.IntegerField()
    made_at = models.CharField(max_length=KEY, db_index=True)
    by = models.CharField(max_length=KEY, blank=True)
    owner = models.ForeignKey(Party, null=True, on_delete=models.DO_NOTHING)
    record = models.TextField()
    private = models.TextField(default="{}")
    gone = models.BooleanField(default=False)
    digest = models.CharField(max_length=64)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["kind", "name", "n"], name="versions_are_counted")
        ]


class Job(models.Model):
    """A long piece of work that a child process does; forgotten when it is old."""

    id = models.CharField(primary_key=True, max_length=KEY)
    kind = models.CharField(max_length=KEY)
    about = models.CharField(max_length=ID, blank=True, db_index=True)
    state = models.CharField(max_length=KEY, db_index=True)
    made_at = models.CharField(max_length=KEY)
    changed_at = models.CharField(max_length=KEY)
    by = models.CharField(max_length=KEY, blank=True)
    asked = models.TextField()
    progress = models.TextField(default="{}")
    answer = models.TextField(default="")
    wants_stop = models.BooleanField(default=False)
