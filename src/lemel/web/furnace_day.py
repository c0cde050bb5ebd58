"""When the fire must be lit for the shop to be shut in time, and what must be there before."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime

from lemel.book import Book
from lemel.errors import BadInput
from lemel.melt import DayHeat, DayPlan, DayProblem, MeltProblem, plan_day
from lemel.plan import HeatPlan
from lemel.tables import Tables, shipped
from lemel.values import Caution, Crucible, Furnace, Quantity, Saying, Workshop
from lemel.web.reader import remedy, say, show

__all__ = [
    "Fire", "Look", "Times", "clock", "clock_min", "fire_of", "here_and_now_min", "looks", "times",
    "workshop_of",
]  # fmt: skip

_HOUR = re.compile(r"([01]?\d|2[0-3]|24)[:.]([0-5]\d)")
_DAY_MIN = 24 * 60


@dataclass(frozen=True, slots=True)
class Fire:
    """Furnace and pot of a heat as the book has them; None: a torch, or not on record."""

    furnace: Furnace | None
    pot: Crucible | None
    tables: Tables


@dataclass(frozen=True, slots=True)
class Look:
    """One thing that is looked at before the fire is lit."""

    key: str
    said: Saying | Caution | None
    word: str = ""
    cannot: str = ""


@dataclass(frozen=True, slots=True)
class Times:
    """The hours of a heat in minutes after midnight. `latest_min` is the last light-up for the
    closing time; `late` says why it cannot be, with what else can be done; `day` what happens when
    (None: worked out from the plan's own times)."""

    closes_min: float
    light_min: float
    latest_min: float
    length_min: float
    late: tuple[str, ...] = ()
    day: DayPlan | None = None


def clock_min(said: str, field: str) -> float:
    """Minutes after midnight of an hour as 17:00; BadInput at the field for anything else.

    >>> clock_min("13.26", "closes")
    806.0
    """
    found = _HOUR.fullmatch(said.strip())
    minutes = float(60 * int(found[1]) + int(found[2])) if found else -1.0
    if not 0 <= minutes <= _DAY_MIN:
        raise BadInput(field, said, "an hour of the day", "Write it as 17:00.")
    return minutes


def clock(minutes: float) -> str:
    """Minutes after midnight as an hour; beyond midnight it says so.

    >>> clock(806.8), clock(1500)
    ('13:26', '01:00 the next day')
    """
    days, within = divmod(int(minutes), _DAY_MIN)
    hour = f"{within // 60:02d}:{within % 60:02d}"
    return hour if days == 0 else f"{hour} the {'next day' if days > 0 else 'day before'}"


def here_and_now_min() -> float:
    """The shop's own clock, in minutes after midnight."""
    now = datetime.now().astimezone()
    return float(60 * now.hour + now.minute)


def workshop_of(book: Book) -> Workshop | None:
    """The workshop on record; None where none was entered yet."""
    try:
        return book.bench.workshop()
    except BadInput:
        return None


def fire_of(book: Book, heat: HeatPlan) -> Fire:
    """The furnace and pot that the plan named, with the house's own figures."""
    shop = workshop_of(book)
    if shop is None:
        return Fire(None, None, shipped())
    tables = shipped().with_overrides(shop.table_overrides)
    furnace = next((one for one in shop.furnaces if one.id == heat.fire), None)
    pot = next((one for one in shop.crucibles if one.id == heat.pot), None)
    return Fire(furnace, pot, tables)


def times(heat: HeatPlan, fire: Fire, closes_min: float, light_min: float) -> Times:
    """When to light up, and whether the door can be shut in time."""
    if fire.furnace is None or fire.pot is None:
        return _by_plan(heat, fire.tables, closes_min, light_min)
    pours = [one for one in heat.pours if one.castings]
    asked = DayHeat(
        MeltProblem(
            heat.charge, _pour_at_c(heat), fire.furnace, fire.pot, family=heat.family,
            condition={line.body: "dry" for line in heat.charge.lines},
        ),
        mould=heat.moulds[0] if heat.moulds else "mould",
        pours=max(1, len(pours)),
        wait_s=max((one.wait_between_s for one in pours), default=0.0),
    )  # fmt: skip
    day = plan_day(
        DayProblem(fire.furnace, (asked,), closes_min=closes_min, light_up_min=light_min),
        tables=fire.tables,
    )
    late = tuple(
        part for one in day.objections if one.grade == "stop" for part in (say(one), remedy(one))
    )
    return Times(closes_min, light_min, day.latest_light_up_min, day.length_min, late, day)


def _pour_at_c(heat: HeatPlan) -> float:
    """How hot the bath is wanted when it leaves the fire."""
    for step in heat.melt.steps:
        if step.action.startswith("melt.step.pour") and step.bath_c_before is not None:
            return step.bath_c_before
    return heat.melt.liquidus_c


def _by_plan(heat: HeatPlan, tables: Tables, closes_min: float, light_min: float) -> Times:
    """The plan's minutes to the pour, then cooling or fire watch, whichever ends later."""
    watch_h = tables.row("melt_figure", "cool_watch_h").number("value")
    length = heat.melt.minutes_to_pour + 60 * max(heat.melt.cool_down_h, watch_h)
    latest = closes_min - length
    late: tuple[str, ...] = ()
    if light_min > latest:
        lasts = show(Quantity(length, "min"))
        late = (
            f"With its cooling and the fire watch it takes {lasts}.",
            f"Light up by {clock(latest)}, take another day, or have somebody stay longer.",
        )
    return Times(closes_min, light_min, latest, length, late)


def looks(heat: HeatPlan) -> tuple[Look, ...]:
    """What is looked at and gone through, cold, before light-up."""
    tray = next((one for one in heat.melt.cautions if one.code == "melt.care.tray"), None)
    found = [
        Look("tray", tray, "Tray with dry sand",
             "Set fire and mould in a steel tray with dry sand first."),
        Look("rod", None, "Rod and tongs lie at hand, warm and dry",
             "Lay rod and tongs beside the fire first; a cold damp rod spits."),
    ]  # fmt: skip
    for mould in dict.fromkeys(heat.moulds):
        found.append(
            Look(
                f"mould-{len(found)}",
                None,
                f"{mould} is here, clean, and can be set to warm",
                f"Fetch {mould} first, or plan again with a mould that is here.",
            )
        )
    seen: dict[Saying, None] = {}
    for pour in heat.pours:
        seen.update(dict.fromkeys(pour.rehearse))
    for n, said in enumerate(seen, 1):
        found.append(
            Look(f"walk-{n}", said, "", "Go through it once, cold, and mend what was amiss.")
        )
    return tuple(found)
