"""The answer to a blend question: solve, weigh out, check again, say why."""

from __future__ import annotations

import dataclasses

from lemel.blend.answer import heat_blend
from lemel.blend.charge import cost
from lemel.blend.faces import BlendAnswer, BlendProblem
from lemel.blend.heal import heals, say, worth_saying
from lemel.blend.judge import judge
from lemel.blend.search import find
from lemel.blend.weigh import weigh_out
from lemel.tables import Tables
from lemel.values import Objection, Proof, Saying, Watch, quiet

__all__ = ["do"]


def do(problem: BlendProblem, *, tables: Tables | None = None, watch: Watch = quiet) -> BlendAnswer:
    """Which lots with which additions make which heat at least cost, and how sure that is."""
    del tables  # the problem carries every figure
    judge(problem)
    found = find(problem, watch)
    if not found.plan:
        return _impossible(problem, found.proof, watch)
    plan, on_steps = weigh_out(problem, found.plan)
    total = cost(problem, plan)
    bound = found.proof.bound if found.proof.bound is not None else total
    proof = dataclasses.replace(
        found.proof, cost=total, gap=max(0.0, (total - bound) / max(abs(total), 1e-9))
    )
    objections = () if on_steps else (
        Objection("blend.weighing.no_steps", problem.heats[0].id, "note"),
    )  # fmt: skip
    heats = tuple(heat_blend(problem, charged) for charged in plan)
    return BlendAnswer(proof.status, total, heats, proof, objections=objections)


def _impossible(problem: BlendProblem, proof: Proof, watch: Watch) -> BlendAnswer:
    if proof.stopped_by != "proof":
        said = Saying("blend.none_found", {"stopped_by": proof.stopped_by})
        return BlendAnswer("infeasible", None, (), proof, (said,))
    found = heals(problem, watch) if problem.options.explain else ()
    head = Saying("blend.infeasible.heals" if found else "blend.infeasible.no_single_change")
    return BlendAnswer(
        "infeasible", None, (), proof, (head, *map(say, worth_saying(found))), heals=found
    )
