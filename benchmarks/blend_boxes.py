"""Generated boxes of scrap for measuring the blend room: seeded, invented, described here.

A box holds `lots` pieces of silver. Each lot belongs to one of five classes of scrap with
its own usual fineness and doubt, weighs 8 to 70 g, and shares the error of one of the
box's sources. A quarter of the lots may be divided (least take 6 g, least remainder 8 g).
The heats are alike, 925 at 99 percent, and take half of the metal of the box together.
"""

from __future__ import annotations

import random

from lemel.blend import BlendAddition, BlendHeat, BlendLot, BlendOptions, BlendProblem
from lemel.values import Composition

__all__ = ["box"]

#: usual fineness, its spread between lots, least and greatest own sd (millesimal)
CLASSES = (
    (922.0, 4.0, 1.0, 4.0),
    (945.0, 8.0, 1.0, 5.0),
    (896.0, 5.0, 2.0, 6.0),
    (831.0, 5.0, 2.0, 6.0),
    (798.0, 5.0, 1.0, 6.0),
)
WEIGHTS = (0.35, 0.25, 0.15, 0.15, 0.10)
SOURCES = 6


def _lot(dice: random.Random, k: int, correlated: bool) -> BlendLot:
    usual, between, low, high = dice.choices(CLASSES, WEIGHTS)[0]
    fineness = round(min(990.0, dice.gauss(usual, between)), 1)
    source, shared = f"source {dice.randrange(SOURCES)}", round(dice.uniform(1.5, 5.0), 1)
    divisible = dice.random() < 0.25
    mass = round(dice.uniform(8.0, 70.0), 2)
    own = round(dice.uniform(low, high), 1)
    age = float(dice.randrange(700))
    return BlendLot(
        id=f"L-{k:04d}",
        mass_g=mass,
        whole=not divisible,
        owner="house",
        mean=Composition.from_millesimal({"Ag": fineness}, balance="Cu"),
        own_sd=own / 1000,
        loading={source: shared / 1000} if correlated else {},
        value_per_g=round(0.9 * fineness / 1000 + 0.0001 * dice.randrange(5), 4),
        age_days=age,
        min_take_g=6.0 if divisible else 0.0,
        min_remainder_g=8.0 if divisible else 0.0,
    )


def box(
    lots: int,
    heats: int,
    seed: int,
    *,
    correlated: bool = True,
    options: BlendOptions | None = None,
) -> BlendProblem:
    """A problem of so many lots and heats; equal arguments give equal problems."""
    dice = random.Random(f"{seed} {lots} {heats}")
    made = tuple(_lot(dice, k, correlated) for k in range(lots))
    mass = round(sum(lot.mass_g for lot in made) / 2 / heats, 1)
    if heats == 1:
        mass = min(mass, 600.0)
    return BlendProblem(
        lots=made,
        additions=(
            BlendAddition(
                "grain-fine", Composition.from_millesimal({"Ag": 999}, rest=True), 0.0002, 1.06
            ),
            BlendAddition("copper", Composition.pure("Cu"), 0.0, 0.03),
        ),
        heats=tuple(
            BlendHeat(f"H{h + 1}", "house", "Ag", 0.925, 0.99, mass, mass * 1.03, fixed_cost=5.0)
            for h in range(heats)
        ),
        age_credit_g_day=8e-5,
        remainder_penalty=0.5,
        options=options or BlendOptions(explain=False),
    )
