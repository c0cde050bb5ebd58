"""How a paper writes: masses in the owner's unit, shares in thousandths, people by their names."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from lemel.cards import Block, Column, Sheet, Signed
from lemel.quantities import Preference, convert
from lemel.values import METALS, Objection, Saying, SayingValue
from lemel.words import remedy, say

__all__ = ["PLUS_MINUS", "Pen"]

PLUS_MINUS = "\N{PLUS-MINUS SIGN}"
_PLACES = {"g": 3, "ozt": 4}
#: An sd of a normal error to the half width that holds it 19 times in 20.
_NINETEEN_IN_TWENTY = 1.96


@dataclass(frozen=True, slots=True)
class Pen:
    """Writes for one reader: `unit` is g or ozt, `names` are the owners' by id."""

    unit: str
    names: Mapping[str, str]
    shop: str = ""

    def say(self, code: str, **values: SayingValue) -> str:
        """The words of one of the papers' own codes."""
        return say(Saying(f"book.paper.{code}", values), units=self._units)

    def told(self, said: Saying | Objection) -> str:
        """What a paper carries as a saying; an objection with what to do."""
        text = say(said, units=self._units)
        do = remedy(said, units=self._units) if isinstance(said, Objection) else ""
        return f"{text} {do}".strip()

    @property
    def _units(self) -> Preference:
        return Preference(mass="ozt") if self.unit == "ozt" else Preference()

    def mass(self, mg: float) -> str:
        """mg as a figure in the reader's unit, without it."""
        grams = Decimal(str(mg)) / 1000
        value = grams if self.unit == "g" else convert(grams, "g", "ozt")
        return f"{value:.{_PLACES[self.unit]}f}"

    def fine(self, ng: int) -> str:
        """The same of ng."""
        return self.mass(ng / 1_000_000)

    def mass_unit(self, mg: float) -> str:
        """A mass with its unit, for the middle of a sentence."""
        return f"{self.mass(mg)} {self.unit}"

    def each_fine(self, fine_ng: Mapping[str, int]) -> str:
        """Fine metal by element in one line."""
        return ", ".join(f"{one} {self.fine(fine_ng[one])}" for one in METALS if fine_ng.get(one))

    def share(self, share: float) -> str:
        """A fineness in thousandths, to the part or, from 990 on, to the tenth."""
        parts = 1000 * share
        return f"{parts:.1f}" if parts >= 990 else f"{parts:.0f}"

    def about(self, share: float, sd: float) -> str:
        """A fineness with how far it may be off, 19 times in 20."""
        width = 1000 * sd * _NINETEEN_IN_TWENTY
        either = f"{width:.1f}" if width < 2 else f"{width:.0f}"
        return f"{self.share(share)} {PLUS_MINUS} {either}"

    def percent(self, share: float) -> str:
        """A share in hundredths; what is there and tiny is told as less than a tenth."""
        if 0 < share < 0.001:
            return "< 0.1 %"
        return f"{100 * share:.1f} %"

    def name(self, owner: str) -> str:
        """A person's name, or the id where the book knows none."""
        return self.names.get(owner) or owner

    def day(self, hour: str) -> str:
        """The day and hour of an entry, as it is read."""
        if len(hour) < 16:
            return hour
        return self.say("hour", day=hour[:10], hour=hour[11:16])

    def col(self, code: str, kind: str = "words", wide_mm: float = 24.0) -> Column:
        """A column by the code of its head; masses name their unit."""
        return Column(self.say(f"col.{code}", unit=self.unit), kind, wide_mm)

    def signed(self, *codes: str) -> Signed:
        """Lines to sign on, by the codes of who signs."""
        return Signed(tuple(self.say(f"sign.{one}") for one in codes), self.say("sign.day"))

    def money(self, amount: Decimal, currency: str = "") -> str:
        """Money to the cent."""
        return f"{amount:.2f} {currency}".strip()

    def sheet(
        self, kind: str, about: str, blocks: tuple[Block, ...], number: str = "", digest: str = ""
    ) -> Sheet:
        """A paper of a kind with its title; the foot names the shop and the book's last entry."""
        foot = self.say("foot", digest=digest[:16]) if digest else ""
        parts = [part for part in (self.shop, foot) if part]
        title = self.say(f"title.{kind}")
        return Sheet(title, about, blocks, number, " \N{MIDDLE DOT} ".join(parts))
