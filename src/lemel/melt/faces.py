"""What the melt room takes and gives back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from lemel.values import Caution, Charge, Crucible, Furnace, Objection, Saying, Torch

__all__ = ["ChargeFill", "MeltCurve", "MeltPlan", "MeltProblem", "MeltStep"]


@dataclass(frozen=True, slots=True)
class MeltProblem:
    """One charge, the pot and fire for it, and how hot it must be poured.

    `pour_at_c` is asked by the pour room: the bath's temperature when the pot leaves the
    fire. `piece_g` gives the piece masses of lots that are not cut (by body id).
    """

    charge: Charge
    pour_at_c: float
    furnace: Furnace | None = None
    crucible: Crucible | None = None
    torch: Torch | None = None
    family: str = "silver"
    ambient_c: float = 18.0
    start_c: float = 18.0
    piece_g: Mapping[str, tuple[float, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class ChargeFill:
    """One filling of the pot: which tubs (body id, grams), and the level that it makes."""

    n: int
    tubs: tuple[tuple[str, float], ...]
    mass_g: float
    pile_share: float
    liquid_share: float


@dataclass(frozen=True, slots=True)
class MeltStep:
    """One thing to do at the fire; `action` is a code of the catalogue."""

    at_min: float
    action: str
    mass_g: float = 0.0
    bath_c_before: float | None = None
    bath_c_after: float | None = None
    fill: int | None = None


@dataclass(frozen=True, slots=True)
class MeltCurve:
    """The heat as time series; `furnace_c` is the display, not the bath."""

    t_s: tuple[float, ...]
    bath_c: tuple[float, ...]
    furnace_c: tuple[float, ...]
    liquid: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class MeltPlan:
    """How the heat is run. `setpoint_c` is what to set; the band is what bench paper shows.

    `status` "feasible" or "infeasible" (then `objections` say why, with the way out).
    `method` is "furnace" or "torch". `loss_g` is (expected, low, high).
    """

    status: str
    method: str
    setpoint_c: float
    setpoint_band_c: tuple[float, float]
    fills: tuple[ChargeFill, ...]
    steps: tuple[MeltStep, ...]
    minutes_to_pour: float
    energy_kwh: float
    gas_kg: float
    loss_g: tuple[float, float, float]
    cool_down_h: float
    curve: MeltCurve
    liquidus_c: float
    solidus_c: float
    cautions: tuple[Caution, ...] = ()
    objections: tuple[Objection, ...] = ()
    explain: tuple[Saying, ...] = ()
