"""Figures as a hand can use them: rounded to what a tool can be set to, in the reader's units.

The JSON keeps the digits, the card does not.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from lemel.quantities import (
    AS_IT_COMES,
    Preference,
    hand_band,
    hand_gap,
    hand_mass,
    hand_temperature,
    show,
    to_step,
)
from lemel.values import Caution, Objection, Quantity, Saying, SayingValue, Section
from lemel.words import remedy, say, template

__all__ = ["Hand"]

#: Longer wire is told in metres.
_METRES_FROM_MM = 3000.0
_HOURS_FROM_MIN = 90.0
#: From here on a saw cut is not marked finer than a millimetre.
_LONG_CUT_MM = 300.0


@dataclass(frozen=True, slots=True)
class Hand:
    """Writes figures and sentences for one reader."""

    units: Preference = AS_IT_COMES

    def say(self, code: str, **values: SayingValue) -> str:
        """The words of one of the cards' own codes."""
        return say(Saying(code, values), units=self.units)

    def told(self, said: Saying | Objection | Caution) -> str:
        """A room's sentence; an objection with what to do about it."""
        text = say(said, units=self.units)
        do = remedy(said, units=self.units) if isinstance(said, Objection) else ""
        return f"{text} {do}".strip()

    def short(self, said: Saying | Caution) -> str:
        """A room's sentence in the card's few words; whole where the card has none of its own."""
        code = f"cards.short.{said.code}"
        if template(code) is None:
            return say(said, units=self.units)
        return say(Saying(code, said.values), units=self.units)

    def mass(self, mass_g: float) -> str:
        """Grams as the balance shows them."""
        return show(Quantity(hand_mass(mass_g), "g"), self.units)

    def figure(self, mass_g: float) -> tuple[str, str]:
        """A mass as (number, unit), for a column of figures."""
        number, _, unit = self.mass(mass_g).rpartition(" ")
        return number, unit

    def heat(self, temp_c: float) -> str:
        """A temperature to the next ten degrees."""
        return show(Quantity(hand_temperature(temp_c), "degC"), self.units)

    def band(self, lo_c: float, hi_c: float) -> str:
        """A band of temperatures in steps that a controller or an eye can keep."""
        lo, hi = hand_band(lo_c, hi_c)
        if lo == hi:
            return self.heat(lo)
        first = show(Quantity(lo, "degC"), self.units).rpartition(" ")[0]
        return f"{first}\N{EN DASH}{show(Quantity(hi, 'degC'), self.units)}"

    def size(self, mm: float) -> str:
        """A thickness, gap or diameter that can be set or measured."""
        return show(Quantity(_fine(mm), "mm"), self.units)

    def bare_size(self, mm: float) -> str:
        """The same without its unit."""
        return self.size(mm).rpartition(" ")[0]

    def length(self, mm: float) -> str:
        """A length to the millimetre, long wire in metres."""
        if mm >= _METRES_FROM_MM:
            return show(Quantity(to_step(mm / 1000, 0.01), "m"), self.units)
        return show(Quantity(to_step(mm, 1.0), "mm"), self.units)

    def cut(self, mm: float) -> str:
        """A length to be marked out and cut: finer while it is short."""
        return self.size(mm) if mm < _LONG_CUT_MM else self.length(mm)

    def minutes(self, minutes: float) -> str:
        """Minutes, or hours and minutes."""
        whole = round(minutes)
        if whole < _HOURS_FROM_MIN:
            return show(Quantity(float(max(1, whole)), "min"))
        return f"{whole // 60} h {whole % 60:02d}"

    def section(self, section: Section) -> str:
        """A section by name and size: half round 2.2 x 4."""
        dims = dict(section.dims_mm)
        order = [
            name for name in ("thickness", "height", "side", "diameter", "width") if name in dims
        ]
        sizes = [self.size(dims[name]) for name in order]
        unit = sizes[-1].rpartition(" ")[2]
        numbers = " \N{MULTIPLICATION SIGN} ".join(one.rpartition(" ")[0] for one in sizes)
        return f"{self.say(f'cards.section.{section.kind}')} {numbers} {unit}"

    def day(self, day: date | None) -> str:
        """A date as it stands on a calendar; nothing where none was named."""
        if day is None:
            return ""
        return f"{day.day} {self.say(f'cards.month.{day.month}')}"

    def count(self, number: int) -> str:
        """Few things in words, many in figures."""
        return self.say(f"cards.count.{number}") if 0 < number <= 12 else str(number)


def _fine(mm: float) -> float:
    """Thin stock is set finer than the common step of a bench mill."""
    return hand_gap(mm) if mm >= 1.0 else to_step(mm, 0.01)
