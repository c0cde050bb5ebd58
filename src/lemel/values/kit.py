"""The workshop's tools as the rooms need to know them. `Figure`s say how a number is known."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from lemel.values.checks import is_fraction, is_id, is_one_of, is_positive, not_negative
from lemel.values.figures import Figure
from lemel.values.section import Section

__all__ = [
    "MOULD_KINDS", "Balance", "Crucible", "DrawBench", "DrawPlate", "Furnace", "Grooves",
    "Instrument", "Mill", "Mould", "Saw", "Torch",
]  # fmt: skip

MOULD_KINDS = ("bar", "plate", "open", "adjustable")


@dataclass(frozen=True, slots=True)
class Furnace:
    """A resistance furnace; `parameters` override the shipped thermal model by name."""

    id: str
    power_w: float
    top_c: float
    parameters: Mapping[str, Figure] = field(default_factory=dict)
    logs: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        is_id("id", self.id)
        is_positive("power_w", self.power_w)
        is_positive("top_c", self.top_c)


@dataclass(frozen=True, slots=True)
class Torch:
    """A hand torch with a dish: flame power in W, mass of the dish, most metal it can carry."""

    id: str
    flame_w: float
    dish_g: float
    most_g: float
    gas: str = "air-propane"
    families: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        is_id("id", self.id)
        is_positive("flame_w", self.flame_w)
        is_positive("most_g", self.most_g)


@dataclass(frozen=True, slots=True)
class Crucible:
    """A pot that belongs to one alloy family and has a counted life."""

    id: str
    family: str
    material: str
    volume_cm3: float
    mass_g: float
    melts_done: int = 0
    melts_most: int = 50
    retired: bool = False
    least_fill: float = 0.15

    def __post_init__(self) -> None:
        is_id("id", self.id)
        is_one_of("material", self.material, ("graphite", "clay_graphite", "ceramic", "clay_dish"))
        is_positive("volume_cm3", self.volume_cm3)
        is_positive("mass_g", self.mass_g)
        is_fraction("least_fill", self.least_fill)


@dataclass(frozen=True, slots=True)
class Mould:
    """A mould with `channels` equal cavities of one section and length."""

    id: str
    kind: str
    cavity: Section
    length_mm: float
    mass_g: float
    channels: int = 1
    c_j_gk: float = 0.46
    h_w_m2k: Figure = Figure(2000.0, "W/m2K", "assumed", "common_practice")
    coating: str = "oil"
    preheat_c: tuple[float, float] = (150.0, 200.0)

    def __post_init__(self) -> None:
        is_id("id", self.id)
        is_one_of("kind", self.kind, MOULD_KINDS)
        is_positive("length_mm", self.length_mm)
        is_positive("mass_g", self.mass_g)
        is_positive("channels", self.channels)


@dataclass(frozen=True, slots=True)
class Mill:
    """A rolling mill with flat rolls; `comfort` is the share of the torque that is used gladly.

    `gap_step_mm` is what a bench hand can set; `lead_mm` the screw's travel per turn.
    """

    id: str
    roll_r_mm: float
    barrel_mm: float
    opening_mm: float
    least_mm: float
    torque_nm: float
    frame_n: float
    modulus_n_mm: float
    bearing_mu: float = 0.03
    neck_mm: float = 30.0
    roll_mu: float = 0.13
    lead_mm: float = 1.0
    feed_mm_s: float = 17.0
    comfort: float = 0.6
    gap_step_mm: float = 0.05

    def __post_init__(self) -> None:
        is_id("id", self.id)
        for name in (
            "roll_r_mm", "barrel_mm", "opening_mm", "least_mm", "torque_nm", "frame_n",
            "modulus_n_mm", "neck_mm", "roll_mu", "lead_mm", "feed_mm_s", "gap_step_mm",
        ):  # fmt: skip
            is_positive(name, getattr(self, name))
        not_negative("bearing_mu", self.bearing_mu)
        is_positive("comfort", self.comfort)
        is_fraction("comfort", self.comfort)


@dataclass(frozen=True, slots=True)
class Grooves:
    """Square grooves in a mill's rolls, side of the closed square in mm."""

    id: str
    mill: str
    sizes_mm: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class DrawPlate:
    """Holes of a drawplate; `measured_mm` replaces the marked size by hole index (worn holes)."""

    id: str
    holes: tuple[Section, ...]
    measured_mm: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class DrawBench:
    """Pull and stroke; a bench hand with tongs is a draw bench of 350 N."""

    id: str
    pull_n: float
    stroke_mm: float


@dataclass(frozen=True, slots=True)
class Saw:
    """A saw or shear: what it eats and the longest cut it can make."""

    id: str
    kerf_mm: float
    longest_mm: float
    straight_only: bool = False


@dataclass(frozen=True, slots=True)
class Balance:
    """A balance: step and repeatability in g, most it can carry."""

    id: str
    step_g: float
    sd_g: float
    most_g: float
    calibrated_on: date | None = None

    def __post_init__(self) -> None:
        is_id("id", self.id)
        is_positive("step_g", self.step_g)
        is_positive("most_g", self.most_g)


@dataclass(frozen=True, slots=True)
class Instrument:
    """A way to test fineness: evidence method, minutes to an answer, fee a test."""

    id: str
    method: str
    minutes_to_answer: float
    fee: Decimal
    own: bool = True
