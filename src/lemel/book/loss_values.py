"""What is told of losses: fine metal by element, an owner's account as a whole, a heat's weights.

Amounts are mg (gross) and ng (elements); a loss is positive, a gain negative.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

__all__ = ["ChargedBody", "FineLoss", "HeatRecord", "OwnerLoss"]


@dataclass(frozen=True, slots=True)
class FineLoss:
    """The fine metal of one element that an operation lost, against what it may.

    `sd_ng` holds the weighings, the allowance and how well the fineness of what went in is known;
    `permille` is what was lost of a thousand parts handled, `mint_permille` the published
    precedent for it (None: there is none for this metal or operation).
    """

    element: str
    handled_ng: int
    loss_ng: int
    allowed_ng: float
    sd_ng: float
    z: float
    permille: float
    mint_permille: float | None = None


@dataclass(frozen=True, slots=True)
class OwnerLoss:
    """What an owner misses of one element over a period, wherever it was noticed.

    unaccounted = lost in steps + missed at stock-takes + assay differences, each positive where
    metal is missing. `told_ng` was lost by an act that says so (a spill, a sample used up) and is
    not in it. `grade` is fine, look or stop; a gain is graded like a loss.
    """

    owner: str
    element: str
    steps_ng: int
    stock_take_ng: int
    assay_ng: int
    told_ng: int
    allowed_ng: float
    sd_ng: float
    z: float
    grade: str

    @property
    def unaccounted_ng(self) -> int:
        """All that nobody can say where it went."""
        return self.steps_ng + self.stock_take_ng + self.assay_ng


@dataclass(frozen=True, slots=True)
class ChargedBody:
    """One thing that went into a heat, with the form and class that its yield hangs on."""

    body: str
    kind: str
    form: str
    scrap_class: str
    gross_mg: int


@dataclass(frozen=True, slots=True)
class HeatRecord:
    """A poured heat as it was weighed: what went in by form, what came out, what stayed behind.

    `poured_mg` are bars and feeders, `hold_up_mg` what stays in the pot, `loss_mg` the rest.
    `weighed` names what was weighed out; where it is empty the figures are those of the plan, and
    teach nothing. `element_ng` is what was charged, `spilled_mg` what an accident took.
    """

    heat: str
    plan: str
    owner: str
    made_at: str
    by: str
    charged: tuple[ChargedBody, ...]
    element_ng: Mapping[str, int]
    poured_mg: int
    hold_up_mg: int
    loss_mg: int
    spilled_mg: int
    weighed: tuple[str, ...]

    @property
    def charged_mg(self) -> int:
        """All that went in."""
        return sum(one.gross_mg for one in self.charged)
