"""What the pour room takes and gives back."""

from __future__ import annotations

from dataclasses import dataclass

from lemel.values import (
    Bar,
    Caution,
    Composition,
    Crucible,
    IngotNeed,
    Mould,
    Objection,
    Origin,
    Saying,
)

__all__ = ["Casting", "MouldChoice", "PourNeed", "PourPlan", "PourProblem"]


@dataclass(frozen=True, slots=True)
class MouldChoice:
    """One mould for one ingot need: how many pours, how much metal, how hot.

    `ingot` is the bar that it gives (cold, mass without feeder); `fill_g` what must be
    poured for one; `feeder_g` the part of it that is cropped. `least_g` is the lightest
    usable bar. `pours` is the number of fillings for the need, `bars` the number of ingots
    (more where the mould has several channels). `total_g` is what the pot must hold for
    all of them, with what stays in it. `holds_g` is what the cavity holds by the bench rule
    (volume times the density of cold metal), `full_g` what a full bar weighs cold.
    `verdict`: full, short, split (more bars than wanted), button.
    """

    mould: str
    ingot: Bar
    pours: int
    fill_g: float
    feeder_g: float
    least_g: float
    pour_at_c: float
    total_g: float
    verdict: str
    objections: tuple[Objection, ...] = ()
    bars: int = 1
    holds_g: float = 0.0
    full_g: float = 0.0


@dataclass(frozen=True, slots=True)
class PourNeed:
    """Every mould that could serve a need, best first; empty `choices` with the way out.

    A need below the least bar is served by a button in the dish (mould "button"), forged.
    """

    choices: tuple[MouldChoice, ...]
    objections: tuple[Objection, ...] = ()


@dataclass(frozen=True, slots=True)
class PourProblem:
    """So much metal of this body at this bath temperature into this mould (None: a button).

    `mass_g` is the metal in the pot. `lift_out_s` from fire to mould; `mould_c` None: the
    mould's own preheat band. `crucible_skin_g` is what stays in the pot (None: the room's
    figure for the pot's material; next to nothing for a button). `pot` None: an assumed
    graphite pot. `may_be_hot` says that a bath far above the liquidus is meant.
    """

    heat: str
    owner: str
    body: Composition
    sd: float
    mass_g: float
    bath_c: float
    mould: Mould | None
    ingots_wanted: int = 1
    lift_out_s: float = 7.0
    mould_c: float | None = None
    promise_met: str | None = None
    origin: Origin = Origin()
    parents: tuple[str, ...] = ()
    crucible_skin_g: float | None = None
    pot: Crucible | None = None
    may_be_hot: bool = False


@dataclass(frozen=True, slots=True)
class Casting:
    """One ingot that comes out: the bar, its feeder and whether the cavity is full.

    `fill` is full, short or button.
    """

    bar: Bar
    mould: str
    fill: str
    feeder_g: float
    freeze_s: float


@dataclass(frozen=True, slots=True)
class PourPlan:
    """What comes out of the pour and how to hold the mould.

    `rest_g` is the metal that is left for another pour or a button; `verdict` one of
    sound, short, cold, hot, thin. `mould_preheat_c` (lo, hi); `pour_window_s` how long the
    metal stays pourable after lift-out; `wait_between_s` before the next pour. Mass put in
    = bars + feeders + rest + residue (`residue_g` stays in the pot and is somebody's).
    `freeze_band_s` is how far off the freezing time may be until the mould is calibrated;
    `preheat_min` warms and dries the cold mould; `per_lift_out` how many ingots one lift-out
    can fill before the metal is too cold; `least_rate_g_s` the slowest pour that fills the
    mould. `rehearse` is gone through cold.
    """

    verdict: str
    castings: tuple[Casting, ...]
    rest_g: float
    mould_preheat_c: tuple[float, float]
    mould_peak_c: float
    freeze_s: float
    pour_window_s: float
    wait_between_s: float
    pours: int
    cautions: tuple[Caution, ...] = ()
    objections: tuple[Objection, ...] = ()
    explain: tuple[Saying, ...] = ()
    residue_g: float = 0.0
    freeze_band_s: tuple[float, float] = (0.0, 0.0)
    per_lift_out: int = 1
    least_rate_g_s: float = 0.0
    rehearse: tuple[Saying, ...] = ()
    preheat_min: float = 0.0


def ingot_sections(need: IngotNeed) -> tuple[str, ...]:
    """Kinds of section that a need allows; empty means any."""
    return tuple(sorted({section.kind for section in need.sections}))
