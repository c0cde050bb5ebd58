"""`lemel weigh`: fineness from one weighing in air and one in water."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from lemel.cli.answer import Told, plain
from lemel.cli.given import NUMBER
from lemel.cli.run import verb
from lemel.errors import BadInput
from lemel.metal import Weighed, Weighing
from lemel.metal import weigh as judge
from lemel.words import say

if TYPE_CHECKING:
    from lemel.cli.paper import Paper

__all__ = ["weigh"]

#: Which option gives which field of a weighing.
_OPTIONS = {
    "air_g": "--air",
    "water_g": "--water",
    "water_c": "--water-temp",
    "metals": "--metals",
    "claimed": "--claimed",
}


@verb("weigh")
@click.option("--air", type=NUMBER, required=True, metavar="G", help="As displayed in air.")
@click.option("--water", type=NUMBER, required=True, metavar="G", help="Hanging in water.")
@click.option("--water-temp", type=NUMBER, required=True, metavar="C", help="Of the water, degC.")
@click.option("--metals", default="Ag,Cu", metavar="Ag,Cu", help="The precious one first.")
@click.option("--claimed", type=NUMBER, metavar="PARTS", help="The fineness to judge: 925.")
@click.option("--step", type=NUMBER, default=0.01, metavar="G", help="Step of the balance. [0.01]")
def weigh(
    *,
    air: float,
    water: float,
    water_temp: float,
    metals: str,
    claimed: float | None,
    step: float,
) -> Told:
    """A weighing can reject a fineness and never prove one: `lemel weigh --air 20.00 --water
    18.07 --water-temp 20 --metals Ag,Cu`."""
    if not 0 < step <= 10:
        raise BadInput("--step", step, "more than 0, up to 10", "Give the balance's step in g.")
    named = tuple(part.strip() for part in metals.split(",") if part.strip())
    share = None if claimed is None else claimed / 1000
    try:
        found = judge(Weighing(air, water, water_temp, named, step, claimed=share))
    except BadInput as fault:
        field = _OPTIONS.get(fault.field, fault.field)
        raise BadInput(field, fault.value, fault.allowed, fault.do, fault.others) from None
    return Told(plain(found), lambda paper: _show(found, paper))


def _show(found: Weighed, paper: Paper) -> None:
    low, high = found.fineness_interval_95
    paper.facts(
        [
            ("density", f"{found.density_g_cm3:.2f} g/cm³"),
            ("give or take", f"{found.density_sd:.2f} g/cm³"),
            ("fineness about", f"{found.fineness:.0f}"),
            ("19 times in 20 between", f"{low:.0f} and {high:.0f}"),
        ]
    )
    paper.line(say(found.said))
    if found.cannot_be:
        paper.line(f"It is not {', '.join(f'{one:g}' for one in found.cannot_be)}.")
    paper.sayings("Mind", found.cautions)
