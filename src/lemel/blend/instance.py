"""Reading the instance file shape "lemel-blend-instance 1" (millesimal parts, grams)."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping, Sequence
from typing import Any

from lemel.blend.faces import (
    BlendAddition,
    BlendHeat,
    BlendLot,
    BlendOptions,
    BlendProblem,
    Demand,
)
from lemel.blend.judge import judge
from lemel.errors import BadInput, gather
from lemel.values import ELEMENTS, Composition

__all__ = ["FORMAT", "from_instance"]

FORMAT = "lemel-blend-instance 1"
HOUSE = "house"
IGNORED = ("about", "title", "seed", "expected")
TOP = (
    "format", "main_element", "lots", "additions", "heats", "remainder_penalty",
    "age_credit_per_g_day", "impurity_k", "demand", "owners", "promise_per",
)  # fmt: skip
LOT = (
    "id", "mass", "kind", "owner", "comp", "sd", "source_sd", "value_per_g", "age_days", "flags",
    "min_take", "min_remainder",
)  # fmt: skip
ADDITION = ("id", "comp", "sd", "price_per_g", "stock")
HEAT = (
    "id", "standard", "prob", "mass_min", "mass_max", "fixed_cost", "required", "giveaway_max",
    "impurity_max", "owner", "forbid_flags",
)  # fmt: skip
#: Millesimal parts by which a composition may miss 1000 through rounding on paper.
SUM_SLACK = 0.5


def from_instance(data: Any, options: BlendOptions | None = None) -> BlendProblem:
    """The problem in an instance file's data (see docs/blend.md for the keys).

    House lots may go into any heat; another owner's lot only into a heat of that owner.
    Owners are the house, those of the optional list `owners`, and those who have both a
    lot and a heat. `about`, `title`, `seed` and `expected` are ignored. Raises one BadInput
    that carries every fault: unknown or missing keys by name, numbers that are none,
    negative ones, ids twice, unknown owners, empty lists.
    """
    top = _Reader("", data, TOP, IGNORED)
    if top.text("format") != FORMAT:
        raise BadInput("format", data["format"], FORMAT, "Save the file in this shape.")
    main = top.text("main_element", "Ag")
    if main not in ("Ag", "Au", "Pt", "Pd"):
        raise BadInput("main_element", main, "Ag, Au, Pt, Pd", "Name the metal of the heats.")
    impurity_k = top.number("impurity_k", 0.0)
    lots, additions, heats, demands = (
        top.listed(name, needed) for name, needed in
        (("lots", True), ("additions", False), ("heats", True), ("demand", False))
    )  # fmt: skip
    if not lots and not additions:
        raise BadInput("lots", [], "at least one lot or addition", "List what there is to melt.")
    if not heats:
        raise BadInput("heats", [], "at least one heat", "List what is to be made.")
    made = gather(
        [
            *(_later(_lot, f"lots[{k}]", one, main) for k, one in enumerate(lots)),
            *(_later(_addition, f"additions[{k}]", one, main) for k, one in enumerate(additions)),
            *(_later(_heat, f"heats[{k}]", one, main, impurity_k) for k, one in enumerate(heats)),
            *(_later(_demand, f"demand[{k}]", one) for k, one in enumerate(demands)),
        ]
    )
    problem = BlendProblem(
        tuple(one for one in made if isinstance(one, BlendLot)),
        tuple(one for one in made if isinstance(one, BlendAddition)),
        tuple(one for one in made if isinstance(one, BlendHeat)),
        tuple(one for one in made if isinstance(one, Demand)),
        top.number("age_credit_per_g_day", 0.0),
        top.number("remainder_penalty", 0.0),
        HOUSE,
        options or BlendOptions(),
        top.text("promise_per", "heat"),
    )
    judge(problem)
    _owners_known(problem, top.words("owners"))
    return problem


def _later(make: Callable[..., Any], *args: Any) -> Callable[[], Any]:
    return lambda: make(*args)


class _Reader:
    """One object of the file: every key asked for by name, unknown ones refused."""

    def __init__(
        self, place: str, data: Any, keys: Collection[str], ignored: Collection[str] = ()
    ) -> None:
        self.place, self.data = place, data
        if not isinstance(data, Mapping):
            raise BadInput(place or "file", data, "an object with named keys", "Mend the file.")
        unknown = sorted(str(key) for key in data if key not in keys and key not in ignored)
        if unknown:
            first, *rest = (
                BadInput(self.at(key), data[key], ", ".join(keys), "Remove or rename this key.")
                for key in unknown
            )
            raise BadInput(first.field, first.value, first.allowed, first.do, rest)

    def at(self, key: str) -> str:
        return f"{self.place}.{key}" if self.place else key

    def get(self, key: str, default: Any = ...) -> Any:
        if key in self.data:
            return self.data[key]
        if default is ...:
            raise BadInput(self.at(key), None, "a value", f"Add the key {key}.")
        return default

    def text(self, key: str, default: Any = ...) -> str:
        value = self.get(key, default)
        if not isinstance(value, str) or not value.strip():
            raise BadInput(self.at(key), value, "a short text", f"Write {key} as text.")
        return value

    def number(self, key: str, default: Any = ..., *, least: float = 0.0) -> float:
        return _number(self.at(key), self.get(key, default), least)

    def boolean(self, key: str, default: bool) -> bool:
        value = self.get(key, default)
        if not isinstance(value, bool):
            raise BadInput(self.at(key), value, "true or false", f"Write {key} as true or false.")
        return value

    def listed(self, key: str, needed: bool) -> Sequence[Any]:
        value = self.get(key, ... if needed else [])
        if not isinstance(value, list | tuple):
            raise BadInput(self.at(key), value, "a list", f"Write {key} as a list.")
        return value

    def words(self, key: str) -> tuple[str, ...]:
        value = self.listed(key, False)
        for one in value:
            if not isinstance(one, str):
                raise BadInput(self.at(key), one, "texts", f"Write {key} as a list of texts.")
        return tuple(value)

    def numbers(self, key: str, *, elements: bool, default: Any = ...) -> dict[str, float]:
        value = self.get(key, default)
        if not isinstance(value, Mapping):
            raise BadInput(self.at(key), value, "an object of numbers", f"Write {key} by name.")
        for name in value:
            if elements and name not in ELEMENTS:
                raise BadInput(
                    f"{self.at(key)}.{name}", value[name], "a chemical symbol such as Ag, Cu, Zn",
                    "Write the element's symbol with its capital letter.",
                )  # fmt: skip
        return {str(n): _number(f"{self.at(key)}.{n}", v, 0.0) for n, v in value.items()}


def _number(field: str, value: Any, least: float) -> float:
    plain = isinstance(value, int | float) and not isinstance(value, bool)
    if not plain or not math.isfinite(value) or value < least:
        raise BadInput(field, value, f"a number of {least:g} or more", "Mend this number.")
    return float(value)


def _composition(place: str, parts: dict[str, float], main: str) -> Composition:
    """Shares exactly as written; what exceeds 1000 by rounding goes off the largest other."""
    total = math.fsum(parts.values())
    if total <= 0 or total > 1000 + SUM_SLACK:
        raise BadInput(
            place, f"sum {total:g}", "parts that sum to 1000 at most", "Mend the millesimal parts."
        )
    shares = dict(parts)
    excess = total - 1000
    if excess > 0:
        others = [element for element in shares if element != main] or [main]
        largest = max(others, key=lambda element: shares[element])
        shares[largest] = max(0.0, shares[largest] - excess)
    kept = {element: share / 1000 for element, share in shares.items() if share > 0}
    return Composition(tuple(sorted(kept.items())), max(0.0, 1 - math.fsum(kept.values())))


def _lot(place: str, data: Any, main: str) -> BlendLot:
    read = _Reader(place, data, LOT)
    kind = read.text("kind")
    if kind not in ("whole", "divisible"):
        raise BadInput(f"{place}.kind", kind, "whole, divisible", "Write one of the two.")
    spreads = read.numbers("sd", elements=True, default={})
    mass = read.number("mass")
    if mass <= 0:
        raise BadInput(f"{place}.mass", mass, "more than 0 g", "Weigh the lot, or remove it.")
    return BlendLot(
        id=read.text("id"),
        mass_g=mass,
        whole=kind == "whole",
        owner=read.text("owner", HOUSE),
        mean=_composition(f"{place}.comp", read.numbers("comp", elements=True), main),
        own_sd=spreads.pop(main, 0.0) / 1000,
        loading={
            s: v / 1000 for s, v in read.numbers("source_sd", elements=False, default={}).items()
        },
        other_sd={element: spread / 1000 for element, spread in spreads.items()},
        value_per_g=read.number("value_per_g", 0.0),
        age_days=read.number("age_days", 0.0),
        min_take_g=read.number("min_take", 0.0),
        min_remainder_g=read.number("min_remainder", 0.0),
        flags=frozenset(read.words("flags")),
    )


def _addition(place: str, data: Any, main: str) -> BlendAddition:
    read = _Reader(place, data, ADDITION)
    stock = read.get("stock", None)
    return BlendAddition(
        id=read.text("id"),
        composition=_composition(f"{place}.comp", read.numbers("comp", elements=True), main),
        sd=read.numbers("sd", elements=True, default={}).get(main, 0.0) / 1000,
        price_per_g=read.number("price_per_g"),
        stock_g=None if stock is None else read.number("stock"),
    )


def _heat(place: str, data: Any, main: str, impurity_k: float) -> BlendHeat:
    read = _Reader(place, data, HEAT)
    giveaway = read.get("giveaway_max", None)
    standard = read.number("standard")
    if not 0 < standard <= 1000:
        raise BadInput(f"{place}.standard", standard, "above 0 up to 1000", "Write it as 925.")
    probability, mass_min = read.number("prob"), read.number("mass_min")
    if not 0.5 <= probability < 1:
        raise BadInput(
            f"{place}.prob",
            probability,
            "0.5 up to, but not, 1",
            "Promise at least an even chance.",
        )
    mass_max = read.number("mass_max")
    if mass_max < mass_min or mass_max <= 0:
        raise BadInput(
            f"{place}.mass_max", mass_max, f"at least {mass_min:g} g", "Widen the window."
        )
    limits = read.numbers("impurity_max", elements=True, default={})
    return BlendHeat(
        id=read.text("id"),
        owner=read.text("owner", HOUSE),
        main=main,
        least=standard / 1000,
        probability=probability,
        least_g=mass_min,
        most_g=mass_max,
        giveaway_most=None if giveaway is None else read.number("giveaway_max") / 1000,
        impurity_most={element: limit / 1000 for element, limit in limits.items()},
        impurity_k=impurity_k,
        forbid_flags=frozenset(read.words("forbid_flags")),
        required=read.boolean("required", True),
        fixed_cost=read.number("fixed_cost", 0.0),
        may_use_owners=frozenset({HOUSE}),
    )


def _demand(place: str, data: Any) -> Demand:
    read = _Reader(place, data, ("heats", "min_total"))
    return Demand(read.words("heats"), read.number("min_total"))


def _owners_known(problem: BlendProblem, listed: tuple[str, ...]) -> None:
    with_lots = {lot.owner for lot in problem.lots}
    with_heats = {heat.owner for heat in problem.heats}
    known = {HOUSE, *listed, *(with_lots & with_heats)}
    owners = [(f"lots[{k}].owner", lot.owner) for k, lot in enumerate(problem.lots)]
    owners += [(f"heats[{k}].owner", heat.owner) for k, heat in enumerate(problem.heats)]
    for place, owner in owners:
        if owner not in known:
            raise BadInput(
                place, owner, ", ".join(sorted(known)),
                "Write the house or an owner who has both a lot and a heat, "
                "or list this one under owners.",
            )  # fmt: skip
