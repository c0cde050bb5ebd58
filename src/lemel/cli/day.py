"""`lemel day`: when to light up, and what the hands do until the door is shut."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from lemel.cli.answer import INFEASIBLE, Told, plain
from lemel.cli.fire import heat_to_pour_c
from lemel.cli.run import verb
from lemel.cli.watching import watching
from lemel.errors import Stopped
from lemel.files import DayFile, DayHeatFile, read_day
from lemel.melt import DayEntry, DayHeat, DayPlan, DayProblem, MeltProblem, by_family, plan_day
from lemel.metal import family
from lemel.pour import PourProblem
from lemel.pour import do as fill_mould
from lemel.values import Objection, Saying

if TYPE_CHECKING:
    from lemel.cli.paper import Paper

__all__ = ["day"]


@verb("day")
@click.argument("file", metavar="FILE")
def day(file: str) -> Told:
    """FILE holds the day's heats and the closing time; see docs/files.md."""
    given = read_day(file)
    heats = tuple(_heat(given, one) for one in given.heats)
    ordered = heats if given.keep_order else by_family(heats)
    problem = DayProblem(
        given.furnace, ordered, given.closes_min, given.opens_min, given.light_up_min
    )
    with watching("day") as watch:
        found = plan_day(problem, watch=watch)
        if watch.interrupted:
            raise Stopped("day")
    code = INFEASIBLE if found.status == "infeasible" else 0
    return Told(_payload(found, ordered), lambda paper: _show(found, paper), code)


def _heat(given: DayFile, one: DayHeatFile) -> DayHeat:
    """A heat with what the pour says of it where the file says nothing."""
    charge = one.charge
    body, pot = charge.composition_mean, one.crucible
    pour_at_c = one.pour_at_c or heat_to_pour_c(body, charge.mass_g, one.mould, pot)
    pours, wait_s = one.pours or 1, one.wait_s or 0.0
    if one.mould is not None and (one.pours is None or one.wait_s is None):
        poured = fill_mould(
            PourProblem(
                charge.heat, charge.owner, body, charge.sd, charge.mass_g, pour_at_c,
                one.mould, pot=pot,
            )
        )  # fmt: skip
        pours = one.pours or max(1, poured.pours)
        wait_s = poured.wait_between_s if one.wait_s is None else one.wait_s
    problem = MeltProblem(
        charge,
        pour_at_c,
        given.furnace,
        pot,
        None,
        one.family or family(body),
        given.ambient_c,
        given.ambient_c,
        one.piece_g,
        one.condition,
    )
    mould = one.mould.id if one.mould is not None else "wire bar"
    return DayHeat(problem, mould, pours, wait_s, one.kiln_min, one.mill_min)


def _payload(found: DayPlan, heats: tuple[DayHeat, ...]) -> dict[str, Any]:
    payload: dict[str, Any] = plain(found)
    payload["heats"] = [heat.name for heat in heats]
    payload["light_up"] = _clock(found.light_up_min)
    payload["latest_light_up"] = _clock(found.latest_light_up_min)
    payload["entries"] = [
        {**plain(one), "start": _clock(one.start_min), "end": _clock(one.end_min),
         "text": _words(one)}
        for one in found.entries
    ]  # fmt: skip
    return payload


def _clock(minutes: float) -> str:
    whole = round(minutes)
    return f"{whole // 60 % 24:02d}:{whole % 60:02d}"


def _words(one: DayEntry) -> str:
    from lemel.words import say

    return say(Saying(one.code, {"heat": one.heat}))


def _show(found: DayPlan, paper: Paper) -> None:
    stopped = [one for one in found.objections if one.grade == "stop"]
    if stopped:
        paper.line("The day does not go like this.")
    else:
        ends = max(one.end_min for one in found.entries)
        begins = min(one.start_min for one in found.entries)
        paper.line(
            f"Begin at {_clock(begins)}, light up at {_clock(found.light_up_min)}, shut at "
            f"{_clock(ends)}."
        )
        if not found.proven:
            more = found.length_min - found.least_min
            paper.line(f"Another order of the work may be shorter, by {more:.0f} min at most.")
    paper.sayings("Why", stopped)
    if found.entries:
        paper.head("What needs the hands" if not stopped else "How it would go")
        _table([one for one in found.entries if one.hands], paper)
        paper.head("What goes on meanwhile")
        _table([one for one in found.entries if not one.hands], paper)
        paper.facts(
            [
                ("light up by", _clock(found.latest_light_up_min)),
                ("hands busy", f"{found.hands_min:.0f} min of {found.length_min:.0f}"),
                ("hot metal waits for hands or mould", f"{found.waited_min:.0f} min"),
                ("electricity", f"{found.energy_kwh:.2f} kWh"),
            ]
        )
    rest: list[Objection | Saying] = [one for one in found.objections if one.grade != "stop"]
    paper.sayings("Mind", [*rest, *found.notes])


def _table(entries: list[DayEntry], paper: Paper) -> None:
    paper.table(
        ("from", "to", "where", "what"),
        [(_clock(one.start_min), _clock(one.end_min), one.place, _words(one)) for one in entries],
        left=3,
        words_last=True,
    )
