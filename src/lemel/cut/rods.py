"""Exact cutting of wire and strip: which piece from which rod, remnants before new stock."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from lemel.cut.rod_models import (
    FILLS_MOST,
    ByFills,
    ByRods,
    Fill,
    Kind,
    Model,
    Question,
    fills_of,
)  # fmt: skip
from lemel.solve import Program, Row, solve
from lemel.values import Proof, Watch, quiet

__all__ = ["Length", "Rod", "RodPlan", "cut_rods"]

#: A wish counts as fulfilled when no plan does better by more than this.
CLOSE_MM = 0.49
#: Effort a wish may take, in the solver's units times columns: a few seconds at most.
_EFFORT = 2_500_000
_WORK_MOST = 60_000


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


def cut_rods(
    pieces: Sequence[Length],
    rods: Sequence[Rod],
    *,
    kerf_mm: float = 0.0,
    seed: int = 1,
    watch: Watch = quiet,
) -> RodPlan:
    """Cut the pieces from the rods, best in this order of wishes, each proven to CLOSE_MM.

    First as much length as possible is cut at all; then as little as possible comes from
    new stock; then the least length of new rods is begun, and last the least length of
    remnants. A rod of n pieces loses n - 1 kerfs, and one more where an end remains.

    Two whole-number programs say the same; the smaller one is solved. Where few pieces
    go on a rod, every way to fill one is a column (P. C. Gilmore and R. E. Gomory,
    Operations Research 9 (1961) 849-859, from memory); else each rod counts its pieces.
    When the work limit is reached first, the answer is "feasible", with the length of the
    metal itself as the bound. The proof's cost is the length of the rods begun, mm.

    >>> plan = cut_rods([Length("a", 40), Length("b", 30)], [Rod("new", 500), Rod("r", 71, False)])
    >>> dict(plan.cuts), plan.proof.status
    ({'r': ('a', 'b')}, 'optimal')
    """
    if not pieces:
        return RodPlan({}, (), Proof("optimal", 0.0, 0.0, 0.0, seed=seed))
    model = _model(pieces, rods, kerf_mm)
    first = _best_fit(model)
    if not model.rods or _one_rod_for_all(model):
        return _plan(model, first, Proof("optimal", 0.0, None, None, seed=seed))
    fills = [fills_of(model, at) for at in range(len(model.rods))]
    few = sum(len(ways) for ways in fills) <= FILLS_MOST
    question: Question = ByFills(model, fills) if few else ByRods(model)
    return _ask(model, question, first, seed, watch)


def _model(pieces: Sequence[Length], rods: Sequence[Rod], kerf: float) -> Model:
    by_piece: dict[tuple[float, frozenset[str] | None], list[str]] = {}
    for piece in pieces:
        by_piece.setdefault((round(piece.length_mm, 6), piece.rods), []).append(piece.key)
    kinds = sorted(by_piece.items(), key=lambda kind: (-kind[0][0], sorted(kind[0][1] or ())))
    by_rod: dict[tuple[bool, float, frozenset[int]], list[str]] = {}
    for rod in rods:
        serves = frozenset(
            t
            for t, ((length, only), _) in enumerate(kinds)
            if (only is None or rod.key in only) and length <= rod.usable_mm + 1e-6
        )
        if serves:
            by_rod.setdefault((rod.new, round(rod.usable_mm, 6), serves), []).append(rod.key)
    stock = sorted(by_rod.items(), key=lambda kind: (*kind[0][:2], sorted(kind[0][2])))
    return Model(
        tuple(Kind(tuple(keys), size) for (size, _), keys in kinds),
        tuple(Kind(tuple(keys), size, new, serves) for (new, size, serves), keys in stock),
        kerf,
    )


def _one_rod_for_all(model: Model) -> bool:
    """One rod, and everything goes on it: there is nothing to choose."""
    rod = model.rods[0]
    total = sum((piece.size + model.kerf) * len(piece.keys) for piece in model.pieces)
    alone = len(model.rods) == 1 and len(rod.keys) == 1
    return alone and len(rod.serves) == len(model.pieces) and total <= model.room(0)


def _best_fit(model: Model) -> list[Fill]:
    """A plan by hand: longest piece first, where it leaves the least; remnants before new."""
    wanted = [len(piece.keys) for piece in model.pieces]
    return _packed(model, wanted, [len(rod.keys) for rod in model.rods])


def _trimmed(model: Model, plan: list[Fill]) -> list[Fill]:
    """The plan without the pieces that nobody ordered, remnants served first."""
    waiting = [len(piece.keys) for piece in model.pieces]
    kept = []
    for at, fill in sorted(plan, key=lambda way: (model.rods[way[0]].new, way[0], way[1])):
        counts = tuple(min(count, left) for count, left in zip(fill, waiting, strict=True))
        waiting = [left - count for left, count in zip(waiting, counts, strict=True)]
        if any(counts):
            kept.append((at, counts))
    return kept


def _tidied(model: Model, plan: list[Fill]) -> list[Fill]:
    """The same pieces from new stock, packed again by hand if that begins less of it."""
    old = [(at, fill) for at, fill in plan if model.rods[at].new]
    wanted = [sum(fill[t] for _, fill in old) for t in range(len(model.pieces))]
    new = _packed(model, wanted, [len(rod.keys) if rod.new else 0 for rod in model.rods])
    placed = [sum(fill[t] for _, fill in new) for t in range(len(model.pieces))]

    def begun(fills: list[Fill]) -> float:
        return sum(model.rods[at].size for at, _ in fills)

    if placed != wanted or begun(new) >= begun(old):
        return plan
    return [fill for fill in plan if not model.rods[fill[0]].new] + new


def _packed(model: Model, wanted: list[int], unused: list[int]) -> list[Fill]:
    begun: list[tuple[int, float, list[int]]] = []
    for t, piece in enumerate(model.pieces):
        size = piece.size + model.kerf
        for _ in range(wanted[t]):
            best: tuple[tuple[bool, bool, float], int | None, int] | None = None
            for i, (at, room, _) in enumerate(begun):
                if t in model.rods[at].serves and size <= room:
                    key = (model.rods[at].new, False, room - size)
                    if best is None or key < best[0]:
                        best = (key, i, at)
            for at, rod in enumerate(model.rods):
                if unused[at] and t in rod.serves:
                    key = (rod.new, True, model.room(at) - size)
                    if best is None or key < best[0]:
                        best = (key, None, at)
            if best is None:
                continue
            _, chosen, at = best
            if chosen is None:
                unused[at] -= 1
                begun.append((at, model.room(at), [0] * len(model.pieces)))
                chosen = len(begun) - 1
            begun[chosen][2][t] += 1
            begun[chosen] = (at, begun[chosen][1] - size, begun[chosen][2])
    return [(at, tuple(counts)) for at, _, counts in begun]


def _ask(model: Model, question: Question, first: list[Fill], seed: int, watch: Watch) -> RodPlan:
    """Each wish in turn, with the better ones held."""
    rows = list(question.rows)
    x = question.point(first)
    sure, work = True, 0
    for number, terms in enumerate(question.wishes):
        now = sum(weight * x[i] for i, weight in terms)
        cost = dict(terms)
        columns = tuple(
            replace(column, cost=cost.get(i, 0.0)) for i, column in enumerate(question.columns)
        )
        answer = solve(
            Program(columns, tuple(rows)),
            gap=CLOSE_MM / max(now, 1.0),
            work_most=min(_WORK_MOST, _EFFORT // len(columns)),
            seed=seed,
            watch=watch,
            start=x,
        )
        work += answer.proof.work
        if answer.x and sum(weight * answer.x[i] for i, weight in terms) <= now + 1e-6:
            x = answer.x
        x = question.point(_tidied(model, _trimmed(model, question.fills(x))))
        sure = sure and answer.proof.status == "optimal"
        reached = sum(weight * x[i] for i, weight in terms)
        rows.append(Row(f"wish{number}", tuple(terms), hi=reached + 1e-6 * max(1.0, reached)))
    proof = Proof(
        "optimal" if sure else "feasible", 0.0, None, None, work,
        "proof" if sure else "work", seed,
    )  # fmt: skip
    return _plan(model, _trimmed(model, question.fills(x)), proof)


def _plan(model: Model, chosen: list[Fill], proof: Proof) -> RodPlan:
    """Names for the pieces and rods of the chosen fills."""
    waiting = [list(piece.keys) for piece in model.pieces]
    free = [list(rod.keys) for rod in model.rods]
    cuts: dict[str, tuple[str, ...]] = {}
    for at, fill in chosen:
        names: list[str] = []
        for t, count in enumerate(fill):
            names += waiting[t][:count]
            del waiting[t][:count]
        cuts[free[at].pop(0)] = tuple(names)
    begun = sum(model.rods[at].size for at, _ in chosen)
    left_out = tuple(key for keys in waiting for key in keys)
    placed = sum(
        piece.size * (len(piece.keys) - len(left))
        for piece, left in zip(model.pieces, waiting, strict=True)
    )
    bound = begun if proof.status == "optimal" else placed
    gap = (begun - bound) / max(begun, 1e-9)
    return RodPlan(cuts, left_out, replace(proof, cost=begun, bound=bound, gap=gap))
