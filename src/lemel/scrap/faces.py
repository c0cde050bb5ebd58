"""What the scrap room takes and gives back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from lemel.values import BeliefSet, Caution, Lot, Objection, Reading, Saying

__all__ = [
    "AssayedHeat", "BelieveReport", "BelievedHeat", "BelievedReading", "Health", "PouredHeat",
    "ReportedReading", "ScrapAnswer", "ScrapProblem", "YieldAnswer",
]  # fmt: skip


class AssayedHeat(NamedTuple):
    """A heat that was melted: (id, ((lot id, grams), ...), fine grams added, grams of metal).

    `fine_g` is the main metal that came in with clean additions; `metal_g` all metal that
    the heat gave: what was poured and what is left in crucible, button and dross as metal.
    """

    id: str
    lots: tuple[tuple[str, float], ...]
    fine_g: float
    metal_g: float


class PouredHeat(NamedTuple):
    """A heat as weighed: what went in by form, what came out as metal.

    `charged` are (form, class of scrap or "", grams). `residue_g` is what was not poured but
    is metal still: the button, the skin in the crucible, beads picked out of the slag.
    """

    id: str
    charged: tuple[tuple[str, str, float], ...]
    poured_g: float
    residue_g: float = 0.0
    weigh_sd_g: float = 0.02


@dataclass(frozen=True, slots=True)
class YieldAnswer:
    """Yields (mean, sd) by "form:<form>", or "class:<class>" where the class sets it; the
    heats that taught them; and questions about heats that do not fit."""

    yields: Mapping[str, tuple[float, float]]
    taught_by: tuple[str, ...]
    objections: tuple[Objection, ...] = ()


@dataclass(frozen=True, slots=True)
class ScrapProblem:
    """Lots of one main metal with their readings; assayed heats teach the lots in them.

    A reading is on a lot or on a heat. A lot whose `parents` name one of the heats is a
    bar of that heat: it is believed through its parents and shares their errors. A heat
    may be given as a plain tuple in the order of `AssayedHeat`. `poured` are heats weighed
    in and out: they teach the yield of the forms in them.
    """

    lots: tuple[Lot, ...]
    readings: tuple[Reading, ...]
    heats: tuple[AssayedHeat | tuple[str, tuple[tuple[str, float], ...], float, float], ...] = ()
    poured: tuple[PouredHeat, ...] = ()


@dataclass(frozen=True, slots=True)
class BelievedReading:
    """One piece of evidence as it was fused; shares are mass fractions.

    `weight` is how far the body's mean moves per unit of this evidence; `residual` how far
    it lies from all the other evidence, in sds of that difference. `used` False: put
    aside, an objection says why. `reading` is "<lot>:stated" for what a lot says of itself.
    """

    reading: str
    on: str
    weight: float
    residual: float
    used: bool
    method: str = ""
    said: float = 0.0


@dataclass(frozen=True, slots=True)
class BelievedHeat:
    """A heat's share of the main metal after all evidence: mean and sd, mass fractions."""

    mean: float
    sd: float


@dataclass(frozen=True, slots=True)
class Health:
    """Were the promised spreads honest? Each heat's assay against what was believed before it.

    `z` by heat in the order of their assays: (assay - predicted) / sd of the difference.
    Honest errors give a mean square near 1. `verdict` is "too_few", "fair", "overconfident"
    or "needlessly_wide".
    """

    z: tuple[tuple[str, float], ...]
    mean_square: float
    verdict: str


@dataclass(frozen=True, slots=True)
class ScrapAnswer:
    """What is believed, and what must not or cannot yet be melted.

    `objections` are about lot ids: grade stop bars the lot, ask bars it until answered.
    `shared[lot][source]` is the sd (fraction) that one shared error leaves in a lot's
    mean; `biases[source]` its (mean, sd) as learnt: a class of scrap against its stamps, an
    instrument against the truth (high is positive). `share_most[lot]` is the largest mass
    share of a heat that the lot's evidence allows.
    """

    beliefs: BeliefSet
    readings: tuple[BelievedReading, ...]
    objections: tuple[Objection, ...]
    cautions: tuple[Caution, ...] = ()
    explain: tuple[Saying, ...] = ()
    shared: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    biases: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    heats: Mapping[str, BelievedHeat] = field(default_factory=dict)
    share_most: Mapping[str, float] = field(default_factory=dict)
    health: Health | None = None


@dataclass(frozen=True, slots=True)
class ReportedReading:
    """One reading for the reader: `fineness` in millesimal parts, `residual` in sds."""

    reading: str
    method: str
    fineness: float
    weight: float
    residual: float
    used: bool


@dataclass(frozen=True, slots=True)
class BelieveReport:
    """One lot's belief for the reader; all shares here are millesimal parts.

    `shared` is the sd left by each shared error; `yield_fraction` (mean, sd) grams out per
    gram in; `doubt` the probability that the lot is not what it is taken for.
    """

    lot: str
    metal: str
    mean: float
    sd: float
    interval_95: tuple[float, float]
    shared: Mapping[str, float]
    readings: tuple[ReportedReading, ...]
    composition: Mapping[str, float]
    yield_fraction: tuple[float, float]
    doubt: float
    objections: tuple[Objection, ...]
    cautions: tuple[Caution, ...]
