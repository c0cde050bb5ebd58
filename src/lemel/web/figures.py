"""Figures as on the balance, and a fineness on its ruler, as HTML and SVG."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, log10

from django.utils.html import format_html
from django.utils.safestring import SafeString

from lemel.web.reader import in_unit

__all__ = ["Ruler", "figure", "grams", "ruler", "split_digits"]

#: Between thousands; narrow, and never a place to break a line.
_GAP = "\u202f"
_MOST_PLACES = 6


def split_digits(value: float, sd: float | None, places: int = 3) -> tuple[str, str]:
    """A number as the digits that are sure and the last one, which is not.

    Written to the place of the first digit of `sd`; without `sd` all of `places` are sure.

    >>> split_digits(925.37, 0.8), split_digits(925.37, 12.0), split_digits(41.2, None, 2)
    (('925.', '4'), ('9', '30'), ('41.20', ''))
    """
    if sd is None or sd <= 0:
        return f"{value:,.{places}f}".replace(",", _GAP), ""
    place = min(_MOST_PLACES, -floor(log10(sd)))
    text = f"{round(value, place):,.{max(0, place)}f}".replace(",", _GAP)
    unsure = 1 if place >= 0 else 1 - place
    return text[:-unsure], text[-unsure:]


def figure(value: float, unit: str = "", sd: float | None = None, places: int = 3) -> SafeString:
    """A number with its unit small after it, the unsure digit lighter; in the reader's unit."""
    value, unit, sd, places = in_unit(value, unit, sd, places)
    sure, unsure = split_digits(value, sd, places)
    tail = format_html('<span class="unsure">{}</span>', unsure) if unsure else ""
    small = format_html("<small> {}</small>", unit) if unit else ""
    return format_html(
        '<data class="figure" value="{}"><span>{}{}</span>{}</data>', value, sure, tail, small
    )


def grams(mg: int) -> SafeString:
    """mg of the book as grams, all of them sure."""
    return figure(mg / 1000, "g")


@dataclass(frozen=True, slots=True)
class Ruler:
    """A fineness on a ruler of 192 units: smears for 1, 2 and 3 sd, the mean, the notch, ticks.

    `notch` None: no standard is asked for.
    """

    said: str
    smears: tuple[tuple[float, float], ...]
    mean: float
    notch: float | None
    notch_word: str
    ticks: tuple[float, ...]
    least: str
    most: str


_WIDE = 192.0


def ruler(mean: float, sd: float, standard: float | None = None) -> Ruler:
    """Where a fineness (millesimal, with its sd) lies against a standard."""
    ends = [mean - 4 * sd, mean + 4 * sd, *([standard] if standard is not None else [])]
    step = next(s for s in (1, 2, 5, 10, 20, 50, 100, 200) if (max(ends) - min(ends)) / s <= 12)
    least = max(0, floor(min(ends) / step) * step - step)
    most = min(1000, (floor(max(ends) / step) + 2) * step)

    def at(value: float) -> float:
        return round(min(1.0, max(0.0, (value - least) / (most - least))) * _WIDE, 1)

    smears = tuple(
        (at(mean - n * sd), round(at(mean + n * sd) - at(mean - n * sd), 1)) for n in (3, 2, 1)
    )
    said = f"fineness {mean:.1f} give or take {sd:.1f}"
    if standard is not None:
        said += f", the standard at {standard:g}"
    ticks = tuple(at(value) for value in range(least, most + 1, step))
    notch = None if standard is None else at(standard)
    return Ruler(
        said, smears, at(mean), notch, "" if standard is None else f"{standard:g}",
        ticks, f"{least:g}", f"{most:g}",
    )  # fmt: skip
