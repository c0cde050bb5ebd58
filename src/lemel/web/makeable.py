"""What can be made today: each open order line from its plan as far as the bench has come."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from lemel import metal
from lemel.book import Book, PlanStep, Wanted, plans_at_work
from lemel.errors import NotKnown
from lemel.plan import HeatPlan, Plan, PlanLine, StockWork
from lemel.values import OrderLine, Saying, SayingValue
from lemel.web.reader import say

__all__ = ["Makeable", "Promise", "makeable"]

#: What comes first on the page: what is nearest to its piece.
_RANKS = ("worked", "bar", "in_pot", "remnant", "scrap_as_is", "stock", "heat", "unmet", "no_plan")


@dataclass(frozen=True, slots=True)
class Promise:
    """The fineness of a heat, millesimal: what is believed, how surely, and the standard."""

    standard: str
    mean: float
    sd: float
    least: float | None


@dataclass(frozen=True, slots=True)
class Makeable:
    """Order lines that are met in one and the same way, and what is left to do for them.

    `how` is one of the ranks above; `minutes` None where no plan says; `tubs` are bags and
    masses in g of a heat that is still to be charged, `days` the working days until then.
    """

    order: str
    lines: tuple[Wanted, ...]
    how: str
    said: str
    minutes: float | None = None
    why: tuple[str, ...] = ()
    ways_out: tuple[str, ...] = ()
    tubs: tuple[tuple[str, float], ...] = ()
    promise: Promise | None = None
    plan: str = ""
    heat: str = ""
    days: int = 0


def makeable(book: Book) -> tuple[Makeable, ...]:
    """Every open line of the book; lines of one order that are met by the same work stand
    together. What is nearest to its piece first."""
    plans = [_Progress.of(book, name) for name in plans_at_work(book)]
    found: list[Makeable] = []
    for wanted in book.bench.orders():
        met = next((plan for plan in plans if wanted.line.id in plan.lines), None)
        one = met.line(wanted) if met else _not_planned(wanted)
        same = next((n for n, old in enumerate(found) if _is_same(old, one)), None)
        if same is None:
            found.append(one)
        else:
            found[same] = replace(found[same], lines=(*found[same].lines, *one.lines))
    return tuple(
        sorted(found, key=lambda one: (_RANKS.index(one.how), one.days, one.minutes or 0.0))
    )


def _is_same(old: Makeable, new: Makeable) -> bool:
    return (old.order, old.how, old.said) == (new.order, new.how, new.said)


def _not_planned(wanted: Wanted) -> Makeable:
    said = say(Saying("web.today.no_plan"))
    return Makeable(wanted.line.order, (wanted,), "no_plan", said)


@dataclass(frozen=True, slots=True)
class _Progress:
    """One accepted plan with its steps as they stand, and the state of its heats."""

    id: str
    plan: Plan
    steps: Mapping[str, PlanStep]
    states: Mapping[str, str]
    lines: Mapping[str, PlanLine]

    @classmethod
    def of(cls, book: Book, name: str) -> _Progress:
        plan = _opened(book, name)
        return cls(
            name,
            plan,
            {step.name: step for step in book.steps(name)},
            {heat.id: book.heat_state(name, heat.id) for heat in plan.heats},
            {line.line: line for line in plan.lines},
        )

    def line(self, wanted: Wanted) -> Makeable:
        """How this plan makes a line from here on."""
        line = self.lines[wanted.line.id]
        work = next((one for one in self.plan.stock if line.line in one.lines), None)
        if work is None:
            return self._unmet(wanted, line)
        heat = next((one for one in self.plan.heats if one.id == work.heat), None)
        how, said = self._how(work, heat)
        ahead = heat if how == "heat" else None
        return Makeable(
            order=wanted.line.order,
            lines=(wanted,),
            how=how,
            said=said,
            minutes=self._minutes(wanted.line, work, ahead),
            why=tuple(say(one) for one in line.why),
            tubs=tuple((one.body, one.mass_g) for one in ahead.charge.lines) if ahead else (),
            promise=_promise(heat) if heat else None,
            plan=self.id,
            heat=work.heat,
            days=self._days(ahead.id) if ahead else 0,
        )

    def _unmet(self, wanted: Wanted, line: PlanLine) -> Makeable:
        told = next((one for one in self.plan.unmet if one.line == line.line), None)
        if told is None:
            return Makeable(wanted.line.order, (wanted,), "unmet", say(line.how), plan=self.id)
        return Makeable(
            wanted.line.order, (wanted,), "unmet", say(told.reason),
            why=tuple(dict.fromkeys(say(one) for one in told.also if one != told.reason)),
            ways_out=tuple(say(one) for one in told.ways_out), plan=self.id,
        )  # fmt: skip

    def _how(self, work: StockWork, heat: HeatPlan | None) -> tuple[str, str]:
        """The rank of a work and its sentence, by what of it is done."""
        if heat is not None and not self._done(f"{heat.id} melt and pour"):
            if self.states[heat.id] != "planned":
                return "in_pot", say(Saying("web.today.in_pot", {"heat": heat.id}))
            tubs = ", ".join(one.body for one in heat.charge.lines)
            values: dict[str, SayingValue] = {
                "heat": heat.id, "tubs": tubs, "when": _when(self._days(heat.id))
            }  # fmt: skip
            return "heat", say(Saying("web.today.heat", values))
        left = [one for one in work.bars if not self._done(f"mill {one.bar.id}")]
        names = ", ".join(one.bar.id for one in (left or work.bars))
        if not left:
            return "worked", say(Saying("web.today.worked", {"bar": names}))
        passes = _passes(sum(one.route.passes for one in left))
        rank = "bar" if heat is not None else work.source
        return rank, say(Saying(f"web.today.{rank}", {"bar": names, "passes": passes}))

    def _done(self, step: str) -> bool:
        """A step that the plan does not have needs no doing."""
        return step not in self.steps or self.steps[step].done

    def _days(self, heat: str) -> int:
        """Until a heat, counted in working days from the first with a heat left to melt."""
        days = {task.about: task.day for task in self.plan.timeline if task.task == "melt_and_pour"}
        ahead = [day for one, day in days.items() if not self._done(f"{one} melt and pour")]
        return max(0, days.get(heat, 0) - min(ahead, default=0))

    def _minutes(self, line: OrderLine, work: StockWork, heat: HeatPlan | None) -> float:
        """Work that is left until the piece is cut: the heat, the bars, the cutting."""
        bars = {one.bar.id for one in work.bars if not self._done(f"mill {one.bar.id}")}
        about = bars | ({heat.id} if heat else set())
        return sum(
            task.minutes
            for task in self.plan.timeline
            if task.about in about or (task.task == "cut" and line.id in _listed(task.about))
        )


def _when(days: int) -> str:
    if days <= 1:
        return say(Saying("web.today.tomorrow" if days else "web.today.now"))
    return say(Saying("web.today.later", {"days": days}))


def _passes(count: int) -> str:
    if count == 1:
        return say(Saying("web.today.one_pass"))
    return say(Saying("web.today.passes", {"n": count}))


def _listed(about: str) -> Sequence[str]:
    return about.split(", ")


def _promise(heat: HeatPlan) -> Promise:
    believed = heat.charge.composition_mean
    main = believed.main()
    try:
        least: float | None = metal.standard(heat.standard).least * 1000
    except NotKnown:
        least = None
    share = believed.share(main) * 1000
    return Promise(heat.standard, share, heat.charge.sd * 1000, least)


def _opened(book: Book, name: str) -> Plan:
    return _plan(book, name, tuple(sorted(book.owners().items())))


# A kept plan never changes; the names in it may, so they are part of what it is kept by.
@lru_cache(maxsize=8)
def _plan(book: Book, name: str, owners: Iterable[tuple[str, str]]) -> Plan:  # noqa: ARG001
    return book.plan(name)
