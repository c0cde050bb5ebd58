"""The acts of a day as chains for one pair of hands, and the day that comes of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Protocol

from lemel.melt.day_fire import FireDay
from lemel.melt.figures import figure
from lemel.melt.hands import Act, Timing, in_turn
from lemel.tables import Tables

__all__ = ["DayEntry", "Follows", "lay_out"]

FIRE = 0


@dataclass(frozen=True, slots=True)
class DayEntry:
    """One line of the day: what (a code), for which heat, where, from when to when.

    `hands` True: it needs somebody's hands all the time, and no other such line overlaps it.
    """

    code: str
    heat: str
    place: str
    start_min: float
    end_min: float
    hands: bool = False


class Follows(Protocol):
    """What the day must know of a heat beside its fire."""

    @property
    def mould(self) -> str: ...

    @property
    def wait_s(self) -> float: ...

    @property
    def kiln_min(self) -> float: ...

    @property
    def mill_min(self) -> float: ...

    @property
    def name(self) -> str: ...


@dataclass(frozen=True, slots=True)
class _Chain:
    """Acts with what each is called and where it is done; a chain belongs to one heat or to the
    furnace (heat "" there: each act names its own)."""

    acts: tuple[Act, ...]
    named: tuple[tuple[str, str, str], ...]


def lay_out(
    fire: FireDay, heats: Sequence[Follows], tables: Tables, before: Timing | None = None
) -> tuple[tuple[DayEntry, ...], Timing]:
    """The shortest day for one pair of hands, from light-up at 0, and its proof.

    A timing `before` that could not be proven is not searched again: its order is kept.
    """
    chains = _chains(fire, heats, tables)
    order = before.order if before is not None and not before.proven else None
    timing = in_turn([chain.acts for chain in chains], order=order)
    return _entries(fire, heats, chains, timing, tables), timing


_SWAP = "melt.day.swap"
_POURS = ("melt.day.pour", "melt.day.pour_again")


def _chains(fire: FireDay, heats: Sequence[Follows], tables: Tables) -> list[_Chain]:
    """The furnace, then the moulds that have to be warmed, then the bars of each heat."""
    moulds = list(dict.fromkeys(heat.mould for heat in heats))
    set_up = Act(figure("set_mould_min", tables))
    warm = [
        _Chain((set_up,), (("melt.day.set_mould", _first(heats, mould), mould),))
        for mould in moulds
    ]
    bars = [_bars(fire, n, heat, tables) for n, heat in enumerate(heats)]
    return [_furnace(fire, heats, moulds, tables), *warm, *bars]


def _first(heats: Sequence[Follows], mould: str) -> str:
    return next(heat.name for heat in heats if heat.mould == mould)


def _furnace(fire: FireDay, heats: Sequence[Follows], moulds: list[str], tables: Tables) -> _Chain:
    """Heat after heat; a pour waits for its mould, warmed through or cooled from the last one."""
    acts, named = [], []
    used: dict[str, int] = {}
    warm_min = figure("mould_warm_min", tables)
    for k, one in enumerate(fire.acts):
        heat = heats[one.heat]
        pours = one.code in _POURS
        hot = one.code not in ("melt.day.charge", _SWAP)
        act = Act(one.minutes, one.lag_min, urgent=hot, late=not pours)
        if pours:
            before = used.get(heat.mould)
            gate = (
                (1 + moulds.index(heat.mould), 0, warm_min)
                if before is None
                else (FIRE, before, heat.wait_s / 60)
            )
            act = replace(act, after=(gate,))
            used[heat.mould] = k
        acts.append(act)
        named.append((one.code, heat.name, heat.mould if pours else "furnace"))
    watch_min = 60 * figure("cool_watch_h", tables)
    acts[-1] = replace(acts[-1], lag_min=max(fire.cool_min, watch_min))
    return _Chain(tuple(acts), tuple(named))


def _bars(fire: FireDay, n: int, heat: Follows, tables: Tables) -> _Chain:
    """From the last bar out of the mould to the last pass."""
    last = max(k for k, one in enumerate(fire.acts) if one.heat == n and one.code in _POURS)
    after = ((FIRE, last, figure("bar_cools_min", tables)),)
    pickle_min, hands_min = figure("pickle_min", tables), figure("kiln_hands_min", tables)
    acts = [
        Act(figure("into_pickle_min", tables), pickle_min, after, takes="pickle"),
        Act(figure("out_of_pickle_min", tables), frees="pickle"),
    ]
    named = [("melt.day.into_pickle", "pickle"), ("melt.day.out_of_pickle", "pickle")]
    if heat.kiln_min:
        acts += [
            Act(hands_min, heat.kiln_min, takes="kiln"),
            Act(hands_min, frees="kiln", urgent=True),
        ]
        named += [("melt.day.into_kiln", "kiln"), ("melt.day.out_of_kiln", "kiln")]
    left, turn_min = heat.mill_min, figure("mill_turn_min", tables)
    while left > 1e-9:
        acts.append(Act(min(turn_min, left)))
        named.append(("melt.day.mill", "mill"))
        left -= turn_min
    return _Chain(tuple(acts), tuple((code, heat.name, place) for code, place in named))


#: What goes on by itself between an act and the next of its chain.
_MEANWHILE = {
    "melt.day.charge": ("melt.day.heat", "furnace"),
    "melt.day.top_up": ("melt.day.heat", "furnace"),
    "melt.day.into_pickle": ("melt.day.pickle", "pickle"),
    "melt.day.into_kiln": ("melt.day.kiln", "kiln"),
}


def _entries(
    fire: FireDay,
    heats: Sequence[Follows],
    chains: list[_Chain],
    timing: Timing,
    tables: Tables,
) -> tuple[DayEntry, ...]:
    """Acts of the hands and what goes on meanwhile, in order of time."""
    starts = [list(one) for one in timing.starts]
    moulds = len(chains) - 1 - len(heats)
    poured_at = {place: starts[FIRE][k] for k, place in _first_pours(chains[FIRE]).items()}
    for c in range(1, 1 + moulds):
        mould = chains[c].named[0][2]
        _set_late(chains, starts, c, poured_at[mould] - figure("mould_warm_min", tables))
    found: list[DayEntry] = []
    for chain, begins in zip(chains, starts, strict=True):
        found += _of_chain(chain, begins)
    for c in range(1, 1 + moulds):
        (code, heat, mould), end = chains[c].named[0], starts[c][0] + chains[c].acts[0].minutes
        found.append(DayEntry("melt.day.warm_mould", heat, mould, end, poured_at[mould]))
    for n, heat_of in enumerate(heats):
        last = max(k for k, one in enumerate(fire.acts) if one.heat == n)
        done = starts[FIRE][last] + chains[FIRE].acts[last].minutes
        into = starts[1 + moulds + n][0]
        found.append(DayEntry("melt.day.bar_cools", heat_of.name, "bars", done, into))
    last_min = starts[FIRE][-1] + chains[FIRE].acts[-1].minutes
    for code, place, minutes in (
        ("melt.day.cool", "furnace", fire.cool_min),
        ("melt.day.fire_watch", "watch", 60 * figure("cool_watch_h", tables)),
    ):
        found.append(DayEntry(code, "", place, last_min, last_min + minutes))
    return tuple(sorted(found, key=lambda e: (e.start_min, not e.hands, e.place)))


def _first_pours(furnace: _Chain) -> dict[int, str]:
    """Place in the furnace's chain of the first pour into each mould."""
    found: dict[str, int] = {}
    for k, (code, _, place) in enumerate(furnace.named):
        if code in _POURS:
            found.setdefault(place, k)
    return {k: place for place, k in found.items()}


def _of_chain(chain: _Chain, begins: Sequence[float]) -> list[DayEntry]:
    """The acts of a chain, passes of one go joined, and what lies between them."""
    found: list[DayEntry] = []
    for i, (code, heat, place) in enumerate(chain.named):
        end = begins[i] + chain.acts[i].minutes
        last = found[-1] if found else None
        if last and (last.code, last.heat) == (code, heat) and begins[i] - last.end_min < 1e-9:
            found[-1] = replace(last, end_min=end)
        else:
            found.append(DayEntry(code, heat, place, begins[i], end, hands=True))
        if code in _MEANWHILE and begins[i + 1] > end:
            goes_on, where = _MEANWHILE[code]
            found.append(DayEntry(goes_on, heat, where, end, begins[i + 1]))
    return found


def _set_late(chains: list[_Chain], starts: list[list[float]], c: int, latest_end: float) -> None:
    """Move the only act of a chain as late as the hands allow: nothing else hangs on it."""
    minutes = chains[c].acts[0].minutes
    busy = [
        (begin, begin + act.minutes)
        for other, (chain, begins) in enumerate(zip(chains, starts, strict=True))
        for act, begin in zip(chain.acts, begins, strict=True)
        if other != c
    ]
    tries = [latest_end - minutes, *(begin - minutes for begin, _ in busy), starts[c][0]]
    free = [
        start
        for start in tries
        if start + minutes <= latest_end + 1e-9
        and all(start + minutes <= a + 1e-9 or start >= b - 1e-9 for a, b in busy)
    ]
    starts[c][0] = max(free)
