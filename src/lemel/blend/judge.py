"""A problem that cannot be meant is refused by name before anything is solved."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial

from lemel.blend.faces import BlendAddition, BlendHeat, BlendLot, BlendProblem
from lemel.errors import BadInput, gather
from lemel.values import is_finite, is_fraction, is_id, is_one_of, is_positive, not_negative

__all__ = ["judge"]


def judge(problem: BlendProblem) -> None:
    """Raise one BadInput that carries every fault of the problem."""
    gather(list(_checks(problem)))


def _checks(problem: BlendProblem) -> Iterator[Callable[[], None]]:
    yield partial(_ids_once, "lots", [lot.id for lot in problem.lots])
    yield partial(_ids_once, "additions", [addition.id for addition in problem.additions])
    yield partial(_ids_once, "heats", [heat.id for heat in problem.heats])
    yield partial(_something, "heats", problem.heats)
    yield partial(_something, "lots", (*problem.lots, *problem.additions))
    for k, lot in enumerate(problem.lots):
        yield partial(_lot, f"lots[{k}]", lot)
    for k, addition in enumerate(problem.additions):
        yield partial(_addition, f"additions[{k}]", addition)
    for k, heat in enumerate(problem.heats):
        yield partial(_heat, f"heats[{k}]", heat)
    yield partial(_one_main, problem.heats)
    yield partial(is_one_of, "promise_per", problem.promise_per, ("heat", "plan"))
    yield partial(_enough_heats, problem)
    yield partial(_demands, problem)
    yield partial(not_negative, "age_credit_g_day", problem.age_credit_g_day)
    yield partial(not_negative, "remainder_penalty", problem.remainder_penalty)


def _something(field: str, items: Sequence[object]) -> None:
    if not items:
        raise BadInput(field, [], "at least one", f"List what there is under {field}.")


def _enough_heats(problem: BlendProblem) -> None:
    here, said = len(problem.heats), problem.promise_heats
    if said is not None and said < here:
        raise BadInput(
            "promise_heats", said, f"at least the {here} heats asked for here",
            "Count all heats of the plan.",
        )  # fmt: skip


def _ids_once(group: str, ids: Sequence[str]) -> None:
    for k, one in enumerate(ids):
        is_id(f"{group}[{k}].id", one)
    twice = sorted({one for one in ids if ids.count(one) > 1}) if len(set(ids)) < len(ids) else []
    if twice:
        raise BadInput(f"{group}.id", twice[0], "each id once", "Rename one of the two.")


def _lot(place: str, lot: BlendLot) -> None:
    is_positive(f"{place}.mass_g", lot.mass_g)
    for name in ("own_sd", "value_per_g", "age_days", "min_take_g", "min_remainder_g"):
        not_negative(f"{place}.{name}", getattr(lot, name))
    for factor, loading in lot.loading.items():
        is_finite(f"{place}.loading.{factor}", loading)
    for element, spread in lot.other_sd.items():
        not_negative(f"{place}.other_sd.{element}", spread)
    is_positive(f"{place}.yield_fraction", lot.yield_fraction)
    is_fraction(f"{place}.yield_fraction", lot.yield_fraction)
    is_fraction(f"{place}.doubt", lot.doubt)


def _addition(place: str, addition: BlendAddition) -> None:
    not_negative(f"{place}.sd", addition.sd)
    not_negative(f"{place}.price_per_g", addition.price_per_g)
    if addition.stock_g is not None:
        not_negative(f"{place}.stock_g", addition.stock_g)


def _heat(place: str, heat: BlendHeat) -> None:
    is_fraction(f"{place}.least", heat.least)
    is_finite(f"{place}.probability", heat.probability)
    if not 0.5 <= heat.probability < 1:
        raise BadInput(
            f"{place}.probability", heat.probability, "0.5 up to, but not, 1",
            "Promise at least an even chance, and never certainty.",
        )  # fmt: skip
    not_negative(f"{place}.least_g", heat.least_g)
    is_finite(f"{place}.most_g", heat.most_g)
    if heat.most_g < heat.least_g or heat.most_g <= 0:
        raise BadInput(
            f"{place}.most_g", heat.most_g, f"at least {heat.least_g:g} g", "Widen the window."
        )
    if heat.giveaway_most is not None:
        not_negative(f"{place}.giveaway_most", heat.giveaway_most)
    for element, limit in heat.impurity_most.items():
        not_negative(f"{place}.impurity_most.{element}", limit)
    not_negative(f"{place}.impurity_k", heat.impurity_k)
    not_negative(f"{place}.fixed_cost", heat.fixed_cost)
    for element, (low, high) in heat.shares.items():
        is_fraction(f"{place}.shares.{element}", low)
        is_fraction(f"{place}.shares.{element}", high)
        if low > high:
            raise BadInput(
                f"{place}.shares.{element}", (low, high), "low before high", "Swap the two."
            )


def _one_main(heats: Sequence[BlendHeat]) -> None:
    mains = sorted({heat.main for heat in heats})
    if len(mains) > 1:
        raise BadInput(
            "heats.main", mains, "one main metal in one question", "Ask for each metal by itself."
        )


def _demands(problem: BlendProblem) -> None:
    known = {heat.id for heat in problem.heats}
    for k, demand in enumerate(problem.demands):
        not_negative(f"demand[{k}].least_g", demand.least_g)
        _something(f"demand[{k}].heats", demand.heats)
        for heat in demand.heats:
            if heat not in known:
                raise BadInput(
                    f"demand[{k}].heats", heat, ", ".join(sorted(known)), "Name a heat of the list."
                )
