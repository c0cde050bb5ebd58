"""The origin statement: fine metal by class, what a definition counts, and the way back."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from lemel.book import ledger, lineage, models
from lemel.book.papers_values import Claim, OriginNode, OriginPaper
from lemel.book.papers_worth import fine_of
from lemel.errors import BadInput
from lemel.tables import shipped
from lemel.values import Holding

__all__ = ["DEFINITIONS", "origin"]

DEFINITIONS = "book_claims"
#: A way back that is longer than this is cut, and says so by its last line's kind.
_DEEPEST = 24


def origin(alias: str, now: str, body: str, follows: str) -> OriginPaper:
    """The statement for one body, by the definition it is to follow; nothing is filed.

    The shares are those that were frozen at the pour. For metal with ancestors they follow from
    what was really charged, so own rework counts as what it was before.
    """
    table = shipped().table(DEFINITIONS)
    if follows not in table:
        raise BadInput("definition", follows, ", ".join(table), "Name the definition to follow.")
    shares = dict(lineage.origin_of(alias, body).shares)
    row = models.Body.objects.using(alias).select_related("owner").get(pk=body)
    held = ledger.balances(alias, body=body)
    metal = sum((one for one in held.values() if one.gross_mg > 0), Holding.nothing())
    claims = tuple(
        Claim(
            one.key, tuple(one.text("counts").split()),
            sum(shares.get(name, 0.0) for name in one.text("counts").split()),
            one.source, one.trust,
        )
        for one in table.values()
    )  # fmt: skip
    return OriginPaper(
        body, row.owner.code, metal.gross_mg, fine_of(metal), shares, claims, follows,
        _way_back(alias, body), now, ledger.tail(alias)[1],
    )  # fmt: skip


def _way_back(alias: str, body: str) -> tuple[OriginNode, ...]:
    """Every body behind this one, each under what it went into, in the order it went in."""
    known = lineage.ancestors(alias, body)
    rows = models.Body.objects.using(alias).filter(pk__in=[body, *known])
    kinds = dict(rows.values_list("pk", "kind"))
    masses = {
        (child, parent): mg
        for child, parent, mg in models.Kin.objects.using(alias)
        .filter(child_id__in=kinds)
        .values_list("child_id", "parent_id", "gross_mg")
    }
    found: list[OriginNode] = []
    _walk(alias, body, 0, 0, known, kinds, masses, found, set())
    return tuple(found)


def _walk(
    alias: str,
    body: str,
    depth: int,
    mg: int,
    known: Mapping[str, tuple[str, ...]],
    kinds: Mapping[str, str],
    masses: Mapping[Any, int],
    found: list[OriginNode],
    told: set[str],
) -> None:
    parents = known.get(body, ())
    if body in told and parents:
        found.append(OriginNode(depth, body, "told_above", mg))
        return
    told.add(body)
    shares = dict(lineage.origin_of(alias, body).shares) if not parents else {}
    kind = kinds.get(body, "lot") if depth < _DEEPEST else "cut_off"
    found.append(OriginNode(depth, body, kind, mg, shares))
    if depth >= _DEEPEST:
        return
    for parent in parents:
        _walk(alias, parent, depth + 1, masses.get((body, parent), 0), known, kinds, masses,
              found, told)  # fmt: skip
