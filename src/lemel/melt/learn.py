"""Loss and yield by form, learnt from the house's own heats."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from lemel.errors import BadInput
from lemel.melt.figures import figure, form_row
from lemel.tables import Tables, shipped
from lemel.values import Composition, Objection, Quantity, Saying, SayingValue

__all__ = ["HeatRecord", "LossBelief", "LossesLearnt", "learn_losses"]


@dataclass(frozen=True, slots=True)
class HeatRecord:
    """A heat as the book has it: grams charged by form, grams out, and what it was.

    `poured_g` is everything that was cast (bars, feeders, button); `residue_g` what is known to
    lie in pot, dish or tray and is still somebody's (skull, spill). `alloy` None: not told.
    `weigh_sd_g` is the spread of the whole balance of masses.
    """

    id: str
    charged: Mapping[str, float]
    poured_g: float
    residue_g: float = 0.0
    alloy: Composition | None = None
    weigh_sd_g: float = 0.02

    @property
    def charged_g(self) -> float:
        """Grams put in."""
        return sum(self.charged.values())

    @property
    def lost_g(self) -> float:
        """Grams that went in and are nowhere."""
        return self.charged_g - self.poured_g - self.residue_g


@dataclass(frozen=True, slots=True)
class LossBelief:
    """What is believed of one form's loss: mean and spread, shares of the mass.

    `heats` is how many heats taught it (0: the table's own figure).
    """

    form: str
    mean: float
    sd: float
    heats: int = 0

    @property
    def yield_fraction(self) -> tuple[float, float]:
        """Metal that comes out per gram put in, and its spread."""
        return 1 - self.mean, self.sd


@dataclass(frozen=True, slots=True)
class LossesLearnt:
    """Loss by form after the house's own heats, and the heats that are asked about."""

    beliefs: tuple[LossBelief, ...]
    objections: tuple[Objection, ...] = ()

    def own_figures(self) -> dict[str, dict[str, dict[str, float]]]:
        """The learnt losses as figures over the shipped ones, for `Tables.with_overrides`.

        The band is two spreads to each side and never below nothing, as the table's own is read.
        """
        rows = {}
        for one in self.beliefs:
            if one.heats:
                low, high = 100 * max(0.0, one.mean - 2 * one.sd), 100 * (one.mean + 2 * one.sd)
                rows[one.form] = {
                    "loss_percent": 100 * one.mean, "loss_lo": low, "loss_hi": high,
                }  # fmt: skip
        return {"melt_form": rows} if rows else {}


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
        masses = [record.charged.get(form, 0.0) for form in self.forms]
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


def learn_losses(
    records: Iterable[HeatRecord], *, main: str | None = None, tables: Tables | None = None
) -> LossesLearnt:
    """Loss by form from the house's own heats, starting from the table, heat after heat.

    Linear and normal: each heat's loss is the sum over forms of mass times loss; the table's
    middle with a quarter of its band is what is believed before. With `main` only heats whose
    alloy has that main metal teach. A heat whose loss lies outside 99 % of what was expected
    before it is asked about (a spill, a wrong weighing, somebody else's metal) and teaches nothing
    about its forms. `do` uses what was learnt through `tables.with_overrides(own_figures())`.
    Raises BadInput for a mass that cannot be and for a form that no table knows.
    """
    tables = tables or shipped()
    kept = [one for one in records if main is None or _main(one) == main]
    for record in kept:
        _check(record, tables)
    forms = tuple(sorted({form for record in kept for form in record.charged}))
    state, found = _State.prior(forms, tables), []
    taught = dict.fromkeys(forms, 0)
    for record in kept:
        expected_g, variance, along = state.foresee(record, figure("loss_scatter", tables))
        z = (record.lost_g - expected_g) / math.sqrt(variance)
        if abs(z) > figure("loss_alarm_z", tables):
            found.append(_alarm(record.id, record.lost_g, expected_g, z))
            continue
        state = state.learn(record.lost_g - expected_g, variance, along)
        for form in record.charged:
            taught[form] += 1
    beliefs = tuple(
        LossBelief(form, state.mean[i], math.sqrt(state.cov[i][i]), taught[form])
        for i, form in enumerate(forms)
    )
    return LossesLearnt(beliefs, tuple(found))


def _main(record: HeatRecord) -> str | None:
    return None if record.alloy is None else record.alloy.main()


def _check(record: HeatRecord, tables: Tables) -> None:
    known = tables.table("melt_form")
    for form, mass_g in record.charged.items():
        if form not in known:
            raise BadInput(f"{record.id}.charged", form, ", ".join(known), "Name the form.")
        if not mass_g > 0:
            raise BadInput(f"{record.id}.charged.{form}", mass_g, "more than 0 g", "Weigh it.")
    for name in ("poured_g", "residue_g"):
        if not 0 <= getattr(record, name) < math.inf:
            value = getattr(record, name)
            raise BadInput(f"{record.id}.{name}", value, "0 g or more", "Weigh it again.")


def _alarm(heat: str, lost_g: float, expected_g: float, z: float) -> Objection:
    code = "melt.loss.more" if z > 0 else "melt.loss.less"
    values: dict[str, SayingValue] = {
        "lost": Quantity(lost_g, "g"),
        "expected": Quantity(expected_g, "g"),
    }
    return Objection(code, heat, "ask", values, Saying("melt.way.weigh_again"))
