"""What a calibrated furnace will do with the next heat, as a band.

Imports numpy; loaded only when it is asked.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lemel.melt.batch import BatchRun, columns_of
from lemel.melt.bath import bath_of
from lemel.melt.events import Event, simulate
from lemel.melt.fit import Calibration
from lemel.tables import Tables
from lemel.values import Composition

__all__ = ["Band", "Prediction", "predict"]

#: Heats of one furnace differ by about this share of their time (own estimate).
SCATTER_SHARE = 0.03
STEP_S = 3.0
CHUNK_S = 60.0
NEAR_K = 4.0


@dataclass(frozen=True, slots=True)
class Band:
    """A middle with the ends that hold with the prediction's probability."""

    low: float
    middle: float
    high: float


@dataclass(frozen=True, slots=True)
class Prediction:
    """Times in s until all is liquid and until the bath is ready to pour, energy until then,
    and the display over time. None: some of the likely furnaces never get there."""

    probability: float
    liquid_s: Band | None
    ready_s: Band | None
    energy_kwh: Band | None
    t_s: tuple[float, ...]
    display_c: tuple[Band, ...]


def predict(
    calibration: Calibration,
    body: Composition,
    charge_g: float,
    *,
    pour_at_c: float,
    setpoint_c: float | None = None,
    events: Iterable[Event] = (),
    start_c: float = 18.0,
    ambient_c: float = 18.0,
    probability: float = 0.95,
    draws: int = 200,
    seed: int = 1,
    scatter: float = SCATTER_SHARE,
    longest_s: float = 3600.0,
    tables: Tables | None = None,
) -> Prediction:
    """Run the heat for furnaces drawn from what the calibration knows, and give the quantiles.

    `events` is the schedule of top-ups and lids; ready means liquid and within 4 K of
    `pour_at_c`. `scatter` is how much heats of one furnace differ by themselves.
    """
    chance = np.random.default_rng(seed)
    run = BatchRun(
        _drawn(calibration, chance, draws), calibration.model, bath_of(body, tables), charge_g,
        draws, start_c=start_c, ambient_c=ambient_c, step_s=STEP_S,
        setpoint_c=pour_at_c if setpoint_c is None else setpoint_c,
    )  # fmt: skip
    schedule = list(events)
    last_s = max((event.at_s for event in schedule), default=0.0)
    simulate(run, schedule, min(longest_s, last_s + CHUNK_S))
    waiting = np.ones(draws, dtype=bool)
    while run.t_s < longest_s and waiting.any():
        run.advance(CHUNK_S)
        at_c, liquid = run.charge()
        waiting &= (liquid < 0.999) | (at_c < pour_at_c - NEAR_K)
    stretch = 1 + scatter * chance.standard_normal(draws)
    liquid_at = run.first_time(lambda _b, f: f >= 0.999, last_s)
    ready_at = run.first_time(lambda b, f: (f >= 0.999) & (b >= pour_at_c - NEAR_K), last_s)
    shown = np.arange(0.0, float(np.nanmax(ready_at, initial=600.0)) + 60.0, 15.0).tolist()
    return Prediction(
        probability,
        _band(liquid_at * stretch, probability),
        _band(ready_at * stretch, probability),
        _band(_energy_j(run, ready_at) / 3.6e6 * stretch, probability),
        tuple(float(t) for t in shown),
        tuple(_of(row, probability) for row in run.display_at(shown)),
    )


def _drawn(calibration: Calibration, chance: np.random.Generator, draws: int) -> dict[str, Any]:
    """Parameter columns from the calibration's spread; the first is its best point."""
    count = len(calibration.names)
    root = np.linalg.cholesky(np.array(calibration.covariance) + 1e-12 * np.eye(count))
    x = root @ chance.standard_normal((count, draws))
    x[:, 0] = 0.0
    return columns_of(
        calibration.model,
        {name: calibration.values[k] * np.exp(x[k]) for k, name in enumerate(calibration.names)},
    )


def _energy_j(run: BatchRun, until_s: NDArray[np.float64]) -> NDArray[np.float64]:
    times, energy = np.asarray(run.series.t_s), np.asarray(run.series.energy_j)
    used = [
        np.interp(t, times, energy[:, n]) if np.isfinite(t) else np.nan
        for n, t in enumerate(until_s)
    ]
    return np.asarray(used, dtype=np.float64)


def _band(values: NDArray[np.float64], probability: float) -> Band | None:
    if np.isnan(values).mean() > (1 - probability) / 2:
        return None
    return _of(values[~np.isnan(values)], probability)


def _of(values: NDArray[np.float64], probability: float) -> Band:
    edge = (1 - probability) / 2
    low, middle, high = np.quantile(values, [edge, 0.5, 1 - edge])
    return Band(float(low), float(middle), float(high))
