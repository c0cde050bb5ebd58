"""Two plans side by side: what is otherwise, and why it is."""

from __future__ import annotations

from dataclasses import dataclass, fields

from lemel.plan import Plan
from lemel.values import Quantity
from lemel.web.plan_view import MET_BY
from lemel.web.reader import say, show

__all__ = ["Compared", "Pair", "compared"]

_WISHES = {
    "use_first": "used first", "leave_out": "left out", "moulds": "moulds allowed",
    "gap": "gap allowed", "work_most": "effort allowed", "seed": "seed",
}  # fmt: skip
_MADE_FROM = {
    "inputs": "What was asked is another: bags, orders, stock, tools, prices or rules.",
    "readings": "Other readings were known.",
    "tables": "Other facts were laid under it: the tables, or the house's own figures.",
    "version": "Another version of the program made it.",
    "as_of": "It was made for another day.",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Pair:
    """One thing as either plan has it."""

    what: str
    one: str
    other: str

    @property
    def same(self) -> bool:
        """Whether both say the same."""
        return self.one == self.other


@dataclass(frozen=True, slots=True)
class Compared:
    """Pairs by kind, and why the plans differ."""

    totals: tuple[Pair, ...]
    lines: tuple[Pair, ...]
    bags: tuple[Pair, ...]
    why: tuple[str, ...]


def compared(one: Plan, other: Plan) -> Compared:
    """What differs between two plans, what stayed, and what they were made from."""
    return Compared(_totals(one, other), _lines(one, other), _bags(one, other), _why(one, other))


def _totals(one: Plan, other: Plan) -> tuple[Pair, ...]:
    def row(what: str, a: str, b: str) -> Pair:
        return Pair(what, a, b)

    def minutes(plan: Plan) -> str:
        return show(Quantity(sum(task.minutes for task in plan.timeline) / 60, "h"))

    def gain(plan: Plan) -> str:
        if plan.worth is None:
            return "no prices"
        return f"{plan.worth.gain:.2f} {plan.worth.currency}"

    return (
        row("lines met", _met(one), _met(other)),
        row("heats", str(len(one.heats)), str(len(other.heats))),
        row("melted", _grams(_melted(one)), _grams(_melted(other))),
        row("lost", _grams(one.balance.loss_mg / 1000), _grams(other.balance.loss_mg / 1000)),
        row("work", minutes(one), minutes(other)),
        row("gained by making, after labour", gain(one), gain(other)),
    )


def _met(plan: Plan) -> str:
    return f"{sum(1 for line in plan.lines if line.met_by != 'unmet')} of {len(plan.lines)}"


def _melted(plan: Plan) -> float:
    return sum(heat.charge.mass_g for heat in plan.heats)


def _grams(grams: float) -> str:
    return show(Quantity(grams, "g"))


def _lines(one: Plan, other: Plan) -> tuple[Pair, ...]:
    def said(plan: Plan) -> dict[str, str]:
        return {line.line: f"{MET_BY[line.met_by]}: {say(line.how)}" for line in plan.lines}

    return _paired(said(one), said(other), "not asked")


def _bags(one: Plan, other: Plan) -> tuple[Pair, ...]:
    """Grams of each bag and addition that go into pots."""

    def taken(plan: Plan) -> dict[str, str]:
        found: dict[str, float] = {}
        for heat in plan.heats:
            for line in heat.charge.lines:
                found[line.body] = found.get(line.body, 0.0) + line.mass_g
        return {body: _grams(grams) for body, grams in found.items()}

    return _paired(taken(one), taken(other), "none of it")


def _paired(one: dict[str, str], other: dict[str, str], missing: str) -> tuple[Pair, ...]:
    names = dict.fromkeys([*one, *other])
    return tuple(Pair(n, one.get(n, missing), other.get(n, missing)) for n in names)


def _why(one: Plan, other: Plan) -> tuple[str, ...]:
    """From what they were made: the wishes, then the inputs."""
    mine, theirs = one.made_from, other.made_from
    found = []
    for wish in fields(mine.options):
        a, b = getattr(mine.options, wish.name), getattr(theirs.options, wish.name)
        if a != b:
            name = _WISHES.get(wish.name, wish.name.replace("_", " "))
            found.append(f"{name}: {_told(a)} here, {_told(b)} there.")
    for heat, same in zip(one.heats, other.heats, strict=False):
        if heat.course != same.course:
            found.append(f"Course of {heat.id}: {heat.course} here, {same.course} there.")
    found += [said for name, said in _MADE_FROM.items()
              if getattr(mine, name) != getattr(theirs, name)]  # fmt: skip
    return tuple(dict.fromkeys(found))


def _told(value: object) -> str:
    if isinstance(value, tuple):
        return ", ".join(map(str, value)) or "nothing"
    return str(value)
