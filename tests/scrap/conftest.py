"""People and metal that the scrap tests know: Ada's lots, a gun, a house table of plain errors."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from lemel.scrap import ScrapAnswer
from lemel.tables import Tables, shipped
from lemel.values import Composition, Lot, Reading

#: A stamp without errors of its own and methods with round errors, in millesimal parts.
PLAIN = {
    "plain-stamp": {"kind": "says", "class_applies": "yes", "doubt": 0.005, "standing": 1},
    "plain-xrf": {
        "kind": "reads", "shift": -5, "sd_common": 3, "sd_own": 4, "standing": 2,
        "finds_plate": 0.9,
    },
    "plain-test": {"kind": "reads", "sd_own": 10, "standing": 2, "finds_plate": 0.9},
}  # fmt: skip
METHOD = {
    "metals": "any", "shift": 0, "sd_common": 0, "sd_own": 0, "method_share": 0,
    "class_applies": "no", "sees": "part", "proves": "lot", "not_colours": "", "test_first": "no",
}  # fmt: skip
CLASS = {
    "says": "plain-stamp", "bias": -5, "solder": 0, "solder_sd": 0, "bought": "no", "owned": "yes",
}  # fmt: skip


@pytest.fixture(scope="session")
def plain() -> Tables:
    """The shipped tables with two house classes and plain methods laid over."""
    return shipped().with_overrides(
        {
            "scrap_methods": {name: {**METHOD, **row} for name, row in PLAIN.items()},
            "scrap_classes": {
                "one_of_a_kind": {**CLASS, "bias_sd": 0, "own_sd": (4**2 + 2.5**2) ** 0.5},
                "of_one_source": {**CLASS, "bias_sd": 2.5, "own_sd": 4},
                "exact": {**CLASS, "bias": 0, "bias_sd": 0, "own_sd": 0},
            },
        }
    )


@pytest.fixture(scope="session")
def silver_lot() -> Callable[..., Lot]:
    """A lot of clean silver of Ada's, stated in millesimal parts."""

    def make(name: str, stated: float | None = 925, **more: object) -> Lot:
        alloy = (
            None
            if stated is None
            else Composition.from_millesimal({"Ag": stated, "Cu": 1000 - stated})
        )
        known = "unsorted" if stated is None else "of_one_source"
        given = {
            "owner": "ada", "form": "grain", "mass_g": 100.0, "scrap_class": known, **more
        }  # fmt: skip
        return Lot(id=name, main="Ag", stated=alloy, **given)  # type: ignore[arg-type]

    return make


@pytest.fixture(scope="session")
def read() -> Callable[..., Reading]:
    """A reading of silver in millesimal parts; spreads in millesimal parts too."""

    def make(name: str, on: str, method: str, fineness: float, **more: object) -> Reading:
        for key in ("sd_own", "sd_shared"):
            if key in more:
                more[key] = float(more[key]) / 1000  # type: ignore[arg-type]
        return Reading(name, on, method, {"Ag": fineness / 1000}, **more)  # type: ignore[arg-type]

    return make


@pytest.fixture(scope="session")
def covariance() -> Callable[[ScrapAnswer], np.ndarray]:
    """The covariance that a belief set stands for."""

    def make(answer: ScrapAnswer) -> np.ndarray:
        beliefs = answer.beliefs
        loading = np.array(beliefs.loading).reshape(len(beliefs.bodies), len(beliefs.factors))
        return np.diag(np.square(beliefs.own_sd)) + loading @ loading.T

    return make
