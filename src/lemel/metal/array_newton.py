"""Newton's methods of the scalar path over rows of alloys: touch, settle, slide and dip.

See `lemel.metal.bounds`, `settle` and `stability` for what they mean; here is the same
arithmetic for many alloys together. Each returns which rows it solved.
"""

from __future__ import annotations

import numpy as np

from lemel.metal.arrays import (
    Array,
    Index,
    LookMany,
    Mask,
    PhaseMany,
    look_many,
    shifted_many,
)
from lemel.metal.gibbs import LIQUID, System

__all__ = ["dip_many", "settle_many", "slide_many", "touch_many"]

_COLDEST_K, _HOTTEST_K = 250.0, 3000.0


def slide_many(phase: PhaseMany, plane: Array, seed: Array, steps: int = 5) -> Array:
    """A quick way down by damped substitution: into the valley, not to its bottom."""
    rt = (phase.gas_j_molk * phase.temp_k)[:, None]
    x = seed
    for _ in range(steps):
        x = shifted_many(x, 0.7 * (plane - phase.potentials(x)) / rt, most=1.5)
    return x


def dip_many(phase: PhaseMany, plane: Array, seed: Array) -> tuple[Array, Mask]:
    """Depth below the plane and whether the bottom was reached."""
    count = len(seed)
    depth, settled = np.zeros(count), np.zeros(count, dtype=np.bool_)
    left, x = np.arange(count), seed
    for _ in range(25):
        rt = (phase.gas_j_molk * phase.temp_k)[:, None]
        look = phase.look(x)
        wants = (plane - look.mu) / rt
        mean = (x * wants).sum(axis=1)
        depth[left] = -mean
        done = np.ptp(wants, axis=1) < 1e-7
        settled[left] = done
        if done.all():
            break
        moves = _reduced(look.slope / rt[:, :, None], wants, x)
        down = (x * moves * (wants - mean[:, None])).sum(axis=1) > 0
        moves = np.where(down[:, None], moves, 0.7 * wants)
        longest = np.abs(moves).max(axis=1, keepdims=True)
        x = shifted_many(x, moves * np.minimum(1, 1.0 / np.maximum(longest, 1e-30)))
        if done.any():
            keep = np.flatnonzero(~done)
            left, x, plane, phase = left[keep], x[keep], plane[keep], phase.rows(keep)
    return depth, settled


def _reduced(slope: Array, wants: Array, x: Array) -> Array:
    """Moves in ln x of all but the largest element that make potentials minus plane equal."""
    count, size = x.shape
    free = _free(x)
    ref = x.argmax(axis=1)
    rows = np.arange(count)
    base, want = slope[rows, ref], wants[rows, ref]
    matrix = slope[rows[:, None, None], free[:, :, None], free[:, None, :]]
    matrix = matrix - base[rows[:, None], free][:, None, :]
    right = wants[rows[:, None], free] - want[:, None]
    moves = np.zeros((count, size))
    moves[rows[:, None], free] = _solve(matrix, right)
    return moves


def _free(x: Array) -> Index:
    """Columns of all but the largest element, by rows."""
    count, size = x.shape
    ref = x.argmax(axis=1)
    grid = np.arange(size)[None, :].repeat(count, axis=0)
    return np.asarray(grid[grid != ref[:, None]].reshape(count, size - 1))


def _solve(matrix: Array, right: Array) -> Array:
    """Batch solve; a singular or wild row gets a zero step."""
    wild = np.isfinite(matrix).all(axis=(1, 2)) & np.isfinite(right).all(axis=1)
    bad: Mask = np.asarray(~wild)
    size = right.shape[1]
    matrix = np.where(bad[:, None, None], np.eye(size), matrix)
    right = np.where(bad[:, None], 0.0, right)
    try:
        step = np.linalg.solve(matrix, right[:, :, None])[:, :, 0]
    except np.linalg.LinAlgError:
        step = np.linalg.solve(matrix + 1e-12 * np.eye(size), right[:, :, None])[:, :, 0]
    return np.asarray(np.where(np.isfinite(step), step, 0.0))


def touch_many(
    system: System, host: tuple[str, Array], guest: tuple[str, Array], start_k: Array
) -> tuple[Array, Array, Mask]:
    """As `bounds.touch`: temperatures, guests, and which rows converged."""
    (host_name, host_x), (guest_name, seed) = host, guest
    count, size = host_x.shape
    gas = system.gas_j_molk
    temp_k, x = start_k.copy(), seed.copy()
    done = np.zeros(count, dtype=np.bool_)
    rows = np.arange(count)
    for turn in range(24):
        at = np.flatnonzero(~done)
        if not len(at):
            break
        t, y = temp_k[at], x[at]
        mine = look_many(system, host_name, t, host_x[at])
        look = look_many(system, guest_name, t, y)
        rt = (gas * t)[:, None]
        free = _free(y)
        r = rows[: len(at)]
        matrix = np.empty((len(at), size, size))
        matrix[:, :, :-1] = (
            look.slope[r[:, None, None], np.arange(size)[None, :, None], free[:, None, :]]
            / rt[:, :, None]
        )
        matrix[:, :, -1] = (look.mu_t - mine.mu_t) / gas
        right = (mine.mu - look.mu) / rt
        wrong = np.abs(right).max(axis=1)
        step = _solve(matrix, right)
        rise = step[:, -1] * t
        longest = np.abs(step[:, :-1]).max(axis=1) if size > 1 else np.zeros(len(at))
        most = np.maximum(longest / 0.8, np.abs(rise) / 80)
        held = 1 / np.maximum(most, 1)
        moves = np.zeros((len(at), size))
        moves[r[:, None], free] = held[:, None] * step[:, :-1]
        x[at] = shifted_many(y, moves)
        temp_k[at] = np.clip(t + held * rise, _COLDEST_K, _HOTTEST_K)
        done[at] = (most < 1e-6) | (wrong < 1e-12) | ((turn > 12) & (wrong < 1e-6) & (most < 1e-3))
    inside = (temp_k > _COLDEST_K + 1) & (temp_k < _HOTTEST_K - 1)
    return temp_k, x, done & inside


def settle_many(
    system: System, solid: str, x: Array, pair: tuple[Array, Array], start_k: Array
) -> tuple[Array, list[Array], Array, Mask]:
    """As `settle` for two solids of one phase and a liquid that just appears.

    Temperatures, compositions (solid, solid, liquid), amounts of the solids, and success.
    """
    count, size = x.shape
    names = (solid, solid, LIQUID)
    xs = [pair[0].copy(), pair[1].copy(), x.copy()]
    amounts = np.full((count, 2), 0.5)
    temp_k = start_k.copy()
    solved = np.zeros(count, dtype=np.bool_)
    left = np.arange(count)
    for _ in range(30):
        if not len(left):
            break
        t, ys, share = temp_k[left], [y[left] for y in xs], amounts[left]
        looks = [look_many(system, n, t, y) for n, y in zip(names, ys, strict=True)]
        frees = [_free(y) for y in ys]
        matrix = np.zeros((len(left), 3 * size, 3 * size))
        right = np.zeros((len(left), 3 * size))
        _balance_rows(matrix, right, x[left], ys, frees, share)
        _potential_rows(matrix, right, looks, frees, system.gas_j_molk, t)
        step = _solve(matrix, right)
        most = np.abs(step).max(axis=1)
        rise = step[:, -1]
        held = np.minimum(1 / np.maximum(most, 1), 0.06 / np.maximum(np.abs(rise), 1e-30))
        held = np.minimum(held, 1.0)
        rows = np.arange(len(left))[:, None]
        for p in range(3):
            moves = np.zeros((len(left), size))
            moves[rows, frees[p]] = held[:, None] * step[:, p * size : p * size + size - 1]
            xs[p][left] = shifted_many(ys[p], moves)
            if p < 2:
                share[:, p] += held * step[:, p * size + size - 1]
        temp_k[left] = np.clip(t * (1 + held * rise), 200.0, 3500.0)
        amounts[left] = np.clip(share, -50, 50)
        done = (np.abs(right).max(axis=1) < 1e-6) & (most < 1e-6)
        solved[left[done]] = True
        # A row whose solid has run away to nothing will not come back.
        lost = (np.abs(share) > 20).any(axis=1)
        left = left[~(done | lost)]
    apart = np.abs(xs[0] - xs[1]).max(axis=1) > 1e-3
    return temp_k, xs, amounts, solved & apart


def _balance_rows(
    matrix: Array, right: Array, x: Array, xs: list[Array], frees: list[Index], amounts: Array
) -> None:
    """The two solids hold the alloy."""
    count, size = x.shape
    rows = np.arange(count)
    for p in range(2):
        y, first = xs[p], p * size
        for c in range(size - 1):
            k = frees[p][:, c]
            change = -y * y[rows, k][:, None]
            change[rows, k] += y[rows, k]
            matrix[:, :size, first + c] = amounts[:, p, None] * change
        matrix[:, :size, first + size - 1] = y
    right[:, :size] = x - amounts[:, 0, None] * xs[0] - amounts[:, 1, None] * xs[1]


def _potential_rows(
    matrix: Array,
    right: Array,
    looks: list[LookMany],
    frees: list[Index],
    gas_j_molk: float,
    temp_k: Array,
) -> None:
    """The second solid and the liquid have the potentials of the first; last column: ln T."""
    count, size = looks[0].mu.shape
    rows = np.arange(count)
    rt = (gas_j_molk * temp_k)[:, None]
    for p in (1, 2):
        at = slice(p * size, (p + 1) * size)
        for q, sign in ((0, 1.0), (p, -1.0)):
            for c in range(size - 1):
                column = looks[q].slope[rows, :, frees[q][:, c]] / rt
                matrix[:, at, q * size + c] += sign * column
        matrix[:, at, -1] = (looks[0].mu_t - looks[p].mu_t) / gas_j_molk
        right[:, at] = (looks[p].mu - looks[0].mu) / rt
