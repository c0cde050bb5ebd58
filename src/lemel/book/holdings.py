"""Exact arithmetic of metal: a part of a holding, never a nanogram too many or below nothing."""

from __future__ import annotations

from collections.abc import Iterable

from lemel.errors import BadInput
from lemel.values import REST, Composition, Holding

__all__ = ["body_of", "in_proportion", "share", "take"]


def in_proportion(whole: Holding, gross_mg: int) -> Holding:
    """So many mg of the same composition, which may be more than there is (a gain).

    Each element by largest remainder, so the nanograms sum exactly and none is negative.

    >>> ring = Holding.of(3, Composition.from_millesimal({"Ag": 925, "Cu": 75}))
    >>> in_proportion(ring, 1).element_ng
    (('Ag', 925000), ('Cu', 75000))
    """
    if gross_mg == 0:
        return Holding.nothing()
    if whole.gross_mg <= 0 or gross_mg < 0:
        raise BadInput("gross_mg", gross_mg, "a part of a heap that is there", "Weigh it again.")
    floors = {e: ng * gross_mg // whole.gross_mg for e, ng in whole.element_ng}
    short = gross_mg * 1_000_000 - sum(floors.values())
    by_remainder = sorted(whole.element_ng, key=lambda p: (-(p[1] * gross_mg % whole.gross_mg), p))
    for element, _ in by_remainder[:short]:
        floors[element] += 1
    return Holding.from_ng(gross_mg, floors)


def take(whole: Holding, gross_mg: int) -> tuple[Holding, Holding]:
    """What is taken and what stays; neither has an element below nothing."""
    if gross_mg > whole.gross_mg:
        raise BadInput("gross_mg", gross_mg, f"at most {whole.gross_mg} mg", "Weigh it again.")
    taken = in_proportion(whole, gross_mg)
    return taken, whole - taken


def share(whole: Holding, parts_mg: Iterable[int]) -> tuple[list[Holding], Holding]:
    """The parts in order, and what is left over: a loss, or, negative, a gain.

    Parts that sum to more than the whole are given the whole's composition.
    """
    sizes = list(parts_mg)
    if sum(sizes) > whole.gross_mg:
        parts = [in_proportion(whole, size) for size in sizes]
        return parts, whole - sum(parts, Holding.nothing())
    left, parts = whole, []
    for size in sizes:
        part, left = take(left, size)
        parts.append(part)
    return parts, left


def body_of(holding: Holding) -> Composition:
    """What a holding is made of; it must hold something."""
    parts = {e: float(ng) for e, ng in holding.element_ng if e != REST and ng > 0}
    return Composition.of(parts, float(max(0, holding.as_dict().get(REST, 0))))
