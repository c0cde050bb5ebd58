"""The tools of a kit that work together on one bar: one mill, one set of grooves, the plates."""

from __future__ import annotations

from dataclasses import dataclass

from lemel.errors import BadInput
from lemel.mill.faces import MillKit
from lemel.mill.rules import Rules
from lemel.values import Grooves, Mill, Section

__all__ = ["Bench", "benches"]


@dataclass(frozen=True, slots=True)
class Bench:
    """Flats on `mill` (None: only a hammer), `grooves_mm` in `groove_mill`, round `holes_mm`,
    other `shaped` holes, and the strongest pull with its stroke."""

    mill: Mill | None
    groove_mill: Mill | None
    grooves_mm: tuple[float, ...]
    holes_mm: tuple[float, ...]
    shaped: tuple[Section, ...]
    pull_n: float
    stroke_mm: float
    by_hand: bool


def benches(kit: MillKit, rules: Rules) -> tuple[Bench, ...]:
    """Every pairing of a mill for flats with a set of grooves; one hammer bench at the least."""
    by_id = {mill.id: mill for mill in kit.mills}
    for grooves in kit.grooves:
        if grooves.mill not in by_id:
            allowed = ", ".join(by_id) or "a mill of the kit"
            raise BadInput("grooves.mill", grooves.mill, allowed, "List the mill that holds them.")
    pull, stroke, by_hand = rules.hand_pull_n, rules.hand_stroke_mm, True
    if kit.drawbenches:
        strongest = max(kit.drawbenches, key=lambda d: d.pull_n)
        if strongest.pull_n > pull:
            pull, stroke, by_hand = strongest.pull_n, strongest.stroke_mm, False
    rounds, shaped = _holes(kit)
    flats: list[Mill | None] = list(kit.mills) or [None]
    sets: list[Grooves | None] = list(kit.grooves) or [None]
    return tuple(
        Bench(
            mill,
            by_id[grooves.mill] if grooves else None,
            tuple(sorted(grooves.sizes_mm, reverse=True)) if grooves else (),
            rounds,
            shaped,
            pull,
            stroke,
            by_hand,
        )
        for mill in flats
        for grooves in sets
    )


def _holes(kit: MillKit) -> tuple[tuple[float, ...], tuple[Section, ...]]:
    """Round holes by measured size, falling; other holes as their sections."""
    rounds: set[float] = set()
    shaped: list[Section] = []
    for plate in kit.drawplates:
        for i, hole in enumerate(plate.holes):
            if hole.kind == "round":
                rounds.add(plate.measured_mm.get(str(i), hole.dim("diameter")))
            else:
                shaped.append(hole)
    return tuple(sorted(rounds, reverse=True)), tuple(shaped)
