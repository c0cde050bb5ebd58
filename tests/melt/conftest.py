"""The bench at Quillmarsh, as far as the fire is concerned."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from lemel import melt
from lemel.values import Charge, ChargeLine, Composition, Crucible, Furnace, Torch


@pytest.fixture
def sterling() -> Composition:
    return Composition.from_millesimal({"Ag": 925, "Cu": 75})


@pytest.fixture
def gold916() -> Composition:
    return Composition.from_millesimal({"Au": 916, "Ag": 50, "Cu": 34})


@pytest.fixture
def furnace() -> Furnace:
    return Furnace("bench", 1200, 1100)


@pytest.fixture
def pot() -> Crucible:
    return Crucible("S pot", "silver", "graphite", 110, 280, melts_done=31)


@pytest.fixture
def torch() -> Torch:
    return Torch("hand torch", 2500, 200, 60, families=("silver", "yellow", "white_pd"))


@pytest.fixture
def charge_of() -> Callable[..., Charge]:
    """Charge from (body, form, grams) or (body, form, grams, composition)."""

    def make(body: Composition, *lines: tuple[object, ...], heat: str = "M1") -> Charge:
        made = []
        for name, form, mass_g, *own in lines:
            kind = "addition" if str(name).startswith("+") else "lot"
            made.append(
                ChargeLine(str(name), kind, str(form), float(mass_g), own[0] if own else body)
            )
        total = sum(line.mass_g for line in made)
        return Charge(heat, "quillmarsh", tuple(made), body, 0.0006, 0.925, (total, 0.1))

    return make


@pytest.fixture
def default_set(sterling: Composition) -> tuple[melt.FurnaceModel, melt.Bath]:
    """The table's own bench furnace, as the facts of practice were fitted: 1.3 kW, 277 g pot."""
    return melt.furnace_model(Furnace("table", 1300, 1150)), melt.bath_of(sterling)
