"""A day at the fire: when to light up, what runs beside it, when the door may be shut."""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass, field, replace

from lemel.errors import BadInput, Stopped
from lemel.melt.faces import MeltProblem
from lemel.melt.figures import figure
from lemel.melt.fire import cool_down_h
from lemel.melt.life import between_owners
from lemel.melt.refuse import stops
from lemel.melt.run import Run
from lemel.melt.settle import Heat, settle
from lemel.tables import Tables, shipped
from lemel.values import Crucible, Furnace, Objection, Quantity, Saying, SayingValue, Watch, quiet

__all__ = ["DayEntry", "DayHeat", "DayPlan", "DayProblem", "plan_day"]


@dataclass(frozen=True, slots=True)
class DayHeat:
    """One heat of the day. `pours` fillings of `mould` with `wait_s` between them; `kiln_min`
    and `mill_min` of work that follows on its bars (0: none)."""

    problem: MeltProblem
    mould: str = "mould"
    pours: int = 1
    wait_s: float = 0.0
    kiln_min: float = 0.0
    mill_min: float = 0.0


@dataclass(frozen=True, slots=True)
class DayProblem:
    """Heats in their order on one furnace. Times are minutes after midnight.

    `light_up_min` None: as late as the closing time allows. The day ends when the pot is
    cold enough to be left, the fire watch is over and the last work is done. One pair of
    hands is taken to manage what is laid side by side here.
    """

    furnace: Furnace
    heats: tuple[DayHeat, ...]
    closes_min: float
    opens_min: float = 0.0
    light_up_min: float | None = None


@dataclass(frozen=True, slots=True)
class DayEntry:
    """One line of the day: what (a code), for which heat, where, from when to when."""

    code: str
    heat: str
    place: str
    start_min: float
    end_min: float


@dataclass(frozen=True, slots=True)
class DayPlan:
    """The day, or why it does not fit, with the ways out.

    `latest_light_up_min` is the last moment at which the fire may be lit for the closing
    time; `length_min` from there to the end of the day.
    """

    status: str
    light_up_min: float
    latest_light_up_min: float
    length_min: float
    entries: tuple[DayEntry, ...]
    energy_kwh: float
    objections: tuple[Objection, ...] = ()
    notes: tuple[Saying, ...] = ()


@dataclass(slots=True)
class _Bench:
    """The day as it is laid out: entries from light-up, and when each place is free again."""

    tables: Tables
    entries: list[DayEntry] = field(default_factory=list)
    free_min: dict[str, float] = field(default_factory=dict)

    def put(self, code: str, heat: str, place: str, start_min: float, minutes: float) -> float:
        """An entry as soon as its place is free; returns its end."""
        begins = max(start_min, self.free_min.get(place, start_min))
        self.entries.append(DayEntry(code, heat, place, begins, begins + minutes))
        self.free_min[place] = begins + minutes
        return begins + minutes


def plan_day(problem: DayProblem, *, tables: Tables | None = None, watch: Watch = quiet) -> DayPlan:
    """Lay the heats one after another on one furnace and everything else beside them.

    Every heat after the first starts from the hot furnace, with the pot hot too if it is the
    same one. Refused where the closing time is too early, with what would fit instead.
    """
    tables = tables or shipped()
    _check(problem)
    heats, objections = [], []
    for one in problem.heats:
        pot = one.problem.crucible
        assert pot is not None
        heat, said = settle(one.problem, problem.furnace, pot, tables)
        objections += said
        if heat is not None:
            heats.append(heat)
    if stops(objections):
        return DayPlan("infeasible", 0.0, 0.0, 0.0, (), 0.0, tuple(objections))
    lengths, bench, run = _lay_out(problem, heats, tables, watch)
    length_min = lengths[-1]
    latest_min = problem.closes_min - length_min
    lit_min = latest_min if problem.light_up_min is None else problem.light_up_min
    entries = tuple(
        replace(e, start_min=e.start_min + lit_min, end_min=e.end_min + lit_min)
        for e in sorted(bench.entries, key=lambda e: (e.start_min, e.place))
    )
    late = lit_min > latest_min + 1e-9 or lit_min < problem.opens_min - 1e-9
    if late:
        objections.append(_too_late(problem, lit_min, latest_min, lengths, run, tables))
    return DayPlan(
        "infeasible" if late else "feasible",
        lit_min,
        latest_min,
        length_min,
        entries,
        run.put_in_j / 3.6e6,
        tuple(objections),
        _notes(problem, tables),
    )


def _notes(problem: DayProblem, tables: Tables) -> tuple[Saying, ...]:
    """Owners that meet in one pot, and pots that are taken out and put back."""
    found: list[Saying] = []
    last_owner: dict[str, str] = {}
    pots: list[str] = []
    for one in problem.heats:
        pot, charge = one.problem.crucible, one.problem.charge
        assert pot is not None
        found += between_owners(pot, last_owner.get(pot.id, ""), charge.owner, tables)
        last_owner[pot.id] = charge.owner
        if pot.id in pots[:-1] and pots[-1] != pot.id:
            found.append(Saying("melt.day.regroup", {"pot": pot.id, "heat": charge.heat}))
        pots.append(pot.id)
    return tuple(found)


def _check(problem: DayProblem) -> None:
    if not problem.heats:
        raise BadInput("heats", (), "at least one heat", "Name the day's heats.")
    if not 0 <= problem.closes_min <= 48 * 60:
        raise BadInput(
            "closes_min", problem.closes_min, "0 to 2880", "Give minutes after midnight."
        )
    for heat in problem.heats:
        if heat.problem.crucible is None:
            raise BadInput(
                f"{heat.problem.charge.heat}.crucible", None, "a pot", "Name the pot of each heat."
            )
        if heat.pours < 1:
            raise BadInput("pours", heat.pours, "1 or more", "Say how often the mould is filled.")


def _lay_out(
    problem: DayProblem, heats: list[Heat], tables: Tables, watch: Watch
) -> tuple[list[float], _Bench, Run]:
    """Entries from light-up at 0, and the day's length if it ended after each heat."""
    bench, lengths = _Bench(tables), []
    first = heats[0].problem
    run = Run(heats[0].model, heats[0].bath, 0.0, start_c=first.start_c, ambient_c=first.ambient_c)
    pot: Crucible | None = None
    for n, (heat, day) in enumerate(zip(heats, problem.heats, strict=True)):
        if watch.cancelled():
            raise Stopped("stopped while the day was laid out")
        if pot is not None:
            _make_ready(run, heat, same=pot == heat.pot, tables=tables)
        _one_heat(bench, run, heat, day, tables)
        pot = heat.pot
        lengths.append(_end_min(bench, run, tables, last=n == len(heats) - 1))
    return lengths, bench, run


def _make_ready(run: Run, heat: Heat, *, same: bool, tables: Tables) -> None:
    if not same:
        run.lid_off = True
        run.advance(60 * figure("swap_min", tables))
        run.lid_off = False
    run.next_pot(heat.model, heat.bath, same_pot=same)


def _one_heat(bench: _Bench, run: Run, heat: Heat, day: DayHeat, tables: Tables) -> None:
    name, begun_min = heat.problem.charge.heat, run.t_s / 60
    heat.play(run, tables)
    if day.mould in bench.free_min:
        # The mould is still warm from the heat before, but it has to come down first.
        run.advance(60 * bench.free_min[day.mould] + day.wait_s - run.t_s)
    else:
        warm_min = figure("mould_warm_min", tables)
        bench.put("melt.day.warm_mould", name, day.mould, run.t_s / 60 - warm_min, warm_min)
    ready_min = run.t_s / 60
    bench.put("melt.day.heat", name, "furnace", begun_min, ready_min - begun_min)
    each_g = run.mass_g / day.pours
    for n in range(day.pours):
        run.advance(figure("pour_s", tables))
        run.pour_out(run.mass_g - each_g if n < day.pours - 1 else 0.0)
        if n < day.pours - 1:
            run.advance(max(day.wait_s, figure("lift_back_s", tables)))
    poured_min = run.t_s / 60
    bench.put("melt.day.pour", name, day.mould, ready_min, poured_min - ready_min)
    cooled_min = poured_min + figure("bar_cools_min", tables)
    bench.entries.append(DayEntry("melt.day.bar_cools", name, "bars", poured_min, cooled_min))
    done = bench.put("melt.day.pickle", name, "pickle", cooled_min, figure("pickle_min", tables))
    if day.kiln_min:
        done = bench.put("melt.day.kiln", name, "kiln", done, day.kiln_min)
    if day.mill_min:
        bench.put("melt.day.mill", name, "mill", done, day.mill_min)


def _end_min(bench: _Bench, run: Run, tables: Tables, *, last: bool) -> float:
    """When the door may be shut if no other heat follows."""
    poured_min = run.t_s / 60
    cold_min = poured_min + 60 * cool_down_h(copy(run), figure("attend_c", tables))
    watch_min = poured_min + 60 * figure("cool_watch_h", tables)
    if last:
        bench.put("melt.day.cool", "", "furnace", poured_min, cold_min - poured_min)
        bench.put("melt.day.fire_watch", "", "watch", poured_min, watch_min - poured_min)
    return max(cold_min, watch_min, *(entry.end_min for entry in bench.entries))


def _too_late(
    problem: DayProblem,
    lit_min: float,
    latest_min: float,
    lengths: list[float],
    run: Run,
    tables: Tables,
) -> Objection:
    """Refused, with the number of heats that still fit, or what the lid off would win."""
    lit_min = max(lit_min, problem.opens_min)
    fit = sum(lit_min + length <= problem.closes_min + 1e-9 for length in lengths)
    attend_c = figure("attend_c", tables)
    won_h = cool_down_h(run, attend_c) - cool_down_h(run, attend_c, lid_off=True)
    values: dict[str, SayingValue] = {
        "latest": _clock(latest_min),
        "light_up": _clock(lit_min),
        "closes": _clock(problem.closes_min),
    }
    over_min = lit_min + lengths[-1] - problem.closes_min
    if over_min <= 60 * won_h:
        way = Saying("melt.day.lid_off", {"won": Quantity(60 * won_h, "min")})
    elif fit:
        way = Saying("melt.day.fewer", {"heats": fit, "of": len(lengths)})
    else:
        way = Saying("melt.day.another", {"length": Quantity(lengths[0] / 60, "h")})
    return Objection("melt.day.too_late", problem.furnace.id, "stop", values, way)


def _clock(minutes: float) -> str:
    whole = int(minutes // 1)
    return f"{whole // 60 % 24:02d}:{whole % 60:02d}"
