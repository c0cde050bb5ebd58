"""A crack puts a heat and all its relatives under suspicion until somebody clears it, with why."""

from __future__ import annotations

from lemel.book import filing, lineage, models
from lemel.book.acts import Act
from lemel.errors import BadInput

__all__ = ["clear", "mark", "standing"]

_KIND = "suspicion"


def mark(act: Act, body: str, why: str) -> tuple[str, ...]:
    """A body, its heats and all that came of them are barred from clean heats; their ids."""
    found = lineage.relatives(act.alias, body)
    filing.file(act.alias, act.now, _KIND, body, {"why": why, **act.facts()}, by=act.by)
    models.Body.objects.using(act.alias).filter(pk__in=found).update(suspect=True)
    return tuple(sorted(found))


def standing(alias: str) -> dict[str, str]:
    """The bodies that suspicion began with, and why."""
    return {name: str(filed.record["why"]) for name, filed in filing.all_of(alias, _KIND).items()}


def clear(act: Act, body: str, reason: str) -> tuple[str, ...]:
    """Lift every suspicion that reaches this body; the ids that are free again.

    What is a relative of another cracked body stays barred.
    """
    if not reason.strip():
        raise BadInput("reason", reason, "why it is sound", "Tell what was found, and by whom.")
    began = standing(act.alias)
    mine = {one for one in began if body in lineage.relatives(act.alias, one)}
    if not mine:
        raise BadInput("body", body, "a body that is under suspicion", "Nothing bars this one.")
    for one in sorted(mine):
        said = {"why": began[one], "cleared": reason.strip(), **act.facts()}
        filing.file(act.alias, act.now, _KIND, one, said, by=act.by, gone=True)
    before = {x for one in mine for x in lineage.relatives(act.alias, one)}
    still = {x for one in set(began) - mine for x in lineage.relatives(act.alias, one)}
    free = before - still
    models.Body.objects.using(act.alias).filter(pk__in=free).update(suspect=False)
    return tuple(sorted(free))
