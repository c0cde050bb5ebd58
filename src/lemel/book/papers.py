"""`Papers`: what the house gives out and signs, made from the book and kept in it.

Each paper is a plain value; `pdf` sets it. Those that are given out or signed are numbered in the
order of their making and never edited; statement, value list and origin statement are looks at
the book, and carry the digest of the entry they were made after instead.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from lemel.book import (
    filing,
    house,
    ledger,
    loss_owners,
    papers_assay,
    papers_count,
    papers_origin,
    papers_quote,
    papers_receipt,
    papers_refiner,
    papers_worth,
    people,
    prices,
)
from lemel.book.loss_values import OwnerLoss
from lemel.book.papers_assay import Found, ToAssay
from lemel.book.papers_away import AssayParcel, RefinerParcel, RefinerTerms
from lemel.book.papers_print import Printed, sheet
from lemel.book.papers_refiner import Returned
from lemel.book.papers_values import OriginPaper, Quote, Receipt, StockTake, Stones, ValueList
from lemel.book.papers_words import Pen
from lemel.cards import Sheet, paper_pdf
from lemel.values import Composition, Lot, Origin, Prices, Reading, is_one_of

if TYPE_CHECKING:
    from lemel.book.shop import Book

__all__ = ["Papers"]

_UNIT = "unit"


@dataclass(frozen=True, slots=True)
class Papers:
    """The papers of one book. Whatever is refused is a BadInput, and nothing is written."""

    book: Book

    def set_unit(self, owner: str, unit: str, *, by: str = "") -> None:
        """The unit in which an owner reads their metal: g or ozt."""
        is_one_of("unit", unit, ("g", "ozt"))
        with ledger.writing(self.book.alias):
            key = people.key_of(self.book.alias, owner)
            filing.file(
                self.book.alias, self.book.now(), _UNIT, key, {"unit": unit}, owner=owner, by=by
            )

    def unit_of(self, owner: str) -> str:
        """An owner's unit; g where none was set."""
        there = filing.newest(self.book.alias, _UNIT, people.key_of(self.book.alias, owner))
        return "g" if there is None else str(there.record["unit"])

    def receipt(
        self,
        owner: str,
        lots: Sequence[str],
        *,
        gets: str,
        described: Mapping[str, str] | None = None,
        stones: Mapping[str, Stones] | None = None,
        promised: str = "",
        loss_percent: float | None = None,
        balance: str = "",
        by: str = "",
    ) -> Receipt:
        """A receipt for lots that were weighed in, for both to sign.

        `gets` is own_metal_back, work_from_it, credit_fine, money or safe_keeping, `promised`
        the same in the customer's words; `described` by lot (the lot's note where none is given).
        """
        with ledger.writing(self.book.alias):
            return papers_receipt.make(
                self.book.alias, self.book.now(), owner, lots, described=described or {},
                stones=stones or {}, gets=gets, promised=promised, loss_percent=loss_percent,
                balance=balance, unit=self.unit_of(owner), by=by,
            )  # fmt: skip

    def read_receipt(self, number: str) -> Receipt:
        """A receipt as it was given out."""
        return papers_receipt.read(self.book.alias, number)

    def stock_take(
        self, places: Sequence[str] = (), *, owner: str | None = None, by: str = ""
    ) -> StockTake:
        """Draw up the list to count, place by place."""
        with ledger.writing(self.book.alias):
            return papers_count.draw_up(self.book.alias, self.book.now(), places, owner, by)

    def sign_off(
        self,
        number: str,
        weighed_g: Mapping[int, float],
        signed_by: Sequence[str],
        notes: Mapping[int, str] | None = None,
    ) -> StockTake:
        """What was found, by row of the list; the differences are posted and the list is closed."""
        with ledger.writing(self.book.alias):
            return papers_count.sign_off(
                self.book.alias, self.book.now(), number, weighed_g, signed_by, notes or {}
            )

    def read_stock_take(self, number: str) -> StockTake:
        """A stock-take as it stands."""
        return papers_count.read(self.book.alias, number)

    def values(
        self, owner: str | None = None, *, at: Prices | None = None, on: date | None = None
    ) -> ValueList:
        """What lies in the house at the prices that were entered for a day (None: today's)."""
        return papers_worth.values(self.book.alias, self.book.now(), at or self._prices(on), owner)

    def enter_refiner(self, terms: RefinerTerms, *, contact: str = "", by: str = "") -> None:
        """A refiner's terms, entered by hand; `contact` is kept apart."""
        with ledger.writing(self.book.alias):
            papers_refiner.enter_terms(self.book.alias, self.book.now(), terms, contact, by)

    def refiners(self) -> dict[str, RefinerTerms]:
        """Every refiner's terms as they stand."""
        names = filing.all_of(self.book.alias, papers_refiner.TERMS)
        return {name: papers_refiner.terms_of(self.book.alias, name) for name in names}

    def begin_parcel(
        self,
        refiner: str,
        bodies: Sequence[str],
        *,
        at: Prices | None = None,
        on: date | None = None,
        by: str = "",
    ) -> RefinerParcel:
        """Draw up a parcel and reckon it, owners apart; nothing moves until it is sent."""
        with ledger.writing(self.book.alias):
            return papers_refiner.begin(
                self.book.alias, self.book.now(), refiner, bodies, at or self._prices(on), by
            )

    def send_parcel(self, number: str, *, by: str = "") -> RefinerParcel:
        """The metal leaves the house, each owner's to an account of its own."""
        with ledger.writing(self.book.alias):
            return papers_refiner.send(self.book.alias, self.book.now(), number, by)

    def unpack_parcel(self, number: str, *, by: str = "") -> RefinerParcel:
        """It does not go after all, or came back as it went."""
        with ledger.writing(self.book.alias):
            return papers_refiner.unpack(self.book.alias, self.book.now(), number, by)

    def settle_parcel(
        self, number: str, returned: Mapping[str, Returned], *, by: str = ""
    ) -> RefinerParcel:
        """The refiner's assay and payment by owner; what came back as metal is weighed in."""
        with ledger.writing(self.book.alias):
            parcel = papers_refiner.settle(self.book.alias, self.book.now(), number, returned, by)
            for lot in parcel.settled:
                came = returned[lot.owner].back
                lots = [
                    _returned(lot.owner, name, *metal)
                    for name, metal in zip(lot.back, came, strict=True)
                ]
                self.book.weigh_in(
                    [one for one, _ in lots], [reading for _, reading in lots], by=by
                )
            return parcel

    def read_parcel(self, number: str) -> RefinerParcel:
        """A parcel as it stands."""
        return papers_refiner.read(self.book.alias, number)

    def parcels(self, *, open_only: bool = True) -> tuple[RefinerParcel | AssayParcel, ...]:
        """Parcels that are not over yet, or all; to refiners first, then to assay offices."""
        found: list[RefinerParcel | AssayParcel] = [
            *papers_refiner.all_parcels(self.book.alias),
            *papers_assay.all_parcels(self.book.alias),
        ]
        is_open = ("drawn_up", "sent", "out")
        return tuple(one for one in found if not open_only or one.state in is_open)

    def send_to_assay(self, office: str, things: Sequence[ToAssay], *, by: str = "") -> AssayParcel:
        """Pieces and samples to an assay office."""
        with ledger.writing(self.book.alias):
            return papers_assay.send(self.book.alias, self.book.now(), office, things, by)

    def assay_back(
        self,
        number: str,
        found: Mapping[int, Found],
        *,
        fee: Decimal = Decimal(0),
        currency: str = "",
        by: str = "",
    ) -> AssayParcel:
        """The office's answer by line; assays become evidence, and say what to do."""

        def prove(plan: str, heat: str, reading: Reading) -> object:
            return self.book.prove(plan, heat, reading, by=by)

        with ledger.writing(self.book.alias):
            return papers_assay.returned(
                self.book.alias, self.book.now(), number, found, fee, currency, by, prove
            )

    def read_assay(self, number: str) -> AssayParcel:
        """An assay-office parcel as it stands."""
        return papers_assay.read(self.book.alias, number)

    def unaccounted(self, since: str = "", until: str = "9999") -> tuple[OwnerLoss, ...]:
        """What each owner misses of each metal over a period, against what may be."""
        return loss_owners.unaccounted(self.book.alias, since, until)

    def origin(self, body: str, *, definition: str = "iso_14021") -> OriginPaper:
        """Where a body's precious metal comes from, and what a definition counts of it."""
        return papers_origin.origin(self.book.alias, self.book.now(), body, definition)

    def quote(
        self,
        plan: str,
        order: str,
        owner: str,
        *,
        at: Prices | None = None,
        on: date | None = None,
        assays: int = 0,
        valid_days: int = 14,
        by: str = "",
    ) -> Quote:
        """What an order costs by the plan it stands in, with what was assumed."""
        kept = self.book.plan(plan)
        with ledger.writing(self.book.alias):
            return papers_quote.make(
                self.book.alias, self.book.now(), kept, order, at or self._prices(on),
                owner=owner, unit=self.unit_of(owner), assays=assays, valid_days=valid_days,
                by=by,
            )  # fmt: skip

    def read_quote(self, number: str) -> Quote:
        """A quotation as it was given out."""
        return papers_quote.read(self.book.alias, number)

    def pdf(self, paper: Printed, *, unit: str = "") -> bytes:
        """Any of these papers, or a `Statement`, as PDF; `unit` "" takes the owner's own."""
        return paper_pdf([self.sheet(paper, unit=unit)])

    def sheet(self, paper: Printed, *, unit: str = "") -> Sheet:
        """The same as it is set: a title and its blocks, in words."""
        _, shop, _ = house.house(self.book.alias)
        owner = getattr(paper, "owner", "")
        own = self.unit_of(owner) if owner and not unit else unit
        return sheet(paper, Pen(own or "g", self.book.owners(), shop))

    def _prices(self, on: date | None) -> Prices | None:
        return prices.on(self.book.alias, on or date.fromisoformat(self.book.now()[:10]))


def _returned(
    owner: str, name: str, metal: str, grams: float, fineness: float
) -> tuple[Lot, Reading]:
    """Refined metal that came back, as a lot with the refiner's word for its fineness.

    What it was before is lost in the refiner's pool, so its origin is refined and not known.
    """
    rest = 1 - fineness
    lot = Lot(
        name, owner, metal, "grain", grams, note="back from the refiner",
        stated=Composition.of({metal: fineness}, rest if rest > 1e-9 else 0.0),
        origin=Origin.of({"refined_unknown": 1.0}),
    )  # fmt: skip
    reading = Reading(f"{name} certificate", name, "bullion-cert", {metal: fineness}, source=name)
    return lot, reading
