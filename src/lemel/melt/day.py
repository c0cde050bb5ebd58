"""A day at the fire: when to light up, what runs beside it, when the door may be shut."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from lemel.errors import BadInput, Stopped
from lemel.melt.day_fire import FireDay, Pouring, play_day
from lemel.melt.day_hands import DayEntry, lay_out
from lemel.melt.faces import MeltProblem
from lemel.melt.figures import figure
from lemel.melt.fire import cool_down_h
from lemel.melt.hands import Timing
from lemel.melt.life import between_owners
from lemel.melt.refuse import stops
from lemel.melt.run import Run
from lemel.melt.settle import Heat, settle
from lemel.tables import Tables, shipped
from lemel.values import Furnace, Objection, Quantity, Saying, SayingValue, Watch, quiet

__all__ = ["DayHeat", "DayPlan", "DayProblem", "by_family", "plan_day"]


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

    @property
    def name(self) -> str:
        """The heat's id."""
        return self.problem.charge.heat


@dataclass(frozen=True, slots=True)
class DayProblem:
    """Heats in their order on one furnace. Times are minutes after midnight.

    `light_up_min` None: as late as the closing time allows. The day ends when the pot is
    cold enough to be left, the fire watch is over and the last work is done. There is one pair
    of hands: whatever needs them is done one after another.
    """

    furnace: Furnace
    heats: tuple[DayHeat, ...]
    closes_min: float
    opens_min: float = 0.0
    light_up_min: float | None = None


@dataclass(frozen=True, slots=True)
class DayPlan:
    """The day, or why it does not fit, with the ways out.

    `latest_light_up_min` is the last moment at which the fire may be lit for the closing
    time; `length_min` from the first act of the hands, perhaps a mould set to warm before the
    fire is lit, to the end of the day. `proven`: no other order of the hands'
    acts makes a shorter day (with the heats in this order); `least_min` is what certainly no
    order undercuts. `waited_min` is how long hot metal waits in all for hands or mould, and
    `hands_min` how long they are busy.
    """

    status: str
    light_up_min: float
    latest_light_up_min: float
    length_min: float
    entries: tuple[DayEntry, ...]
    energy_kwh: float
    objections: tuple[Objection, ...] = ()
    notes: tuple[Saying, ...] = ()
    proven: bool = False
    least_min: float = 0.0
    waited_min: float = 0.0
    hands_min: float = 0.0


def by_family(heats: Sequence[DayHeat]) -> tuple[DayHeat, ...]:
    """The heats from hot, pot after pot, so that a pot is set in once: alloy families together.

    Pots in the order of their first heat; in a pot owner after owner, so that wash heats are
    fewest; of one owner the finest first, so that what stays in the pot never makes the
    next heat poorer. Equal ones stay as they were.
    """
    pots = [_pot_id(heat) for heat in heats]
    owners = [(_pot_id(heat), heat.problem.charge.owner) for heat in heats]

    def place(pair: tuple[int, DayHeat]) -> tuple[int, int, float]:
        n, heat = pair
        charge = heat.problem.charge
        fineness = charge.composition_mean.share(charge.composition_mean.main())
        return pots.index(pots[n]), owners.index(owners[n]), -fineness

    return tuple(heat for _, heat in sorted(enumerate(heats), key=place))


def _pot_id(heat: DayHeat) -> str:
    return "" if heat.problem.crucible is None else heat.problem.crucible.id


def plan_day(problem: DayProblem, *, tables: Tables | None = None, watch: Watch = quiet) -> DayPlan:
    """Lay the heats one after another on one furnace and everything else beside them.

    Every heat after the first starts from the hot furnace, with the pot hot too if it is the
    same one. One pair of hands does one attended act at a time, in the order that makes the
    shortest day (see `hands`). Refused where the closing time is too early, with what would
    fit instead.
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
    laid = _lay(problem, heats, tables, watch)
    lead_min = laid.timing.starts[0][0]
    latest_min = problem.closes_min - laid.timing.length_min + lead_min
    lit_min = latest_min if problem.light_up_min is None else problem.light_up_min
    begins_min = lit_min - lead_min
    late = lit_min > latest_min + 1e-9 or begins_min < problem.opens_min - 1e-9
    if late:
        from_min = max(begins_min, problem.opens_min)
        lengths = [*_shorter(problem, heats, tables, watch), laid.timing.length_min]
        fit = sum(from_min + length <= problem.closes_min + 1e-9 for length in lengths)
        told = _Late(from_min + lead_min, latest_min, lengths, fit)
        objections.append(_too_late(problem, told, laid.fire.run, tables))
    entries = tuple(
        replace(e, start_min=e.start_min + begins_min, end_min=e.end_min + begins_min)
        for e in laid.entries
    )
    return DayPlan(
        "infeasible" if late else "feasible",
        lit_min,
        latest_min,
        laid.timing.length_min,
        entries,
        laid.fire.run.put_in_j / 3.6e6,
        tuple(objections),
        _notes(problem, tables),
        laid.timing.proven,
        laid.timing.least_min,
        laid.timing.waited_min,
        sum(e.end_min - e.start_min for e in laid.entries if e.hands),
    )


@dataclass(frozen=True, slots=True)
class _Laid:
    """The day from the first act at 0."""

    fire: FireDay
    entries: tuple[DayEntry, ...]
    timing: Timing


#: Rounds of playing the fire and timing the hands until neither moves the other.
MOST_ROUNDS = 6


def _lay(problem: DayProblem, heats: list[Heat], tables: Tables, watch: Watch) -> _Laid:
    """Time the hands by the fire, play the fire by the hands, until both agree.

    A bath that has to wait is hotter afterwards, so the moments move; the lags only ever grow
    from round to round, so that no act comes before its metal is ready.
    """
    days = problem.heats[: len(heats)]
    pourings = [Pouring(one.pours, one.wait_s) for one in days]
    fire = play_day(heats, pourings, tables)
    timing: Timing | None = None
    for _ in range(MOST_ROUNDS):
        if watch.cancelled():
            raise Stopped("stopped while the day was laid out")
        entries, timing = lay_out(fire, days, tables, timing)
        played = play_day(heats, pourings, tables, timing.starts[0])
        agreed = _longer_lags(fire, played)
        if agreed.acts == fire.acts:
            break
        fire = agreed
    assert timing is not None
    return _Laid(played, entries, timing)


def _longer_lags(planned: FireDay, played: FireDay) -> FireDay:
    """The played day with every lag at least as long as was planned (to a tenth of a second)."""
    acts = tuple(
        replace(new, lag_min=old.lag_min if new.lag_min < old.lag_min + 2e-3 else new.lag_min)
        for old, new in zip(planned.acts, played.acts, strict=True)
    )
    cool_min = max(planned.cool_min, played.cool_min)
    kept = tuple(replace(act, minutes=old.minutes)
                 for act, old in zip(acts, planned.acts, strict=True))  # fmt: skip
    return FireDay(kept, played.run, cool_min)


def _shorter(problem: DayProblem, heats: list[Heat], tables: Tables, watch: Watch) -> list[float]:
    """The day's length if it ended after each heat but the last."""
    return [_lay(problem, heats[:n], tables, watch).timing.length_min for n in range(1, len(heats))]


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


@dataclass(frozen=True, slots=True)
class _Late:
    """When it would be lit, when it should be, how long the day is after each heat, and how many
    heats would still fit."""

    lit_min: float
    latest_min: float
    lengths: list[float]
    fit: int


def _too_late(problem: DayProblem, told: _Late, run: Run, tables: Tables) -> Objection:
    """Refused, with the number of heats that still fit, or what the lid off would win."""
    attend_c = figure("attend_c", tables)
    won_h = cool_down_h(run, attend_c) - cool_down_h(run, attend_c, lid_off=True)
    values: dict[str, SayingValue] = {
        "latest": _clock(told.latest_min),
        "light_up": _clock(told.lit_min),
        "closes": _clock(problem.closes_min),
    }
    over_min = told.lit_min - told.latest_min
    if over_min <= 60 * won_h:
        way = Saying("melt.day.lid_off", {"won": Quantity(60 * won_h, "min")})
    elif told.fit:
        way = Saying("melt.day.fewer", {"heats": told.fit, "of": len(told.lengths)})
    else:
        way = Saying("melt.day.another", {"length": Quantity(told.lengths[0] / 60, "h")})
    return Objection("melt.day.too_late", problem.furnace.id, "stop", values, way)


def _clock(minutes: float) -> str:
    whole = int(minutes // 1)
    return f"{whole // 60 % 24:02d}:{whole % 60:02d}"
