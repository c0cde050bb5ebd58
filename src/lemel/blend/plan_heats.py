"""The answer to a blend question: solve, weigh out, check again, say why."""

from __future__ import annotations

import dataclasses
import math

from lemel.blend.answer import heat_blend
from lemel.blend.charge import Charged, cost
from lemel.blend.explain import binding, left_out, margin_shares
from lemel.blend.faces import BlendAnswer, BlendProblem
from lemel.blend.heal import heals, say, worth_saying
from lemel.blend.judge import judge
from lemel.blend.search import Found, find, first_plan
from lemel.blend.together import heal_together
from lemel.blend.weigh import weigh_out
from lemel.blend.whole_plan import all_together, per_heat
from lemel.solve import solver_name
from lemel.tables import Tables
from lemel.values import Objection, Proof, Quantity, Saying, Watch, quiet

__all__ = ["do", "preview"]

PREVIEW_GAP = 5e-3
PREVIEW_WORK = 4_000


def do(problem: BlendProblem, *, tables: Tables | None = None, watch: Watch = quiet) -> BlendAnswer:
    """Which lots with which additions make which heat at least cost, and how sure that is.

    `tables` gives the assay's spread for "what if this lot were assayed"; all else is in
    the problem. A problem that cannot be solved is an answer with its remedies; one that
    cannot be meant raises BadInput.
    """
    judge(problem)
    shared_out, problem = problem.promise_per == "plan", per_heat(problem)
    found = find(problem, watch)
    if not found.plan:
        return _impossible(problem, found.proof, watch, tables)
    plan, on_steps = weigh_out(problem, found.plan)
    total = cost(problem, plan)
    bound = found.proof.bound
    gap = None if bound is None else max(0.0, (total - bound) / max(abs(total), 1e-9))
    proof = dataclasses.replace(found.proof, cost=total, gap=gap)
    objections = () if on_steps else (
        Objection("blend.weighing.no_steps", problem.heats[0].id, "note"),
    )  # fmt: skip
    said = _why(problem, plan, watch) if problem.options.explain else ()
    together = all_together(problem, plan)
    if shared_out and together is not None:
        said = (_whole_promise(problem, plan, together), *said)
    heats = tuple(heat_blend(problem, charged) for charged in plan)
    return BlendAnswer(proof.status, total, heats, proof, said, objections, together=together)


def preview(problem: BlendProblem, *, watch: Watch = quiet) -> BlendAnswer:
    """A sound plan at once, without proof: to be shown while `do` searches.

    One heat: a loose gap and little work. Several: dealt pools. `proof.bound` is None unless
    one was found by the way.
    """
    judge(problem)
    problem = per_heat(problem)
    options = dataclasses.replace(
        problem.options, gap=PREVIEW_GAP, work_most=PREVIEW_WORK, explain=False
    )
    loose = dataclasses.replace(problem, options=options)
    if len(problem.heats) == 1:
        found = find(loose, watch)
    else:
        plan = first_plan(loose, watch)
        if plan is None:
            found = find(loose, watch)
        else:
            total = cost(loose, plan)
            proof = Proof("feasible", total, None, None, 0, "work", options.seed, solver_name())
            found = Found(tuple(plan), proof)
    if not found.plan:
        return BlendAnswer("infeasible", None, (), found.proof)
    status = "optimal" if found.proof.status == "optimal" else "feasible"
    heats = tuple(heat_blend(problem, charged) for charged in found.plan)
    return BlendAnswer(status, cost(problem, found.plan), heats, found.proof)


def _why(problem: BlendProblem, plan: list[Charged], watch: Watch) -> tuple[Saying, ...]:
    said = [_margin_saying(problem, charged) for charged in plan if charged.mass_g > 0]
    return (*said, *binding(problem, plan, watch), *left_out(problem, plan, watch))


def _whole_promise(problem: BlendProblem, plan: list[Charged], together: float) -> Saying:
    formed = [charged for charged in plan if charged.mass_g > 0]
    least = min(problem.heats[charged.heat].probability for charged in formed)
    return Saying(
        "blend.promise.together",
        {
            "count": len(formed),
            "each": Quantity(100 * least, "percent"),
            "together": Quantity(100 * together, "percent"),
        },
    )


def _margin_saying(problem: BlendProblem, charged: Charged) -> Saying:
    """What the promise ties up in one heat, and whose doubt costs most."""
    shares = margin_shares(problem, charged)
    worst = max(shares, key=lambda name: shares[name], default="")
    values: dict[str, Quantity | str | int | float] = {
        "heat": problem.heats[charged.heat].id,
        "margin": Quantity(math.fsum(shares.values()), "g"),
        "lot": worst,
        "share": Quantity(shares.get(worst, 0.0), "g"),
    }
    return Saying("blend.margin.tied_up" if worst else "blend.margin.none", values)


def _impossible(
    problem: BlendProblem, proof: Proof, watch: Watch, tables: Tables | None
) -> BlendAnswer:
    if proof.stopped_by != "proof":
        none = Saying("blend.none_found", {"stopped_by": proof.stopped_by})
        return BlendAnswer("infeasible", None, (), proof, (none,))
    if not problem.options.explain:
        head = Saying("blend.infeasible.no_single_change")
        return BlendAnswer("infeasible", None, (), proof, (head,))
    found = heals(problem, watch, tables)
    if found:
        said = (Saying("blend.infeasible.heals"), *map(say, worth_saying(found)))
        return BlendAnswer("infeasible", None, (), proof, said, heals=found)
    sets = heal_together(problem, watch, tables)
    ending = "together" if sets else "no_way"
    lines = [Saying(f"blend.infeasible.{ending}")]
    for k, chosen in enumerate(sets):
        lines += [Saying("blend.infeasible.or")] * (k > 0) + [say(heal) for heal in chosen]
    return BlendAnswer("infeasible", None, (), proof, tuple(lines), heal_sets=sets)
