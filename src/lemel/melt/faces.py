"""What the melt room takes and gives back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from lemel.melt.life import Inspection
from lemel.values import (
    Caution,
    Charge,
    Crucible,
    Furnace,
    Objection,
    Quantity,
    Saying,
    SayingValue,
    Torch,
)

__all__ = [
    "ChargeFill", "MeltCurve", "MeltPlan", "MeltProblem", "MeltStep", "PotChoice",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class MeltProblem:
    """One charge, the pot and fire for it, and how hot it must be poured.

    `pour_at_c` is asked by the pour room: the bath's temperature when the pot leaves the
    fire. `piece_g` gives the piece masses of lots that are not cut (by body id).
    `condition` says of a body whether it is "dry", "damp" or "closed" (hollow and sealed);
    a body not named is asked for at the charge. `sequence` "third" fills a third first,
    "full" as much as fits. `bath_least` is how cold a top-up may make the bath: "liquidus",
    "half" (half frozen) or "solidus". `may_be_hot`: a bath far above the liquidus is meant.
    `inspection` is what was seen of the pot (None: not told), `last_owner` whose metal was in it
    last ("": not told, or a new pot).
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
    condition: Mapping[str, str] = field(default_factory=dict)
    sequence: str = "third"
    bath_least: str = "half"
    may_be_hot: bool = False
    inspection: Inspection | None = None
    last_owner: str = ""


@dataclass(frozen=True, slots=True)
class ChargeFill:
    """One filling of the pot: which tubs (body id, grams), and the level that it makes.

    `pile_share` is the height of pile and bath over the pot's volume when it goes in,
    `liquid_share` the same once it is molten. `pieces` counts the pieces of a tub where a lot
    is not cut (body id, number).
    """

    n: int
    tubs: tuple[tuple[str, float], ...]
    mass_g: float
    pile_share: float
    liquid_share: float
    pieces: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True, slots=True)
class MeltStep:
    """One thing to do at the fire; `action` is a code of the catalogue.

    `bath_c_before` and `after` are None where the bath does not matter; `fill` is the number
    of the filling (None: no filling).
    """

    at_min: float
    action: str
    mass_g: float = 0.0
    bath_c_before: float | None = None
    bath_c_after: float | None = None
    fill: int | None = None

    def saying(self) -> Saying:
        """The step for the catalogue, with whatever of mass, bath and filling it has."""
        values: dict[str, SayingValue] = {"at": Quantity(self.at_min, "min")}
        if self.mass_g:
            values["mass"] = Quantity(self.mass_g, "g")
        if self.bath_c_before is not None:
            values["before"] = Quantity(self.bath_c_before, "degC")
        if self.bath_c_after is not None:
            values["after"] = Quantity(self.bath_c_after, "degC")
        if self.fill is not None:
            values["fill"] = self.fill
        return Saying(self.action, values)


@dataclass(frozen=True, slots=True)
class MeltCurve:
    """The heat as time series; `furnace_c` is the display, not the bath (a torch has none:
    there it is the dish)."""

    t_s: tuple[float, ...]
    bath_c: tuple[float, ...]
    furnace_c: tuple[float, ...]
    liquid: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class MeltPlan:
    """How the heat is run. `setpoint_c` is what to set; the band is what bench paper shows.

    `status` "feasible" or "infeasible" (then `objections` say why, with the way out).
    `method` is "furnace" or "torch". `loss_g` is (expected, low, high): metal that is gone.
    `held_g` stays in pot or dish and is somebody's: give it to the pour as its residue.
    Mass put in = poured + loss + residue. `liquid_min` is when all is first molten;
    `heat_j` says where the energy went (element, pot, metal, lining, lost).
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
    held_g: float = 0.0
    liquid_min: float = 0.0
    heat_j: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class PotChoice:
    """Which fire and pot for a charge, with the reasons, and what was passed over.

    `method` "furnace", "torch" or "none". `heats` is how many melts the charge needs in that
    pot (1: all at once). `reasons` explain the choice, `objections` what stands against it
    or against the pots that were not taken.
    """

    method: str
    furnace: Furnace | None
    crucible: Crucible | None
    torch: Torch | None
    heats: int
    reasons: tuple[Saying, ...] = ()
    objections: tuple[Objection, ...] = ()
