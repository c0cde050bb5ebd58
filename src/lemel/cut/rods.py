"""Exact cutting of wire and strip: which piece from which rod, remnants before new stock."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from lemel.solve import Program, Row, Variable, solve
from lemel.values import Proof, Watch, quiet

__all__ = ["PATTERNS_MOST", "Length", "Rod", "RodPlan", "cut_rods"]

#: Beyond this many ways to fill a rod only the likely ones are tried, and the proof says so.
PATTERNS_MOST = 6_000
_EPS = 1e-9


@dataclass(frozen=True, slots=True)
class Length:
    """A piece to be cut to length; `rods` are the keys of those that may serve (None: all)."""

    key: str
    length_mm: float
    rods: frozenset[str] | None = None


@dataclass(frozen=True, slots=True)
class Rod:
    """A wire or strip with its usable length; `new` is False for a remnant."""

    key: str
    usable_mm: float
    new: bool = True


@dataclass(frozen=True, slots=True)
class RodPlan:
    """Pieces by rod, in the order of cutting, what found no rod, and how sure it is."""

    cuts: Mapping[str, tuple[str, ...]]
    left_out: tuple[str, ...]
    proof: Proof


@dataclass(frozen=True, slots=True)
class _Kind:
    """Pieces that are alike, or rods that are alike; `serves` lists the kinds of piece."""

    keys: tuple[str, ...]
    size: float
    new: bool = False
    serves: frozenset[int] = frozenset()


@dataclass(slots=True)
class _Model:
    pieces: list[_Kind]
    rods: list[_Kind]
    patterns: list[tuple[int, tuple[int, ...]]] = field(default_factory=list)
    complete: bool = True


def cut_rods(
    pieces: Sequence[Length],
    rods: Sequence[Rod],
    *,
    kerf_mm: float = 0.0,
    seed: int = 1,
    watch: Watch = quiet,
) -> RodPlan:
    """Cut the pieces from the rods, best in this order of wishes, each proven.

    First as much length as possible is cut at all; then as little as possible comes from
    new stock; then the least length of new rods is begun, and last the least length of
    remnants. A rod of n pieces loses n - 1 kerfs, and one more where an end remains.
    All ways to fill a rod that leave no room for a further piece enter one whole-number
    program (P. C. Gilmore and R. E. Gomory, Operations Research 9 (1961) 849-859, from
    memory); with more than `PATTERNS_MOST` ways the answer is only "feasible".

    The proof's cost is the length of the rods that are begun, mm.
    """
    if not pieces:
        return RodPlan({}, (), Proof("optimal", 0.0, 0.0, 0.0, seed=seed))
    model = _model(pieces, rods)
    easy = _first_fit(model, kerf_mm) if len(model.rods) == 1 else None
    if easy is not None and len(model.rods[0].keys) == 1:
        return _plan(model, easy, Proof("optimal", 0.0, 0.0, 0.0, seed=seed), kerf_mm)
    for at, kind in enumerate(model.rods):
        fills, whole = _fills(model.pieces, kind, kerf_mm)
        model.patterns += [(at, fill) for fill in fills]
        model.complete = model.complete and whole
    return _solve_levels(model, kerf_mm, seed, watch)


def _model(pieces: Sequence[Length], rods: Sequence[Rod]) -> _Model:
    by_piece: dict[tuple[float, frozenset[str] | None], list[str]] = {}
    for piece in pieces:
        by_piece.setdefault((round(piece.length_mm, 6), piece.rods), []).append(piece.key)
    longest_first = sorted(
        by_piece.items(), key=lambda kind: (-kind[0][0], sorted(kind[0][1] or ()))
    )
    by_rod: dict[tuple[bool, float, frozenset[int]], list[str]] = {}
    for rod in rods:
        serves = frozenset(
            t
            for t, ((length, only), _) in enumerate(longest_first)
            if (only is None or rod.key in only) and length <= rod.usable_mm + 1e-6
        )
        if serves:
            by_rod.setdefault((rod.new, round(rod.usable_mm, 6), serves), []).append(rod.key)
    return _Model(
        [_Kind(tuple(keys), size) for (size, _), keys in longest_first],
        [
            _Kind(tuple(keys), size, new, serves)
            for (new, size, serves), keys in sorted(
                by_rod.items(), key=lambda kind: (kind[0][0], kind[0][1], sorted(kind[0][2]))
            )
        ],
    )


def _first_fit(model: _Model, kerf: float) -> list[tuple[int, tuple[int, ...]]] | None:
    """All pieces on one rod, if they go."""
    rod = model.rods[0]
    total = sum((piece.size + kerf) * len(piece.keys) for piece in model.pieces)
    if len(rod.serves) == len(model.pieces) and total <= rod.size + kerf + 1e-6:
        return [(0, tuple(len(piece.keys) for piece in model.pieces))]
    return None


def _fills(pieces: list[_Kind], rod: _Kind, kerf: float) -> tuple[list[tuple[int, ...]], bool]:
    """Ways to fill a rod that leave no room for one more piece; False if there were too many."""
    sizes = [piece.size + kerf if t in rod.serves else math.inf for t, piece in enumerate(pieces)]
    found: list[tuple[int, ...]] = []
    walk = _walk(sizes, [len(piece.keys) for piece in pieces], rod.size + kerf + 1e-6, 0, ())
    for fill in walk:
        found.append(fill)
        if len(found) > PATTERNS_MOST:
            return found[:PATTERNS_MOST], False
    return [fill for fill in found if any(fill)], True


def _walk(
    sizes: list[float], wanted: list[int], room: float, at: int, fill: tuple[int, ...]
) -> Iterator[tuple[int, ...]]:
    if at == len(sizes):
        more = any(
            have < want and size <= room
            for size, want, have in zip(sizes, wanted, fill, strict=True)
        )
        if not more:
            yield fill
        return
    most = 0 if math.isinf(sizes[at]) else min(wanted[at], int(room / sizes[at] + _EPS))
    for count in range(most, -1, -1):
        left = room - (count * sizes[at] if count else 0.0)
        yield from _walk(sizes, wanted, left, at + 1, (*fill, count))


def _solve_levels(model: _Model, kerf: float, seed: int, watch: Watch) -> RodPlan:
    """Each wish in turn, with the better ones held."""
    levels = _levels(model)
    held: list[tuple[list[tuple[int, float]], float]] = []
    x: tuple[float, ...] = ()
    sure, work = model.complete, 0
    for terms in levels:
        answer = solve(
            _program(model, terms, held), gap=1e-9, seed=seed, watch=watch,
            start=x or None, work_most=400_000,
        )  # fmt: skip
        work += answer.proof.work
        if not answer.x:
            sure = False
            break
        sure = sure and answer.proof.status == "optimal"
        x = answer.x
        held.append((terms, sum(weight * round(x[i]) for i, weight in terms)))
    chosen = [
        (model.patterns[i][0], model.patterns[i][1])
        for i in range(len(model.patterns))
        for _ in range(round(x[i]) if x else 0)
    ]
    status = "optimal" if sure else "feasible"
    stopped = "proof" if sure else "work"
    return _plan(model, chosen, Proof(status, 0.0, None, None, work, stopped, seed), kerf)


def _levels(model: _Model) -> list[list[tuple[int, float]]]:
    """The wishes as costs on the columns: left out, from new, new begun, remnants begun."""
    ways, kinds = len(model.patterns), len(model.pieces)
    sizes = [piece.size for piece in model.pieces]
    left_out = [(ways + 2 * kinds + t, sizes[t]) for t in range(kinds)]
    from_new = [(ways + t, sizes[t]) for t in range(kinds)]
    begun = {
        new: [
            (i, model.rods[at].size)
            for i, (at, _) in enumerate(model.patterns)
            if model.rods[at].new is new
        ]
        for new in (True, False)
    }
    levels = [left_out]
    if begun[True] and begun[False]:
        levels.append(from_new)
    return levels + [terms for terms in (begun[True], begun[False]) if terms]


def _program(
    model: _Model,
    costs: list[tuple[int, float]],
    held: list[tuple[list[tuple[int, float]], float]],
) -> Program:
    """Columns: rods filled one way; pieces from new, from remnants, left out."""
    ways, kinds = len(model.patterns), len(model.pieces)
    cost = dict(costs)
    columns = [
        Variable(f"fill{i}", 0, len(model.rods[at].keys), cost.get(i, 0.0), True)
        for i, (at, _) in enumerate(model.patterns)
    ]
    for group, name in enumerate(("new", "remnant", "out")):
        for t, piece in enumerate(model.pieces):
            i = ways + group * kinds + t
            columns.append(
                Variable(f"{name}{t}", 0, len(piece.keys), cost.get(i, 0.0), name == "out")
            )
    rows = []
    for t, piece in enumerate(model.pieces):
        parts = tuple((ways + group * kinds + t, 1.0) for group in range(3))
        rows.append(Row(f"all{t}", parts, len(piece.keys), len(piece.keys)))
        for group, new in ((0, True), (1, False)):
            made = tuple(
                (i, -float(fill[t]))
                for i, (at, fill) in enumerate(model.patterns)
                if fill[t] and model.rods[at].new is new
            )
            rows.append(Row(f"made{group}-{t}", ((ways + group * kinds + t, 1.0), *made), hi=0.0))
    for at, rod in enumerate(model.rods):
        used = tuple((i, 1.0) for i, (own, _) in enumerate(model.patterns) if own == at)
        if used:
            rows.append(Row(f"rods{at}", used, hi=float(len(rod.keys))))
    rows += [
        Row(f"held{n}", tuple(terms), hi=most + 1e-6 * max(1.0, most))
        for n, (terms, most) in enumerate(held)
    ]
    return Program(tuple(columns), tuple(rows))


def _plan(
    model: _Model, chosen: list[tuple[int, tuple[int, ...]]], proof: Proof, kerf: float
) -> RodPlan:
    """Names for the pieces and rods of the chosen fills, remnants served first."""
    waiting = [list(piece.keys) for piece in model.pieces]
    free = [list(rod.keys) for rod in model.rods]
    cuts: dict[str, tuple[str, ...]] = {}
    begun = 0.0
    for at, fill in sorted(
        chosen, key=lambda way: (model.rods[way[0]].new, model.rods[way[0]].size)
    ):
        names: list[str] = []
        for t, count in enumerate(fill):
            names += waiting[t][:count]
            del waiting[t][:count]
        if names:
            cuts[free[at].pop(0)] = tuple(names)
            begun += model.rods[at].size
    left_out = tuple(key for keys in waiting for key in keys)
    status = proof.status
    bound = begun if status == "optimal" else _material_mm(model, left_out, kerf)
    gap = (begun - bound) / max(begun, 1e-9)
    return RodPlan(
        cuts, left_out,
        Proof(status, begun, bound, gap, proof.work, proof.stopped_by, proof.seed, "own patterns"),
    )  # fmt: skip


def _material_mm(model: _Model, left_out: tuple[str, ...], kerf: float) -> float:
    """Length that no plan can go below: the pieces with their kerfs, less one kerf a rod."""
    skipped = set(left_out)
    total = sum(
        (piece.size + kerf) * sum(key not in skipped for key in piece.keys)
        for piece in model.pieces
    )
    return max(0.0, total - kerf * sum(len(rod.keys) for rod in model.rods))
