"""What a log teaches about a furnace, how surely, and what it cannot tell.

Imports numpy; loaded only when it is asked.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lemel.errors import BadInput, Stopped
from lemel.melt.batch import BatchRun, columns_of
from lemel.melt.bath import bath_of
from lemel.melt.events import simulate
from lemel.melt.log import MeltLog, drive_of
from lemel.melt.model import FurnaceModel, furnace_model
from lemel.tables import Tables, shipped
from lemel.values import Crucible, Figure, Furnace, Quantity, Saying, Watch, quiet

__all__ = ["Calibration", "CalibrationProblem", "calibrate"]

Array = NDArray[np.float64]

#: A parameter is called identified when the log narrows its prior to this share or less.
IDENTIFIED_SHARE = 0.7
WEIGHED_LN_SD = 0.03
METERED_LN_SD = 0.01
#: The quadratic's spread is widened by so much because the real one is bent: with it 95 %
#: intervals held 94 % of the identified figures over two hundred synthetic logs (soak test).
BENT = 1.1
STEP_LN = 1e-3
#: A simulated controller makes jumps: a longer step averages them.
STEP_SWITCHED_LN = 0.03
STEP_S = 4.0
#: Without a power record, readings near the setpoint only show the controller's swing.
SWING_K = 15.0
SWING_NOISE = 3.0
MOST_ROUNDS = 30


@dataclass(frozen=True, slots=True)
class CalibrationProblem:
    """Logs of one furnace with one pot. `noise_k` is what the display wanders by itself;
    `robust` lets single wild readings weigh less. Newer logs come last: each older one
    weighs 0.5^(1/20) of the next (elements and linings age)."""

    furnace: Furnace
    crucible: Crucible | None
    logs: tuple[MeltLog, ...]
    noise_k: float = 3.0
    robust: bool = True


@dataclass(frozen=True, slots=True)
class Calibration:
    """Fitted parameters with their spread, and what they are worth.

    `ln_sd` and `prior_ln_sd` are relative spreads after and before; `covariance` is of the
    logarithms, in the order of `names`. `identified` names what the log could tell.
    `rms_k` is what is left between model and display; `inflation` how much the noise was
    widened because neighbouring residuals went together; `grade` how the power was known.
    """

    furnace: str
    names: tuple[str, ...]
    values: tuple[float, ...]
    ln_sd: tuple[float, ...]
    prior_ln_sd: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]
    rms_k: float
    grade: str
    readings: int
    combinations: int
    inflation: float
    model: FurnaceModel
    notes: tuple[Saying, ...] = ()

    @property
    def identified(self) -> tuple[str, ...]:
        """Parameters that the log narrowed."""
        return tuple(
            name
            for name, after, before in zip(self.names, self.ln_sd, self.prior_ln_sd, strict=True)
            if after <= IDENTIFIED_SHARE * before
        )

    def figures(self, tables: Tables | None = None) -> Mapping[str, Figure]:
        """The parameters as figures for the furnace's kit entry, with their spread."""
        rows = (tables or shipped()).table("melt_furnace")
        return {
            name: Figure(value, rows[name].text("unit"), "calibrated", "", value * ln_sd)
            for name, value, ln_sd in zip(self.names, self.values, self.ln_sd, strict=True)
        }

    def furnace_with(self, furnace: Furnace, tables: Tables | None = None) -> Furnace:
        """The furnace with these figures in place of the table's (they belong together)."""
        kept = {n: f for n, f in self.figures(tables).items() if n not in ("power_w", "pot_g")}
        power_w = self.values[self.names.index("power_w")]
        return replace(furnace, power_w=power_w, parameters={**furnace.parameters, **kept})


def calibrate(
    problem: CalibrationProblem, *, tables: Tables | None = None, watch: Watch = quiet
) -> Calibration:
    """Fit the furnace to its logs: least squares in logarithms with a prior on every parameter.

    A measured power record drives the model; without one the controller is simulated and the
    readings of its swing weigh little. Damped Gauss-Newton; function and Jacobian come from
    one batched run. The spread is that of the quadratic at the best point, the noise widened
    by the residuals' own correlation. While heating only ratios of power to capacities can be
    seen; linings and losses need the cool-down: what stays at its prior is said to be not
    identified.
    """
    tables = tables or shipped()
    if not problem.logs:
        raise BadInput("logs", (), "at least one log", "Write down one heat with its readings.")
    fit = _Fit.of(problem, tables)
    x, residuals, jacobian = _minimise(fit, 1.0, watch)
    inflation = _inflation(fit, residuals)
    if inflation > 1.05:
        x, residuals, jacobian = _minimise(fit, inflation, watch, x)
    weighted = _weighted(fit, residuals, jacobian, problem.robust)[1]
    covariance: Array = np.asarray(BENT**2 * np.linalg.inv(weighted.T @ weighted), dtype=np.float64)
    return _answer(fit, x, residuals, covariance, inflation, jacobian)


@dataclass(frozen=True, slots=True)
class _Fit:
    """Everything that does not change while fitting."""

    problem: CalibrationProblem
    model: FurnaceModel
    names: tuple[str, ...]
    base: Array
    prior_sd: Array
    drives: tuple[Callable[[float], float] | None, ...]
    data: int
    tables: Tables

    @classmethod
    def of(cls, problem: CalibrationProblem, tables: Tables) -> _Fit:
        model = furnace_model(problem.furnace, problem.crucible, tables=tables)
        rows = tables.table("melt_furnace")
        names = tuple(name for name, row in rows.items() if row.text("fitted") == "yes")
        base = np.array([getattr(model, name) for name in names])
        spread = {name: rows[name].number("ln_sd") for name in names}
        if problem.crucible is not None:
            spread["pot_g"] = WEIGHED_LN_SD
        if all(log.grade == "meter" for log in problem.logs):
            spread["power_w"] = METERED_LN_SD
        drives = tuple(drive_of(log, model.power_w) for log in problem.logs)
        data = sum(len(log.readings) for log in problem.logs)
        sd = np.array([spread[name] for name in names])
        return cls(problem, model, names, base, sd, drives, data, tables)

    def display(self, x: Array) -> Array:
        """Model display at all readings (rows) for parameter columns x (names x columns)."""
        theta = self.base[:, None] * np.exp(x)
        values = columns_of(self.model, {name: theta[k] for k, name in enumerate(self.names)})
        found = []
        for log, drive in zip(self.problem.logs, self.drives, strict=True):
            run = BatchRun(
                values, self.model, bath_of(log.body, self.tables), log.charge_g, x.shape[1],
                start_c=log.readings[0].display_c, ambient_c=log.ambient_c,
                setpoint_c=log.setpoint_c, step_s=STEP_S,
            )  # fmt: skip
            run.drive = drive
            simulate(run, log.events, log.end_s)
            found.append(run.display_at([r.t_s for r in log.readings]))
        return np.vstack(found)

    def noise_k(self, inflation: float) -> Array:
        """Standard deviation of every reading, older logs wider."""
        newest = len(self.problem.logs) - 1
        parts = []
        for n, log in enumerate(self.problem.logs):
            wide = np.full(len(log.readings), 2 ** ((newest - n) / 40))
            if log.grade == "thermostat":
                shown = np.array([reading.display_c for reading in log.readings])
                wide[np.abs(shown - log.setpoint_c) < SWING_K] *= SWING_NOISE
            parts.append(wide)
        return self.problem.noise_k * inflation * np.concatenate(parts)


def _evaluate(fit: _Fit, x: Array, inflation: float) -> tuple[Array, Array]:
    """Scaled residuals (data, then prior) and their Jacobian, in one batched run."""
    count = len(x)
    columns = np.repeat(x[:, None], count + 1, axis=1)
    step = STEP_LN if all(fit.drives) else STEP_SWITCHED_LN
    columns[np.arange(count), np.arange(count) + 1] += step
    display = fit.display(columns)
    read = np.array([r.display_c for log in fit.problem.logs for r in log.readings])
    noise = fit.noise_k(inflation)
    data = (display[:, 0] - read) / noise
    slopes = (display[:, 1:] - display[:, :1]) / step / noise[:, None]
    residuals = np.concatenate([data, x / fit.prior_sd])
    return residuals, np.vstack([slopes, np.diag(1 / fit.prior_sd)])


def _weighted(fit: _Fit, residuals: Array, jacobian: Array, robust: bool) -> tuple[Array, Array]:
    if not robust:
        return residuals, jacobian
    weights = np.ones_like(residuals)
    # Huber's easing beyond three noises; within them it is plain least squares.
    far = np.abs(residuals[: fit.data])
    weights[: fit.data] = np.where(far > 3.0, np.sqrt(3.0 / np.maximum(far, 3.0)), 1.0)
    return residuals * weights, jacobian * weights[:, None]


def _cost(fit: _Fit, residuals: Array) -> float:
    data, prior = residuals[: fit.data], residuals[fit.data :]
    far = np.abs(data)
    if fit.problem.robust:
        data_cost = np.where(far <= 3, far**2, 6 * far - 9).sum()
    else:
        data_cost = (far**2).sum()
    return float(data_cost + (prior**2).sum())


def _minimise(
    fit: _Fit, inflation: float, watch: Watch, start: Array | None = None
) -> tuple[Array, Array, Array]:
    x = np.zeros(len(fit.names)) if start is None else start
    residuals, jacobian = _evaluate(fit, x, inflation)
    cost, damping = _cost(fit, residuals), 1e-2
    for turn in range(MOST_ROUNDS):
        if watch.cancelled():
            raise Stopped("stopped while the furnace was fitted")
        watch.tell(turn / MOST_ROUNDS, cost)
        r, j = _weighted(fit, residuals, jacobian, fit.problem.robust)
        normal, slope = j.T @ j, j.T @ r
        # Closer than a tenth of a standard deviation in every direction together.
        if float(slope @ np.linalg.solve(normal, slope)) < 0.01:
            break
        step = -np.linalg.solve(normal + damping * np.diag(np.diag(normal)), slope)
        step = np.clip(step, -0.7, 0.7)
        trial, trial_jacobian = _evaluate(fit, x + step, inflation)
        trial_cost = _cost(fit, trial)
        if math.isfinite(trial_cost) and trial_cost < cost:
            x, residuals, jacobian, cost = x + step, trial, trial_jacobian, trial_cost
            damping = max(damping / 10, 1e-9)
        else:
            damping *= 10
            if damping > 1e8:
                break
    return x, residuals, jacobian


def _inflation(fit: _Fit, residuals: Array) -> float:
    """How much wider the noise must be taken because neighbouring residuals go together."""
    products = squares = 0.0
    at = 0
    for log in fit.problem.logs:
        r = residuals[at : at + len(log.readings)]
        if fit.problem.robust:
            r = np.clip(r, -3, 3)
        r = r - r.mean()
        products += float(r[:-1] @ r[1:])
        squares += float(r @ r)
        at += len(log.readings)
    rho = min(0.98, max(0.0, products / squares)) if squares > 0 else 0.0
    size = math.sqrt(squares / max(1, fit.data - len(fit.names)))
    # White residuals of the expected size need nothing; a tenth of correlation is chance.
    if rho < 2 / math.sqrt(fit.data):
        return max(1.0, size)
    return max(1.0, size * math.sqrt((1 + rho) / (1 - rho)))


def _answer(
    fit: _Fit, x: Array, residuals: Array, covariance: Array, inflation: float, jacobian: Array
) -> Calibration:
    values = fit.base * np.exp(x)
    ln_sd = np.sqrt(np.diag(covariance))
    scaled: Any = jacobian[: fit.data] * fit.prior_sd[None, :]
    learned = int((np.linalg.svd(scaled, compute_uv=False) > 1).sum())
    noise = fit.noise_k(inflation)
    rms_k = float(np.sqrt(np.mean((residuals[: fit.data] * noise) ** 2)))
    model = fit.model.with_values({name: float(values[k]) for k, name in enumerate(fit.names)})
    grades = [log.grade for log in fit.problem.logs]
    grade = max(grades, key=("relay", "meter", "thermostat").index)
    made = Calibration(
        furnace=fit.problem.furnace.id,
        names=fit.names,
        values=tuple(float(v) for v in values),
        ln_sd=tuple(float(s) for s in ln_sd),
        prior_ln_sd=tuple(float(s) for s in fit.prior_sd),
        covariance=tuple(tuple(float(c) for c in row) for row in covariance),
        rms_k=rms_k,
        grade=grade,
        readings=fit.data,
        combinations=learned,
        inflation=inflation,
        model=model,
    )
    return replace(made, notes=_notes(made))


def _notes(made: Calibration) -> tuple[Saying, ...]:
    notes = [
        Saying(
            "melt.fit.summary",
            {
                "rms": Quantity(made.rms_k, "K"),
                "readings": made.readings,
                "combinations": made.combinations,
            },
        )
    ]
    unknown = [name for name in made.names if name not in made.identified]
    if unknown:
        notes.append(Saying("melt.fit.not_identified", {"names": ", ".join(unknown)}))
    if made.grade == "thermostat":
        notes.append(Saying("melt.fit.power_inferred"))
    if made.rms_k > 8:
        notes.append(Saying("melt.fit.poor", {"rms": Quantity(made.rms_k, "K")}))
    return tuple(notes)
