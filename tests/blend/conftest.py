"""Boxes of scrap that the tests share."""

from __future__ import annotations

import random

import pytest

from lemel import blend
from lemel.values import Composition


def make_lot(name, mass, fineness, sd=2.0, source="", shared=0.0, **more):
    return blend.BlendLot(
        id=name,
        mass_g=mass,
        whole=more.pop("whole", True),
        owner=more.pop("owner", "house"),
        mean=Composition.from_millesimal({"Ag": fineness}, balance="Cu"),
        own_sd=sd / 1000,
        loading={source: shared / 1000} if source else {},
        value_per_g=more.pop("value_per_g", round(0.0009 * fineness, 4)),
        **more,
    )


GRAIN = blend.BlendAddition(
    "grain", Composition.from_millesimal({"Ag": 999}, rest=True), 0.0002, 1.06
)
COPPER = blend.BlendAddition("copper", Composition.pure("Cu"), 0.0, 0.03)


def make_heat(name="H1", least_g=100.0, most_g=105.0, **more):
    return blend.BlendHeat(
        id=name,
        owner=more.pop("owner", "house"),
        main="Ag",
        least=more.pop("least", 0.925),
        probability=more.pop("probability", 0.99),
        least_g=least_g,
        most_g=most_g,
        **more,
    )


def make_problem(lots, heats=None, **more):
    options = more.pop("options", blend.BlendOptions(explain=False))
    return blend.BlendProblem(
        tuple(lots), more.pop("additions", (GRAIN, COPPER)), tuple(heats or [make_heat()]),
        options=options, **more,
    )  # fmt: skip


def random_lots(seed, count=10, divisible=0.3):
    dice = random.Random(seed)
    lots = []
    for k in range(count):
        parted = dice.random() < divisible
        lots.append(
            make_lot(
                f"S{k}",
                round(dice.uniform(10, 45), 2),
                round(dice.choice([800, 900, 922, 930, 950]) + dice.gauss(0, 4), 1),
                round(dice.uniform(1, 5), 1),
                f"gun-{dice.randrange(3)}",
                round(dice.uniform(1, 4), 1),
                whole=not parted,
                min_take_g=5.0 if parted else 0.0,
                min_remainder_g=6.0 if parted else 0.0,
            )
        )
    return lots


@pytest.fixture
def box():
    return make_problem(random_lots(3))
