"""A bar at the mill as it stands: its route now, what is done of it, and the bar really there.

The plan's route holds until another one was worked out from the real bar; that one is kept in
the book, with the number of the last thing that was done before it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from lemel.book import Book, PlanStep
from lemel.errors import BadInput
from lemel.mill import CrackAdvice, MillKit, MillProblem, Route, Step, bar_after, crack_in, do
from lemel.plan import Plan, StockWork
from lemel.tables import Tables, shipped
from lemel.values import Bar, Section, StockNeed, from_plain, to_plain
from lemel.web.furnace_day import workshop_of
from lemel.web.furnace_heats import kept_plan

__all__ = [
    "AtWork",
    "TAKEN_BACK",
    "at_work",
    "cracked",
    "measure",
    "measured",
    "real_bar",
    "replan",
]

_ROUTE, _MEASURED = "route", "measured_bar"
#: The note of a pass that was ticked by mistake.
TAKEN_BACK = "taken back"
_SOFTENING = ("anneal", "age")
#: Shares of a sheet's length that are tried in turn where the whole cannot be had.
_SHORTER = (0.99, 0.95, 0.9, 0.8, 0.65, 0.5)


@dataclass(frozen=True, slots=True)
class AtWork:
    """A mill step under way.

    `bar` is where `route` starts; `after` the number of the last event before the route began;
    `events` what was done since, by the number of the route's step. `why`: "" for the plan's
    route, else measured, short or crack. `body` is the bar's name in the book.
    """

    plan: str
    step: PlanStep
    work: StockWork
    body: str
    bar: Bar
    route: Route
    after: int
    why: str
    run: str
    ended: str
    events: Mapping[int, Any]

    @property
    def done(self) -> int:
        """How many steps of the route are done, in order."""
        n = 0
        while n + 1 in self.events:
            n += 1
        return n

    @property
    def now(self) -> Step | None:
        """The step to be done; None where the route is at its end."""
        return self.route.steps[self.done] if self.done < len(self.route.steps) else None

    @property
    def next(self) -> Step | None:
        """The one after it."""
        n = self.done + 1
        return self.route.steps[n] if n < len(self.route.steps) else None


def _found(plan: Plan, step: str) -> tuple[StockWork, Bar, Route]:
    own = step.removeprefix("mill ")
    for work in plan.stock:
        for one in work.bars:
            if one.bar.id == own:
                return work, one.bar, one.route
    raise BadInput("step", step, "a bar of the plan", "Choose a bar from the list.")


def plan_step(book: Book, plan: str, name: str) -> PlanStep:
    """One step of a plan; BadInput that names the known ones."""
    steps = {one.name: one for one in book.steps(plan)}
    if name not in steps:
        known = ", ".join(n for n, s in steps.items() if s.kind in ("mill", "cut", "part", "take"))
        raise BadInput("step", name, known or "none", "Choose a step of the plan.")
    return steps[name]


def at_work(book: Book, plan: str, name: str) -> AtWork:
    """The bar of a mill step, its route now and what is done of it."""
    step = plan_step(book, plan, name)
    work, bar, route = _found(kept_plan(book, plan), name)
    after, why = 0, ""
    kept = book.filed_history(_ROUTE, f"{plan}: {name}")
    if kept:
        record = kept[-1].record
        bar, route = from_plain(Bar, record["bar"]), from_plain(Route, record["route"])
        after, why = int(record["after"]), str(record["why"])
    runs = book.bench.runs(plan, name)
    run = runs[-1] if runs else None
    events = {
        one.n - after: one for one in (run.events if run else ())
        if one.n > after and one.what != "crack" and one.note != TAKEN_BACK
    }  # fmt: skip
    body = next(iter(step.takes_mg))
    return AtWork(
        plan, step, work, body, bar, route, after, why, run.id if run else "",
        run.ended if run else "", events,
    )  # fmt: skip


def measured(book: Book, body: str) -> Mapping[str, float]:
    """What was measured of a bar before it was worked: thickness_mm, width_mm, length_mm."""
    found = book.filed_history(_MEASURED, body)
    return dict(found[-1].record) if found else {}


def measure(book: Book, body: str, sizes: Mapping[str, float]) -> None:
    """Keep what was measured."""
    book.file(_MEASURED, body, dict(sizes))


def real_bar(book: Book, at: AtWork) -> Bar:
    """The bar as it really is: by the passes that were ticked, by the gauge and the balance."""
    bar = at.bar
    if at.done:
        problem = MillProblem(bar, at.work.need, MillKit())
        bar = replace(bar_after(problem, at.route, at.done, tables=_tables(book)), id=bar.id)
        event = at.events[at.done]
        sizes = {
            name: getattr(event, name)
            for name in ("thickness_mm", "width_mm", "length_mm")
            if getattr(event, name) is not None
        }
        return _with_sizes(bar, sizes, None)
    if at.why:
        return bar
    held = next(
        (m.gross_mg for a, m in book.balances(place="store").items() if a.body == at.body), 0
    )
    faults = tuple(book.mishaps.faults(at.body))
    if faults:
        from lemel.values import FAULT_KINDS, BarFault

        bar = replace(bar, faults=tuple(
            BarFault(str(f["kind"]), _mm(f["place_mm"]), _mm(f["depth_mm"]))
            for f in faults if f["kind"] in FAULT_KINDS and not f["cropped"]
        ))  # fmt: skip
    return _with_sizes(bar, measured(book, at.body), held / 1000 if held else None)


def _mm(value: object) -> float | None:
    return float(value) if isinstance(value, int | float) else None


def _with_sizes(bar: Bar, sizes: Mapping[str, float], mass_g: float | None) -> Bar:
    """What the gauge and the balance say of a bar; what nobody measured follows from the mass."""
    section = _section(bar.section, sizes)
    density = bar.mass_g / (bar.section.area_mm2 * bar.length_mm)
    mass = mass_g if mass_g is not None else bar.mass_g
    length = sizes.get("length_mm") or mass / (density * section.area_mm2)
    return replace(bar, section=section, length_mm=length, mass_g=mass)


def _section(old: Section, sizes: Mapping[str, float]) -> Section:
    thick, wide = sizes.get("thickness_mm"), sizes.get("width_mm")
    if old.kind in ("square", "round"):
        size = thick or wide
        name = "side" if old.kind == "square" else "diameter"
        return Section.of(old.kind, {name: size}, old.corner) if size else old
    other = "thickness" if old.kind == "flat" else "height"
    dims = {other: thick or dict(old.dims_mm)[other], "width": wide or old.dim("width")}
    return Section.of(old.kind, dims, old.corner)


def _tables(book: Book) -> Tables:
    shop = workshop_of(book)
    return shipped().with_overrides(shop.table_overrides) if shop else shipped()


def _problem(book: Book, bar: Bar, need: StockNeed) -> MillProblem:
    shop = workshop_of(book)
    if shop is None:
        raise BadInput("tools", "none", "a mill or a hammer on record", "Enter the tools first.")
    kit = MillKit(shop.mills, shop.grooves, shop.drawplates, shop.drawbenches)
    return MillProblem(bar, need, kit, accept_short=True)


def _needs(at: AtWork, bar: Bar) -> Iterator[StockNeed]:
    """What is wanted of the bar, then less and less of a sheet: a lighter bar gives a shorter
    one, in the measure of its mass."""
    need = at.work.need
    yield need
    if need.area_mm is None or need.disc_mm is not None:
        return
    planned = next(one.bar.mass_g for one in at.work.bars if one.bar.id == bar.id)
    share = min(bar.mass_g / planned, 1.0)
    long, across = max(need.area_mm), min(need.area_mm)
    for less in _SHORTER:
        yield replace(need, area_mm=(long * share * less, across))


def replan(book: Book, at: AtWork, why: str) -> tuple[Route, StockNeed]:
    """A new way from the bar as it really is, and the need as far as that goes; the way is kept
    where there is one."""
    bar = real_bar(book, at)
    whole: Route | None = None
    for need in _needs(at, bar):
        route = do(_problem(book, bar, need), tables=_tables(book))
        if route.status != "infeasible":
            _keep(book, at, bar, route, at.after + at.done, why)
            return route, need
        # Why the whole of it cannot be had says more than why a part cannot.
        whole = whole or route
    assert whole is not None
    return whole, at.work.need


def cracked(
    book: Book, at: AtWork, kind: str, place_mm: float, depth_mm: float
) -> tuple[CrackAdvice, StockNeed]:
    """What to do with the crack, and the need as far as the bar still goes; the run tells of it,
    and the new way is kept where there is one."""
    bar = real_bar(book, at)
    for need in _needs(at, bar):
        advice = crack_in(_problem(book, bar, need), kind, place_mm, depth_mm, tables=_tables(book))
        ways = advice.route is not None and advice.route.status != "infeasible"
        if advice.route is None or ways:
            break
    run = book.bench.begin_run(at.plan, at.step.name)
    n = at.after + at.done + 1
    book.bench.tick_crack(run, n, place_mm=place_mm, depth_mm=depth_mm, note=kind)
    if advice.bar is not None and advice.route is not None and ways:
        _keep(book, at, replace(advice.bar, id=bar.id), advice.route, n, "crack")
    return advice, need


def _keep(book: Book, at: AtWork, bar: Bar, route: Route, after: int, why: str) -> None:
    record = {"bar": to_plain(bar), "route": to_plain(route), "after": after, "why": why}
    book.file(_ROUTE, f"{at.plan}: {at.step.name}", record)
