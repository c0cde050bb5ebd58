"""Loss and yield by form, learnt from the house's own heats."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from lemel.melt.figures import figure, form_row
from lemel.tables import Tables, shipped
from lemel.values import Objection, Quantity, Saying, SayingValue

__all__ = ["HeatRecord", "LossBelief", "learn_loss"]


@dataclass(frozen=True, slots=True)
class HeatRecord:
    """A heat as the book has it: grams in by form, grams out (ingots, button, skull, spill)."""

    id: str
    by_form: Mapping[str, float]
    out_g: float
    weigh_sd_g: float = 0.02


@dataclass(frozen=True, slots=True)
class LossBelief:
    """What is believed of one form's loss: mean and spread, shares of the mass."""

    form: str
    mean: float
    sd: float

    @property
    def yield_fraction(self) -> tuple[float, float]:
        """Metal that comes out per gram put in, and its spread."""
        return 1 - self.mean, self.sd


@dataclass(frozen=True, slots=True)
class _State:
    """Mean and covariance of the forms' losses, in one order."""

    forms: tuple[str, ...]
    mean: tuple[float, ...]
    cov: tuple[tuple[float, ...], ...]

    @classmethod
    def prior(cls, forms: tuple[str, ...], tables: Tables) -> _State:
        """The table's middle, with a quarter of its band as spread."""
        rows = [form_row(form, tables) for form in forms]
        spread = [(row.number("loss_hi") - row.number("loss_lo")) / 400 for row in rows]
        cov = tuple(
            tuple(s * s if i == j else 0.0 for j in range(len(forms))) for i, s in enumerate(spread)
        )
        return cls(forms, tuple(row.number("loss_percent") / 100 for row in rows), cov)

    def foresee(self, record: HeatRecord, scatter: float) -> tuple[float, float, list[float]]:
        """Expected loss in g, its variance, and how it goes with each form's loss."""
        masses = [record.by_form.get(form, 0.0) for form in self.forms]
        expected_g = sum(m * x for m, x in zip(masses, self.mean, strict=True))
        along = [sum(c * m for c, m in zip(row, masses, strict=True)) for row in self.cov]
        variance = sum(m * a for m, a in zip(masses, along, strict=True))
        variance += record.weigh_sd_g**2 + (scatter * sum(masses)) ** 2
        return expected_g, variance, along

    def learn(self, surprise_g: float, variance: float, along: list[float]) -> _State:
        """After a heat that lost `surprise_g` more than expected."""
        gain = [a / variance for a in along]
        mean = tuple(x + g * surprise_g for x, g in zip(self.mean, gain, strict=True))
        cov = tuple(
            tuple(c - g * a for c, a in zip(row, along, strict=True))
            for row, g in zip(self.cov, gain, strict=True)
        )
        return _State(self.forms, mean, cov)


def learn_loss(
    records: tuple[HeatRecord, ...], *, tables: Tables | None = None
) -> tuple[tuple[LossBelief, ...], tuple[Objection, ...]]:
    """Loss by form from the house's own heats, starting from the table, heat after heat.

    Linear and normal: each heat's loss is the sum over forms of mass times loss. A heat whose
    loss lies outside 99 % of what was expected before it is asked about (a spill, a wrong
    weighing, somebody else's metal) and teaches nothing about its forms.
    """
    tables = tables or shipped()
    forms = tuple(sorted({form for record in records for form in record.by_form}))
    state, found = _State.prior(forms, tables), []
    for record in records:
        expected_g, variance, along = state.foresee(record, figure("loss_scatter", tables))
        lost_g = sum(record.by_form.values()) - record.out_g
        z = (lost_g - expected_g) / math.sqrt(variance)
        if abs(z) > figure("loss_alarm_z", tables):
            found.append(_alarm(record.id, lost_g, expected_g, z))
        else:
            state = state.learn(lost_g - expected_g, variance, along)
    beliefs = tuple(
        LossBelief(form, state.mean[i], math.sqrt(state.cov[i][i])) for i, form in enumerate(forms)
    )
    return beliefs, tuple(found)


def _alarm(heat: str, lost_g: float, expected_g: float, z: float) -> Objection:
    code = "melt.loss.more" if z > 0 else "melt.loss.less"
    values: dict[str, SayingValue] = {
        "lost": Quantity(lost_g, "g"),
        "expected": Quantity(expected_g, "g"),
    }
    return Objection(code, heat, "ask", values, Saying("melt.way.weigh_again"))
