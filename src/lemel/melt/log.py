"""A melt as it was written down: readings, relay or meter, and what the hands did."""

from __future__ import annotations

import csv
from bisect import bisect_left
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise

from lemel.errors import BadInput
from lemel.melt.events import AddMetal, Event, LidOpen, PourOut, PowerOff, SetTo
from lemel.values import Composition

__all__ = [
    "LOG_EVENTS", "LOG_FORMAT", "LogLine", "LogReading", "MeltLog", "drive_of", "log_lines",
    "read_log",
]  # fmt: skip

LOG_FORMAT = "lemel-melt-log 1"
#: Words of the `event` column; those with an amount in the column beside it.
LOG_EVENTS = {
    "charge": "g", "add": "g", "set": "degC", "lid_off": "", "lid_on": "", "off": "", "pour": ""
}  # fmt: skip
COLUMNS = ("minutes", "display_c", "relay", "meter_kwh", "event", "amount")


@dataclass(frozen=True, slots=True)
class LogReading:
    """One line with a reading; `relay` is the share of the time since the line before in
    which the relay was on, `meter_kwh` the meter's count. None: not written down."""

    t_s: float
    display_c: float
    relay: float | None = None
    meter_kwh: float | None = None


@dataclass(frozen=True, slots=True)
class MeltLog:
    """One logged heat. `grade` says how the power is known: relay, meter or thermostat (that
    is, only inferred from display and setpoint)."""

    id: str
    body: Composition
    charge_g: float
    setpoint_c: float
    readings: tuple[LogReading, ...]
    events: tuple[Event, ...] = ()
    ambient_c: float = 18.0

    @property
    def grade(self) -> str:
        """How the power is known, best first."""
        rest = self.readings[1:]
        if rest and all(r.relay is not None for r in rest):
            return "relay"
        if rest and all(r.meter_kwh is not None for r in self.readings):
            return "meter"
        return "thermostat"

    @property
    def end_s(self) -> float:
        """Time of the last reading."""
        return self.readings[-1].t_s


def read_log(text: str, *, id: str, body: Composition, ambient_c: float | None = None) -> MeltLog:
    """A log from CSV text with the columns minutes, display_c, relay, meter_kwh, event, amount.

    Only minutes is needed on every line; lines that start with # are skipped. Events are
    charge, add (grams), set (degC), lid_off, lid_on, off, pour. A charge at the start and a
    setpoint are needed; `ambient_c` None takes the first display reading. Raises BadInput that
    names the line, with every fault of the file.
    """
    faults: list[BadInput] = []
    rows = list(log_lines(text.splitlines(), id=id, wrong=faults.append))
    if faults:
        first = faults[0]
        raise BadInput(first.field, first.value, first.allowed, first.do, faults[1:])
    return _assemble(id, body, rows, ambient_c)


@dataclass(frozen=True, slots=True)
class LogLine:
    """One line of a log: a reading, an event, or both. `place` says which line it is."""

    place: str
    t_s: float
    display_c: float | None
    relay: float | None = None
    meter_kwh: float | None = None
    event: str = ""
    amount: float | None = None


def log_lines(
    lines: Iterable[str], *, id: str, wrong: Callable[[BadInput], None]
) -> Iterator[LogLine]:
    """The lines of a log one by one, as they come, in the columns that the first one names.

    A line that cannot be read, or that lies before the one above it, is told to `wrong` and left
    out. Raises BadInput where the columns are missing or unknown.
    """
    names: list[str] | None = None
    last_s = 0.0
    for n, text in enumerate(lines, 1):
        if not text.strip() or text.lstrip().startswith("#"):
            continue
        cells = [cell.strip() for cell in next(csv.reader([text]))]
        if names is None:
            names = _columns(id, cells)
            continue
        try:
            line = _line(f"{id} line {n}", dict(zip(names, cells, strict=False)))
            if line.t_s < last_s:
                raise BadInput(
                    f"{line.place}.minutes", line.t_s / 60, f"{last_s / 60:g} or later", "Sort it."
                )
        except BadInput as fault:
            wrong(fault)
            continue
        last_s = line.t_s
        yield line
    if names is None:
        raise BadInput(id, "", "a line of column names and readings", "Write the log down.")


def _columns(id: str, names: list[str]) -> list[str]:
    unknown = [name for name in names if name not in COLUMNS]
    if unknown or "minutes" not in names or "display_c" not in names:
        raise BadInput(
            f"{id}.columns", ", ".join(unknown or names), ", ".join(COLUMNS), "Name the columns so."
        )
    return names


def _line(place: str, row: dict[str, str]) -> LogLine:
    event = row.get("event", "").strip()
    if event and event not in LOG_EVENTS:
        raise BadInput(f"{place}.event", event, ", ".join(LOG_EVENTS), "Use one of these words.")
    amount = _number(place, "amount", row, 0, 1e5)
    if event and LOG_EVENTS[event] and amount is None:
        raise BadInput(f"{place}.amount", "", f"a number in {LOG_EVENTS[event]}", "Write it down.")
    minutes = _number(place, "minutes", row, 0, 1440)
    if minutes is None:
        raise BadInput(f"{place}.minutes", "", "0 to 1440", "Every line needs its time.")
    return LogLine(
        place,
        60 * minutes,
        _number(place, "display_c", row, -30, 1700),
        _number(place, "relay", row, 0, 1),
        _number(place, "meter_kwh", row, 0, 1e7),
        event,
        amount,
    )


def _number(place: str, name: str, row: dict[str, str], low: float, high: float) -> float | None:
    text = row.get(name, "").strip()
    if not text:
        return None
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not low <= value <= high:
        raise BadInput(f"{place}.{name}", text, f"{low:g} to {high:g}", "Write a plain number.")
    return value


def _assemble(id: str, body: Composition, rows: list[LogLine], ambient_c: float | None) -> MeltLog:
    readings = tuple(
        LogReading(row.t_s, row.display_c, row.relay, row.meter_kwh)
        for row in rows
        if row.display_c is not None
    )
    if len(readings) < 8:
        raise BadInput(id, len(readings), "8 readings or more", "Write down a reading a minute.")
    charge_g, setpoint_c, events = _hands(id, rows)
    room_c = readings[0].display_c if ambient_c is None else ambient_c
    return MeltLog(id, body, charge_g, setpoint_c, readings, events, room_c)


def _hands(id: str, rows: list[LogLine]) -> tuple[float, float, tuple[Event, ...]]:
    charge_g, setpoint_c = 0.0, None
    events: list[Event] = []
    opened: float | None = None
    for row in rows:
        match row.event:
            case "charge" if row.t_s == 0:
                charge_g += row.amount or 0.0
            case "charge" | "add":
                events.append(AddMetal(row.t_s, row.amount or 0.0))
            case "set":
                if setpoint_c is None:
                    setpoint_c = row.amount
                else:
                    events.append(SetTo(row.t_s, row.amount or 0.0))
            case "lid_off":
                opened = row.t_s
            case "lid_on" if opened is not None:
                events.append(LidOpen(opened, row.t_s))
                opened = None
            case "off":
                events.append(PowerOff(row.t_s))
            case "pour":
                events.append(PourOut(row.t_s))
    if opened is not None:
        events.append(LidOpen(opened, rows[-1].t_s))
    if setpoint_c is None:
        raise BadInput(f"{id}.set", "", "an event `set` with degC", "Write down what was set.")
    events.sort(key=lambda event: event.at_s)
    return charge_g, setpoint_c, tuple(events)


def drive_of(log: MeltLog, power_w: float) -> Callable[[float], float] | None:
    """The share of full power over time, as far as the log tells.

    From the relay's record, else from the meter's count over the nominal power. None where
    neither was written down: then the controller has to be simulated (lower grade).
    """
    readings = log.readings
    times = [reading.t_s for reading in readings]
    if log.grade == "relay":
        shares = [reading.relay or 0.0 for reading in readings]
    elif log.grade == "meter":
        shares = [0.0]
        for before, now in pairwise(readings):
            used_j = 3.6e6 * ((now.meter_kwh or 0.0) - (before.meter_kwh or 0.0))
            span_s = max(now.t_s - before.t_s, 1e-9)
            shares.append(min(1.0, max(0.0, used_j / (power_w * span_s))))
    else:
        return None

    def share(t_s: float) -> float:
        return shares[min(bisect_left(times, t_s), len(shares) - 1)]

    return share
