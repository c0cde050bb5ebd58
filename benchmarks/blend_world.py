"""A simulated world of scrap (seeded, all invented), and its own exact posterior.

A box holds 24 lots of silver from six sources; each source brings one class of scrap. True
fineness = stamp + bias of the class + effect of the source + the lot's own. Evidence: the
stamp always, a hand reading on half of the lots (one bias for the day), density on some, an
assay on a few. `Box.posterior` is what the evidence says to one who knows the world: plain
Gaussian conditioning in one dense matrix, with nothing of the package in it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

__all__ = [
    "ASSAY_SD", "CLASSES", "DEMAND_G", "DENSITY_SD", "GRAIN", "GRAIN_SD", "GUN_BIAS",
    "GUN_DAY_SD", "GUN_REPEAT_SD", "LOTS", "TARGET", "Box", "draw_box",
]  # fmt: skip

#: chance of the class, bias, own sd, source sd, stamps, divisible (millesimal parts)
CLASSES = (
    (0.35, -0.5, 1.0, 0.7, (925, 958), True),
    (0.25, -5.0, 4.0, 2.5, (925, 925, 958, 950), False),
    (0.25, -4.0, 6.0, 4.0, (925, 900, 835, 800), False),
    (0.15, -6.0, 5.0, 3.0, (925,), True),
)
LOTS, SOURCES, DEMAND_G, TARGET = 24, 6, 250.0, 925.0
GUN_BIAS, GUN_DAY_SD, GUN_REPEAT_SD, DENSITY_SD, ASSAY_SD = 5.0, 3.0, 4.0, 12.0, 0.6
GRAIN, GRAIN_SD = 999.0, 0.2


@dataclass(frozen=True)
class Box:
    """One box: what is true, what was seen, and how the world makes both.

    Reading j is `rows[j]` times (the lots, the gun's bias), give or take the root of
    `noise[j]`; `means[j]` is what it was read by: gun, density or assay.
    """

    kind: npt.NDArray[np.int64]
    source: npt.NDArray[np.int64]
    stamp: Array
    mass: Array
    age: Array
    truth: Array
    rows: Array
    seen: Array
    noise: Array
    means: tuple[str, ...]

    def posterior(self) -> tuple[Array, Array]:
        """Mean and covariance of the lots' fineness, given this box's evidence."""
        bias = np.array([CLASSES[k][1] for k in self.kind])
        own = np.array([CLASSES[k][2] for k in self.kind])
        shared = np.array([CLASSES[k][3] for k in self.kind])
        same_source = self.source[:, None] == self.source[None, :]
        prior = np.zeros((LOTS + 1, LOTS + 1))
        prior[:LOTS, :LOTS] = np.diag(own**2) + same_source * np.outer(shared, shared)
        prior[LOTS, LOTS] = GUN_DAY_SD**2
        mean = np.append(self.stamp + bias, GUN_BIAS)
        gain = (
            prior
            @ self.rows.T
            @ np.linalg.inv(self.rows @ prior @ self.rows.T + np.diag(self.noise))
        )
        mean = mean + gain @ (self.seen - self.rows @ mean)
        rest = np.eye(LOTS + 1) - gain @ self.rows
        cov = rest @ prior @ rest.T + gain @ np.diag(self.noise) @ gain.T
        return mean[:LOTS], cov[:LOTS, :LOTS]


def draw_box(seed: int) -> Box:
    """A box of the world; equal seeds give equal boxes."""
    dice = np.random.default_rng(seed)
    class_of = dice.choice(len(CLASSES), SOURCES, p=[c[0] for c in CLASSES])
    effect = dice.standard_normal(SOURCES) * np.array([CLASSES[k][3] for k in class_of])
    source = dice.integers(0, SOURCES, LOTS)
    kind = class_of[source]
    stamp = np.array([float(dice.choice(CLASSES[k][4])) for k in kind])
    own = dice.standard_normal(LOTS) * np.array([CLASSES[k][2] for k in kind])
    truth = stamp + np.array([CLASSES[k][1] for k in kind]) + effect[source] + own
    gun = GUN_BIAS + GUN_DAY_SD * dice.standard_normal()
    rows, seen, noise, means = [], [], [], []
    for name, chance, spread, biased in (
        ("gun", 0.5, GUN_REPEAT_SD, 1.0), ("density", 0.3, DENSITY_SD, 0.0),
        ("assay", 0.08, ASSAY_SD, 0.0),
    ):  # fmt: skip
        for i in np.flatnonzero(dice.random(LOTS) < chance):
            row = np.zeros(LOTS + 1)
            row[i], row[LOTS] = 1.0, biased
            rows.append(row)
            seen.append(truth[i] + biased * gun + spread * dice.standard_normal())
            noise.append(spread**2)
            means.append(name)
    mass = np.round(dice.gamma(2.0, 14.0, LOTS) + 4.0, 2)
    return Box(
        kind, source, stamp, mass, dice.integers(0, 700, LOTS).astype(float), truth,
        np.array(rows).reshape(-1, LOTS + 1), np.array(seen), np.array(noise), tuple(means),
    )  # fmt: skip
