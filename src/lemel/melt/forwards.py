"""How a heat is run: the face of the melt room."""

from __future__ import annotations

import math

from lemel.errors import BadInput, Stopped
from lemel.melt.by_furnace import by_furnace
from lemel.melt.by_torch import by_torch
from lemel.melt.choose import choose_pot
from lemel.melt.faces import MeltPlan, MeltProblem
from lemel.melt.fills import BATH_LEAST
from lemel.melt.refuse import refused
from lemel.tables import Tables, shipped
from lemel.values import Objection, Quantity, Saying, SayingValue, Watch, quiet

__all__ = ["SEQUENCES", "do"]

SEQUENCES = ("third", "full")
CONDITIONS = ("dry", "damp", "closed")


def do(problem: MeltProblem, *, tables: Tables | None = None, watch: Watch = quiet) -> MeltPlan:
    """The heat from first filling to cold pot: fillings, setpoint, steps, curve, loss, cautions.

    With furnace, pot and torch given the method follows `choose_pot`; with one fire only,
    that one. Mass put in = poured + loss + residue: `loss_g` is expected, the pot keeps
    `held_g`. Raises BadInput for figures that cannot be; what may not or cannot be done is an
    answer with status "infeasible" and the way out in `objections`.
    """
    tables = tables or shipped()
    _check(problem)
    if watch.cancelled():
        raise Stopped("stopped before the heat was worked out")
    furnace, pot, torch = problem.furnace, problem.crucible, problem.torch
    if furnace is not None and pot is not None:
        dishes = [] if torch is None else [torch]
        choice = choose_pot(
            problem.charge, [furnace], [pot], dishes, problem.family,
            seen={} if problem.inspection is None else {pot.id: problem.inspection}, tables=tables,
        )  # fmt: skip
        if choice.method != "torch":
            return by_furnace(problem, furnace, pot, tables)
    if torch is not None:
        return by_torch(problem, torch, tables)
    code = "melt.no_fire" if furnace is None else "melt.no_pot"
    values: dict[str, SayingValue] = {
        "mass": Quantity(problem.charge.mass_g, "g"),
        "family": problem.family,
    }
    way = Saying("melt.way.get_pot", {"family": problem.family})
    stop = Objection(code, problem.charge.heat, "stop", values, way)
    return refused(problem, "furnace", [stop], tables)


def _check(problem: MeltProblem) -> None:
    if not problem.charge.lines:
        raise BadInput("charge.lines", (), "at least one lot or addition", "Weigh in a lot.")
    if not 100 < problem.pour_at_c < 2000:
        raise BadInput(
            "pour_at_c", problem.pour_at_c, "100 to 2000 degC", "Ask the pour how hot it must be."
        )
    for name in ("ambient_c", "start_c"):
        value = getattr(problem, name)
        if not (math.isfinite(value) and -30 <= value <= 1300):
            raise BadInput(name, value, "-30 to 1300 degC", "Give the temperature in degC.")
    for name, allowed in (("sequence", SEQUENCES), ("bath_least", BATH_LEAST)):
        value = getattr(problem, name)
        if value not in allowed:
            raise BadInput(name, value, ", ".join(allowed), "Use one of these words.")
    for body, state in problem.condition.items():
        if state not in CONDITIONS:
            raise BadInput(
                f"condition.{body}", state, ", ".join(CONDITIONS), "Use one of these words."
            )
