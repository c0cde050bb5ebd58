"""Charge cards of single heats from the command line; the typesetter is loaded only for them."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from lemel.blend import BlendHeat, BlendProblem, HeatBlend
from lemel.errors import BadInput
from lemel.values import Charge, ChargeLine

if TYPE_CHECKING:
    from lemel.cards import HeatSheet

__all__ = ["put_charge_cards", "sheet_of_blend"]


def put_charge_cards(sheets: Sequence[HeatSheet], folder: str) -> list[str]:
    """Write the cards into a folder; their paths. BadInput where it cannot be written."""
    from lemel.cards import write_charges

    try:
        return [str(path) for path in write_charges(sheets, Path(folder))]
    except OSError as error:
        raise BadInput(
            "--cards", folder, "a folder that can be written", f"{error.strerror}."
        ) from None


def sheet_of_blend(problem: BlendProblem, found: HeatBlend) -> HeatSheet:
    """A heat of a blend instance as its card takes it: tubs and promise, no fire yet."""
    from lemel.cards import HeatSheet

    (heat,) = (one for one in problem.heats if one.id == found.id)
    return HeatSheet(
        charge=_charge(problem, heat, found),
        standard=f"{heat.main} {1000 * heat.least:.1f}",
        owner=heat.owner,
        least=heat.least,
        probability=found.probability,
        course=heat.course,
        forms=False,
    )


def _charge(problem: BlendProblem, heat: BlendHeat, found: HeatBlend) -> Charge:
    lots = {lot.id: lot.mean for lot in problem.lots}
    additions = {one.id: (one.composition, one.form) for one in problem.additions}
    lines = [
        ChargeLine(body, "lot", "offcut", grams, lots[body]) for body, grams in found.lots.items()
    ]
    lines += [
        ChargeLine(body, "addition", additions[body][1], grams, additions[body][0])
        for body, grams in found.additions.items()
    ]
    body = found.composition or lines[0].composition
    poured = (found.poured_g, 0.0)
    return Charge(heat.id, heat.owner, tuple(lines), body, found.sd, found.promised, poured)
