"""From a problem to an exact plan with its bound: alone, jointly, or in independent parts.

Heats that share no lot, no scarce addition and no demand are separate questions. One heat,
or few heats of few lots, are solved jointly to the proof. More are dealt, bounded, improved
heat by heat and pair by pair, and (where there are not too many choices) given to the joint
search with the improved plan to begin with.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from lemel.blend.admit import bar_of_addition, bar_of_lot
from lemel.blend.bounds import even_bound, joint_bound
from lemel.blend.build import build
from lemel.blend.charge import Charged
from lemel.blend.faces import BlendProblem
from lemel.blend.improve import Improver, deal
from lemel.blend.parts import Part, part, point
from lemel.blend.watching import Floor, Share
from lemel.blend.weigh import read
from lemel.solve import solve, solver_name
from lemel.values import Proof, Watch

__all__ = ["Found", "find", "first_plan", "independent"]

#: Lots times heats up to which the joint search alone goes to the proof in seconds.
JOINT_ALONE = 80
#: Work of a first joint try in between, before improving.
QUICK_WORK = 120_000
#: And up to which it may still close a gap that improving leaves.
JOINT_AFTER = 200
JOINT_RUN_WORK = 6_000
#: Share of the work that improving may use where a joint search follows.
IMPROVE_SHARE = 0.3


@dataclass(frozen=True, slots=True)
class Found:
    """An exact plan (empty if none) with its proof."""

    plan: tuple[Charged, ...]
    proof: Proof


def find(problem: BlendProblem, watch: Watch) -> Found:
    """The cheapest plan that the work allows, and how far from the best it can be."""
    groups = independent(problem)
    if len(groups) == 1:
        return _together(problem, watch)
    founds: list[tuple[Part, Found]] = []
    for k, heats in enumerate(groups):
        piece = part(problem, [], heats, _candidates(problem, heats))
        found = _together(piece.problem, Share(watch, k, len(groups)))
        if not found.plan:
            return found
        founds.append((piece, found))
    plan = [piece.outside(charged) for piece, found in founds for charged in found.plan]
    plan.sort(key=lambda charged: charged.heat)
    return Found(tuple(plan), _summed([found.proof for _, found in founds], problem))


def independent(problem: BlendProblem) -> list[list[int]]:
    """Groups of heats that have no lot, scarce addition or demand in common."""
    leader = list(range(len(problem.heats)))

    def lead(h: int) -> int:
        while leader[h] != h:
            h = leader[h]
        return h

    def join(heats: Sequence[int]) -> None:
        for h in heats[1:]:
            leader[lead(h)] = lead(heats[0])

    for lot in problem.lots:
        join([h for h, heat in enumerate(problem.heats) if bar_of_lot(lot, heat) is None])
    for addition in problem.additions:
        if addition.stock_g is not None:
            join([h for h, o in enumerate(problem.heats) if bar_of_addition(addition, o) is None])
    for demand in problem.demands:
        join([h for h, heat in enumerate(problem.heats) if heat.id in demand.heats])
    groups: dict[int, list[int]] = {}
    for h in range(len(problem.heats)):
        groups.setdefault(lead(h), []).append(h)
    return sorted(groups.values())


def first_plan(problem: BlendProblem, watch: Watch) -> list[Charged] | None:
    """A quick plan for several heats, without any proof."""
    guide = even_bound(problem, watch)
    return None if guide is None else deal(problem, guide.use, watch)


def _candidates(problem: BlendProblem, heats: Sequence[int]) -> list[int]:
    return [
        i
        for i, lot in enumerate(problem.lots)
        if any(bar_of_lot(lot, problem.heats[h]) is None for h in heats)
    ]


def _together(problem: BlendProblem, watch: Watch) -> Found:
    choices = sum(len(_candidates(problem, [h])) for h in range(len(problem.heats)))
    if len(problem.heats) == 1 or choices <= JOINT_ALONE:
        return _jointly(problem, watch, None, problem.options.work_most)
    plan = first_plan(problem, watch)
    if plan is None:
        return _jointly(problem, watch, None, problem.options.work_most)
    if choices > JOINT_AFTER:
        return _improved(problem, plan, watch, None)
    quick = _jointly(problem, watch, plan, min(QUICK_WORK, problem.options.work_most))
    if quick.proof.status == "optimal" or (quick.plan and watch.cancelled()):
        return quick
    return _improved(problem, list(quick.plan) or plan, watch, quick.proof)


def _improved(
    problem: BlendProblem, plan: list[Charged], watch: Watch, before: Proof | None
) -> Found:
    options = problem.options
    bounded = joint_bound(problem, plan, watch)
    lower = bounded.cost if bounded is not None else float("-inf")
    spent = bounded.work if bounded is not None else 0
    joint = before is not None
    if before is not None:
        spent += before.work
        lower = max(lower, before.bound if before.bound is not None else lower)
    improver = Improver(problem, plan, watch)
    watch.tell(0.0, improver.cost, lower if bounded is not None else None)
    stopped = improver.run(int(options.work_most * (IMPROVE_SHARE if joint else 1.0)), lower)
    spent += improver.work
    best, cost = improver.plan, improver.cost
    if joint and stopped == "work" and not watch.cancelled():
        found = _jointly(problem, Floor(watch, lower), best, max(1, options.work_most - spent))
        spent += found.proof.work
        stopped = found.proof.stopped_by
        lower = max(lower, found.proof.bound if found.proof.bound is not None else lower)
        if found.plan and found.proof.cost is not None and found.proof.cost < cost:
            best, cost = list(found.plan), found.proof.cost
        solver = found.proof.solver
    else:
        solver = solver_name()
    bound = lower if math.isfinite(lower) else None
    gap = None if bound is None else max(0.0, (cost - bound) / max(abs(cost), 1e-9))
    closed = gap is not None and gap <= options.gap
    proof = Proof(
        "optimal" if closed else "feasible", cost, bound, gap, spent,
        "proof" if closed else stopped, options.seed, solver,
    )  # fmt: skip
    return Found(tuple(best), proof)


def _jointly(
    problem: BlendProblem, watch: Watch, plan: Sequence[Charged] | None, work_most: int
) -> Found:
    built, options = build(problem), problem.options
    start = None if plan is None else point(problem, built, plan)
    quick = plan is None or work_most <= QUICK_WORK
    run_work = None if quick else JOINT_RUN_WORK
    solution = solve(
        built.program, gap=options.gap, work_most=work_most, seed=options.seed, watch=watch,
        twins=built.twins, start=start, run_work=run_work,
    )  # fmt: skip
    if not solution.x:
        return Found((), solution.proof)
    return Found(tuple(read(problem, built, solution.x)), solution.proof)


def _summed(proofs: Sequence[Proof], problem: BlendProblem) -> Proof:
    cost = sum(proof.cost or 0.0 for proof in proofs)
    bounds = [proof.bound for proof in proofs if proof.bound is not None]
    bound = sum(bounds) if len(bounds) == len(proofs) else None
    gap = None if bound is None else max(0.0, (cost - bound) / max(abs(cost), 1e-9))
    late = [proof.stopped_by for proof in proofs if proof.stopped_by != "proof"]
    closed = (gap is not None and gap <= problem.options.gap) or not late
    return Proof(
        "optimal" if closed else "feasible", cost, bound, gap, sum(p.work for p in proofs),
        "proof" if closed else late[0], problem.options.seed, proofs[0].solver,
    )  # fmt: skip
