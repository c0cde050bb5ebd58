"""What a bench has measured of its own bars, and the problem planned anew with it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TypeVar

from lemel.errors import BadInput, require
from lemel.metal import Working
from lemel.mill.calibrate import (
    HardnessRead,
    Learnt,
    PassRead,
    SettingRead,
    StandLearnt,
    TimeRead,
    learn_hardness,
    learn_lead,
    learn_pace,
    learn_spread,
    learn_stand,
)
from lemel.mill.faces import MillProblem
from lemel.mill.matter import matter_of
from lemel.tables import Tables
from lemel.values import Mill

__all__ = ["Lessons", "Measured", "learn"]

Made = TypeVar("Made")


@dataclass(frozen=True, slots=True)
class Measured:
    """Readings of one bench, each list as long as it is.

    `mill` names the mill they were taken on (None: the only one). `screw` holds (turns, gap in
    mm), `hardness` belongs to the metal of the bar that is to be worked.
    """

    mill: str | None = None
    width: tuple[PassRead, ...] = ()
    strip: tuple[SettingRead, ...] = ()
    screw: tuple[tuple[float, float], ...] = ()
    hardness: tuple[HardnessRead, ...] = ()
    minutes: tuple[TimeRead, ...] = ()


@dataclass(frozen=True, slots=True)
class Lessons:
    """What was learnt; None where nothing was measured."""

    spread: Learnt | None = None
    stand: StandLearnt | None = None
    lead: Learnt | None = None
    working: Working | None = None
    pace: Learnt | None = None


def learn(
    problem: MillProblem, measured: Measured, *, tables: Tables | None = None
) -> tuple[MillProblem, Lessons]:
    """The problem with everything in it that the readings teach, and what that is.

    Raises BadInput, named after the list, where readings are too few or do not fit.
    """
    mill = _mill_of(problem, measured)
    body, working = problem.bar.body, problem.working
    spread = stand = lead = hard = pace = None
    if measured.width and mill:
        roll = mill.roll_r_mm
        spread = _named("width", lambda: learn_spread(measured.width, roll, tables=tables))
    if measured.strip and mill:
        own = mill
        stand = _named("strip", lambda: learn_stand(measured.strip, own, body, tables=tables))
        mill = stand.mill
    if measured.screw and mill:
        lead = _named("screw", lambda: learn_lead(measured.screw))
        mill = replace(mill, lead_mm=lead.value)
    if measured.hardness:
        curve = working or matter_of(body, tables).working
        hard = _named("hardness", lambda: learn_hardness(measured.hardness, curve))
    if measured.minutes:
        pace = _named("minutes", lambda: learn_pace(measured.minutes))
    mills = tuple(mill if mill and one.id == mill.id else one for one in problem.kit.mills)
    anew = replace(
        problem,
        kit=replace(problem.kit, mills=mills),
        spread_factor=spread.value if spread else problem.spread_factor,
        working=hard or working,
        pace=pace.value if pace else problem.pace,
    )
    return anew, Lessons(spread, stand, lead, hard, pace)


def _mill_of(problem: MillProblem, measured: Measured) -> Mill | None:
    """The mill that was measured; BadInput where readings need one and none is named."""
    names = ", ".join(mill.id for mill in problem.kit.mills)
    found = [mill for mill in problem.kit.mills if measured.mill in (None, mill.id)]
    wanted = measured.width or measured.strip or measured.screw or measured.mill
    require(
        not wanted or len(found) == 1, "measured.mill", measured.mill or "missing",
        names or "a mill", "Name the mill that the readings were taken on.",
    )  # fmt: skip
    return found[0] if len(found) == 1 else None


def _named(name: str, work: Callable[[], Made]) -> Made:
    try:
        return work()
    except BadInput as fault:
        raise BadInput(f"measured.{name}", fault.value, fault.allowed, fault.do) from None
