"""What does not come out of the pot: by form of scrap, as a band, and as its parts."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lemel.melt.figures import form_row
from lemel.tables import Tables
from lemel.values import Charge

__all__ = ["MeltLoss", "expected_loss"]


@dataclass(frozen=True, slots=True)
class MeltLoss:
    """Expected loss of a charge in g, its band, and the part of it that never was metal."""

    expected_g: float
    low_g: float
    high_g: float
    dirt_g: float
    by_body: tuple[tuple[str, float], ...]


def expected_loss(charge: Charge, tables: Tables | None = None) -> MeltLoss:
    """Loss by form; lots of one form err together, forms independently.

    Source: table `melt_form`, common practice, to be replaced by the house's own heats.
    """
    by_body: dict[str, float] = {}
    forms: dict[str, float] = {}
    for line in charge.lines:
        percent = form_row(line.form, tables).number("loss_percent")
        by_body[line.body] = by_body.get(line.body, 0.0) + line.mass_g * percent / 100
        forms[line.form] = forms.get(line.form, 0.0) + line.mass_g
    expected = dirt = below = above = 0.0
    for form, mass_g in forms.items():
        row = form_row(form, tables)
        middle = row.number("loss_percent")
        expected += mass_g * middle / 100
        dirt += mass_g * row.number("dirt_percent") / 100
        below += (mass_g * (middle - row.number("loss_lo")) / 100) ** 2
        above += (mass_g * (row.number("loss_hi") - middle) / 100) ** 2
    return MeltLoss(
        expected,
        max(0.0, expected - math.sqrt(below)),
        expected + math.sqrt(above),
        dirt,
        tuple(by_body.items()),
    )
