"""The receipt at the counter: what was left, weighed by both, and what will become of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from lemel.book import ledger, models, people, records
from lemel.book.papers_keep import keep, kept, next_number
from lemel.book.papers_spread import Spread, method_sd
from lemel.book.papers_values import Agreed, Receipt, ReceiptLine, Stones, Tested, with_words
from lemel.book.values import Account
from lemel.errors import BadInput
from lemel.values import Lot, Saying

__all__ = ["KIND", "make", "read"]

KIND = "receipt"
#: Gates of which melting destroys something that the customer may want.
_LOST = ("stones", "enamel_niello", "worth_more_whole", "coin", "marks_unrecorded", "resin")
#: Forms that somebody once made to be looked at.
_MADE = ("jewellery", "hollowware", "chain", "coin")


def make(
    alias: str,
    now: str,
    owner: str,
    lots: Sequence[str],
    *,
    described: Mapping[str, str],
    stones: Mapping[str, Stones],
    gets: str,
    promised: str,
    loss_percent: float | None,
    balance: str,
    unit: str,
    by: str,
) -> Receipt:
    """File a receipt for lots that were weighed in; it says what the book says, and no more."""
    if not lots:
        raise BadInput("lots", 0, "one lot or more", "Weigh the metal in first.")
    _only("described", described, lots)
    _only("stones", stones, lots)
    people.key_of(alias, owner)
    spread = Spread(alias)
    lines = tuple(_line(alias, owner, one, spread, stones.get(one)) for one in lots)
    allowed = [
        Agreed(one.id, one.allows, one.limit_g, one.given_on.isoformat())
        for one in records.consents(alias).values()
        if one.owner == owner and (not one.about or set(one.about) & set(lots))
    ]
    allowed.sort(key=lambda one: one.id)
    receipt = Receipt(
        next_number(alias, KIND, "R"), now, owner, unit, lines, tuple(allowed),
        loss_percent, gets, balance, by, ledger.tail(alias)[1],
    )  # fmt: skip
    words = {one: described.get(one, "") or _noted(alias, one) for one in lots}
    apart = {"described": words, "promised": promised}
    keep(alias, now, KIND, receipt.number, receipt, private=apart, owner=owner, by=by)
    return with_words(receipt, words, promised)


def read(alias: str, number: str) -> Receipt:
    """A receipt as it was given out; words that were erased are gone from it."""
    receipt, apart = kept(alias, KIND, number, Receipt)
    return with_words(receipt, apart.get("described", {}), str(apart.get("promised", "")))


def _only(field: str, given: Mapping[str, object], lots: Sequence[str]) -> None:
    for name in given:
        if name not in lots:
            raise BadInput(f"{field}.{name}", name, ", ".join(lots), "Name a lot of the receipt.")


def _noted(alias: str, lot: str) -> str:
    return str(records.record_of(alias, lot).note)


def _line(alias: str, owner: str, lot: str, spread: Spread, stones: Stones | None) -> ReceiptLine:
    record = records.record_of(alias, lot)
    if not isinstance(record, Lot) or record.owner != owner:
        raise BadInput("lots", lot, f"a lot of {owner}", "Give the owner's own lots.")
    number, mg = _weighed_in(alias, Account(owner, "store", lot))
    tested = tuple(
        Tested(one.method, one.values[record.main], _sd(*method_sd(one)), str(one.taken_on or ""))
        for one in records.readings(alias, lot)
        if record.main in one.values and not one.withdrawn
    )
    mean, sd = spread.believed(lot) or (0.0, 0.0)
    told = None if record.stated is None else record.stated.share(record.main)
    return ReceiptLine(
        lot, record.form, record.main, mg, number, told, tested, (mean, sd), stones,
        _warnings(record, stones),
    )  # fmt: skip


def _sd(own: float, shared: float) -> float:
    return float((own**2 + shared**2) ** 0.5)


def _weighed_in(alias: str, account: Account) -> tuple[int, int]:
    """The entry that brought a lot in, and what it weighed then."""
    rows = models.Posting.objects.using(alias).filter(
        account__owner__code=account.owner, account__place=account.place,
        account__body=account.body, gross_mg__gt=0,
    )  # fmt: skip
    for number, mg in rows.order_by("entry_id").values_list("entry_id", "gross_mg"):
        return int(number), int(mg)
    raise BadInput("lots", account.body, "a lot that was weighed in", "Weigh it in first.")


def _warnings(lot: Lot, stones: Stones | None) -> tuple[Saying, ...]:
    """What is lost for good if this is melted."""
    found = [Saying("book.receipt.lost.shape", {"lot": lot.id})] if lot.form in _MADE else []
    for gate in _LOST:
        if lot.flags.get(gate) in ("yes", "unknown"):
            found.append(Saying(f"book.receipt.lost.{gate}", {"lot": lot.id}))
    if stones is not None and stones.counted > stones.returned:
        left = stones.counted - stones.returned
        found.append(Saying("book.receipt.lost.stones_left", {"lot": lot.id, "count": left}))
    return tuple(found)
