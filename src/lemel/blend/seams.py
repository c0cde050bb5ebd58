"""Soldered scrap: saw the seams out, or drown them in fine metal?"""

from __future__ import annotations

import math
from dataclasses import dataclass

from lemel.blend.correct import grams_to_mend
from lemel.blend.rules import rule
from lemel.tables import Tables
from lemel.values import Quantity, Saying, is_fraction, is_positive, not_negative

__all__ = ["SeamChoice", "Soldered", "seams"]


@dataclass(frozen=True, slots=True)
class Soldered:
    """A soldered lot: all shares are fractions of mass or of the main metal.

    `solder_share` is (mean, sd) of the mass that is solder; `body` and `solder` are their
    shares of the main metal.
    """

    mass_g: float
    body: float
    body_sd: float
    solder_share: tuple[float, float]
    solder: float

    def __post_init__(self) -> None:
        is_positive("mass_g", self.mass_g)
        for name in ("body", "solder"):
            is_fraction(name, getattr(self, name))
        not_negative("body_sd", self.body_sd)
        is_fraction("solder_share", self.solder_share[0])
        not_negative("solder_share", self.solder_share[1])


@dataclass(frozen=True, slots=True)
class SeamChoice:
    """Grams of fine metal that each way needs, what is sawn away, and the two costs."""

    drown_g: float
    saw_g: float
    cut_away_g: float
    drown_cost: float
    saw_cost: float
    better: str
    explain: Saying


def seams(
    lot: Soldered,
    *,
    least: float,
    content: float,
    price_per_g: float,
    worth_per_g: float,
    sale_per_g: float,
    labour: float = 0.0,
    probability: float = 0.99,
    tables: Tables | None = None,
) -> SeamChoice:
    """Which is cheaper: bringing the whole lot to a standard, or sawing its seams out first.

    `content` and `price_per_g` are of the fine metal added, `worth_per_g` of metal at the
    standard, `sale_per_g` of the sawn-out seams sold as scrap, `labour` the price of the
    sawing. How much is sawn away per gram of solder, and how much solder stays, are house
    figures (table `blend_rules`, estimates until calibrated by weighing what falls).
    """
    factor, left = rule("seam_cut_factor", tables), rule("seam_left_share", tables)
    share, doubt = lot.solder_share
    cut = min(0.9 * lot.mass_g, factor * share * lot.mass_g)
    kept = lot.mass_g - cut
    still = left * share * lot.mass_g / kept
    drown = _needed(lot, lot.mass_g, (share, doubt), least, content, probability)
    saw = _needed(lot, kept, (still, left * doubt), least, content, probability)
    net = price_per_g - worth_per_g
    drown_cost = drown * net
    saw_cost = saw * net + cut * (worth_per_g - sale_per_g) + labour
    better = "saw" if saw_cost < drown_cost else "drown"
    said = Saying(
        f"blend.seams.{better}",
        {
            "drown": Quantity(drown, "g"), "saw": Quantity(saw, "g"), "cut": Quantity(cut, "g"),
            "saving": Quantity(abs(drown_cost - saw_cost), "money"),
        },
    )  # fmt: skip
    return SeamChoice(drown, saw, cut, drown_cost, saw_cost, better, said)


def _needed(
    lot: Soldered,
    mass_g: float,
    share: tuple[float, float],
    least: float,
    content: float,
    probability: float,
) -> float:
    mean = (1 - share[0]) * lot.body + share[0] * lot.solder
    sd = math.hypot((1 - share[0]) * lot.body_sd, (lot.body - lot.solder) * share[1])
    return grams_to_mend(mass_g, mean, sd, least=least, content=content, probability=probability)
