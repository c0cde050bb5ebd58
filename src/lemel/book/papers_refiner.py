"""Parcels to the refiner: drawn up and reckoned, sent, settled by the returned assay.

Each owner's metal is a lot of its own from the bag to the payment; only the postage is shared,
by what each lot is paid.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from math import sqrt

from lemel.book import filing, ledger
from lemel.book.papers_away import RefinerLine, RefinerParcel, RefinerTerms, Settled
from lemel.book.papers_keep import keep, kept, kept_all, next_number
from lemel.book.papers_spread import Spread
from lemel.book.papers_worth import fine_of, money_of
from lemel.book.rules import rule
from lemel.book.values import Account, Line
from lemel.errors import BadInput
from lemel.tables import shipped
from lemel.values import (
    METALS,
    REST,
    Holding,
    Objection,
    Prices,
    Quantity,
    Saying,
    from_plain,
    is_positive,
    not_negative,
    share_out,
)

__all__ = [
    "KIND", "SENT_FROM", "Returned", "all_parcels", "begin", "enter_terms", "read", "send",
    "settle", "terms_of", "unpack",
]  # fmt: skip

KIND, TERMS = "parcel", "refiner"
#: Where metal may lie that is sent away.
SENT_FROM = ("store", "scrap", "lemel_box", "slag", "sweeps", "hold_up", "piece")
_CENT = Decimal("0.01")
_NG_IN_G = 1_000_000_000


@dataclass(frozen=True, slots=True)
class Returned:
    """What the refiner sent back for one owner's lot.

    `assayed_g` are the fine grams of each metal by his assay, `paid` the money after all his
    charges, `back` the metal that came back: (metal, grams, fineness as a fraction).
    """

    assayed_g: Mapping[str, float]
    paid: Decimal = Decimal(0)
    back: tuple[tuple[str, float, float], ...] = ()

    def __post_init__(self) -> None:
        if not self.assayed_g:
            raise BadInput("assayed_g", {}, "the assay of each metal", "Enter what he found.")
        for metal, grams in self.assayed_g.items():
            not_negative(f"assayed_g.{metal}", grams)
            if metal not in METALS:
                raise BadInput("assayed_g", metal, ", ".join(METALS), "Name a precious metal.")
        for metal, grams, share in self.back:
            is_positive(f"back.{metal}", grams)
            if metal not in METALS or not 0 < share <= 1:
                raise BadInput("back", metal, "metal, grams, fineness", "Mend what came back.")


def enter_terms(alias: str, now: str, terms: RefinerTerms, contact: str, by: str) -> RefinerTerms:
    """A refiner's terms; new ones are a new version, and parcels keep those they were made by."""
    apart = {"contact": contact} if contact else {}
    filing.file(alias, now, TERMS, terms.id, terms, private=apart, by=by)
    return terms


def terms_of(alias: str, refiner: str) -> RefinerTerms:
    """The terms of a refiner as they stand."""
    return from_plain(RefinerTerms, filing.must_stand(alias, TERMS, refiner).record)


def begin(
    alias: str, now: str, refiner: str, bodies: Sequence[str], prices: Prices | None, by: str
) -> RefinerParcel:
    """Draw up a parcel of whole heaps and reckon what it would fetch; nothing moves yet."""
    terms = terms_of(alias, refiner)
    if prices is None:
        raise BadInput("prices", None, "prices with their date", "Enter today's prices by hand.")
    if prices.currency != terms.currency:
        raise BadInput("prices", prices.currency, terms.currency, "Use one currency.")
    spread = Spread(alias)
    lines = tuple(line for body in bodies for line in _lines(alias, body, spread))
    if not lines:
        raise BadInput("bodies", 0, "one heap or more", "Name what goes into the parcel.")
    estimate = _estimate(lines, terms, prices, spread)
    advice, worth_it = _advice(estimate, terms)
    parcel = RefinerParcel(
        next_number(alias, KIND, "P"), now, terms,
        {one: prices.fine_per_g[one] for one in METALS if one in prices.fine_per_g},
        prices.as_of.isoformat(), lines, estimate, advice, worth_it, by,
    )  # fmt: skip
    keep(alias, now, KIND, parcel.number, parcel, by=by)
    return parcel


def _lines(alias: str, body: str, spread: Spread) -> list[RefinerLine]:
    """Every heap of this name that may be sent; BadInput if there is none."""
    found = [
        RefinerLine(
            account.owner, account.place, body, metal.gross_mg, fine_of(metal),
            {e: round(metal.gross_mg * 1e6 * spread.sd(body, e)) for e in fine_of(metal)},
        )
        for account, metal in ledger.balances(alias, body=body).items()
        if account.place in SENT_FROM and metal.gross_mg
    ]  # fmt: skip
    if not found:
        raise BadInput("bodies", body, f"a heap at {', '.join(SENT_FROM)}", "Look it up.")
    return found


def _estimate(
    lines: Sequence[RefinerLine], terms: RefinerTerms, prices: Prices, spread: Spread
) -> tuple[Settled, ...]:
    """Each owner's lot: paid share of the fine metal at the day's price, less the charges."""
    by_owner: dict[str, list[RefinerLine]] = {}
    for line in lines:
        by_owner.setdefault(line.owner, []).append(line)
    lots = {owner: _fine(own, spread) for owner, own in by_owner.items()}
    paid = {owner: _payable(fine, terms, prices) for owner, (fine, _) in lots.items()}
    whole = sum(paid.values(), Decimal(0))
    found = []
    for owner, own in by_owner.items():
        gross = sum(line.gross_mg for line in own)
        part = paid[owner] / whole if whole else Decimal(1) / len(by_owner)
        charges = (terms.charges(gross) + terms.postage * part).quantize(_CENT)
        fine, sd = lots[owner]
        found.append(
            Settled(owner, gross, fine, sd, paid[owner], charges, _eaten(charges, paid[owner]))
        )
    return tuple(found)


def _fine(own: Sequence[RefinerLine], spread: Spread) -> tuple[dict[str, int], dict[str, int]]:
    """Fine metal of one owner's lot, and its spread with the errors that its bags share."""
    fine: dict[str, int] = {}
    for line in own:
        for metal, ng in line.fine_ng.items():
            fine[metal] = fine.get(metal, 0) + ng
    masses: dict[str, float] = {}
    for line in own:
        masses[line.body] = masses.get(line.body, 0.0) + line.gross_mg
    whole = sum(masses.values())
    return fine, {metal: round(whole * 1e6 * spread.sd_of(masses, metal)) for metal in fine}


def _payable(fine: Mapping[str, int], terms: RefinerTerms, prices: Prices) -> Decimal:
    paid = sum(
        (money_of(ng, prices.fine_per_g[one]) * terms.payable[one] for one, ng in fine.items()
         if one in terms.payable and one in prices.fine_per_g),
        Decimal(0),
    )  # fmt: skip
    return paid.quantize(_CENT)


def _eaten(charges: Decimal, payable: Decimal) -> Decimal:
    return Decimal(1) if payable <= 0 else min(Decimal(1), charges / payable).quantize(_CENT / 100)


def _advice(estimate: Sequence[Settled], terms: RefinerTerms) -> tuple[Saying, bool]:
    """Send, or not yet: while charges eat more than the house allows, gather more."""
    payable = sum((one.payable for one in estimate), Decimal(0))
    charges = sum((one.charges for one in estimate), Decimal(0))
    eaten = _eaten(charges, payable)
    most = Decimal(str(shipped().row("worth_figures", "parcel_eaten_most").number("value")))
    least_bites = any(
        terms.least_charge > terms.lot_charge + terms.assay_fee
        + terms.per_kg * one.gross_mg / 1_000_000
        for one in estimate
    )  # fmt: skip
    code = "book.parcel.send"
    if eaten > most:
        code = "book.parcel.not_yet_least" if least_bites else "book.parcel.not_yet"
    said = {
        "eaten": Quantity(float(eaten * 100), "percent"),
        "most": Quantity(float(most * 100), "percent"),
    }
    return Saying(code, said), eaten <= most


def read(alias: str, number: str) -> RefinerParcel:
    """A parcel as it stands."""
    return kept(alias, KIND, number, RefinerParcel)[0]


def all_parcels(alias: str) -> tuple[RefinerParcel, ...]:
    """Every parcel, first one first."""
    return kept_all(alias, KIND, RefinerParcel)


def _in_state(alias: str, number: str, state: str) -> RefinerParcel:
    parcel = read(alias, number)
    if parcel.state != state:
        raise BadInput("parcel", f"{number} is {parcel.state}", state, "Look at the open parcels.")
    return parcel


def send(alias: str, now: str, number: str, by: str) -> RefinerParcel:
    """The parcel leaves the house: each heap goes to the refiner's account of its owner."""
    parcel = _in_state(alias, number, "drawn_up")
    for owner in parcel.owners:
        moves: list[Line] = []
        for line in parcel.lines:
            if line.owner != owner:
                continue
            source = Account(owner, line.place, line.body)
            metal = ledger.held(alias, source)
            if metal.gross_mg != line.gross_mg:
                raise BadInput(
                    "parcel", f"{line.body} holds {metal.gross_mg / 1000:g} g",
                    f"{line.gross_mg / 1000:g} g as it was drawn up",
                    "Draw the parcel up anew.",
                )  # fmt: skip
            moves += [Line(source, -metal), Line(Account(owner, "refiner", number), metal)]
        ledger.post(alias, now, "to_refiner", moves, key=f"send {number} {_key(parcel, owner)}",
                    about=number, by=by)  # fmt: skip
    sent = replace(parcel, state="sent", sent_at=now)
    keep(alias, now, KIND, number, sent, by=by)
    return sent


def _key(parcel: RefinerParcel, owner: str) -> int:
    """Which of its owners, without a name in the key."""
    return parcel.owners.index(owner) + 1


def unpack(alias: str, now: str, number: str, by: str) -> RefinerParcel:
    """The parcel is not to go after all, or came back as it went: everything lies where it lay."""
    parcel = read(alias, number)
    if parcel.state not in ("drawn_up", "sent"):
        raise BadInput("parcel", f"{number} is {parcel.state}", "drawn_up, sent", "It is over.")
    if parcel.state == "sent":
        for owner in parcel.owners:
            entry = ledger.found_key(alias, f"send {number} {_key(parcel, owner)}")
            assert entry is not None
            ledger.reverse(alias, now, entry.number, by=by)
    over = replace(parcel, state="unpacked", settled_at=now)
    keep(alias, now, KIND, number, over, by=by)
    return over


def settle(
    alias: str, now: str, number: str, returned: Mapping[str, Returned], by: str
) -> RefinerParcel:
    """The refiner's assay and payment, lot by lot; the difference to the book goes to assay
    difference, then the metal leaves the house. Metal that came back is for the caller to weigh in.
    """
    parcel = _in_state(alias, number, "sent")
    if set(returned) != set(parcel.owners):
        raise BadInput(
            "returned", ", ".join(returned), ", ".join(parcel.owners), "Settle every owner's lot."
        )
    done, noted = [], []
    for lot in parcel.estimate:
        settled = _settle_lot(alias, now, parcel, lot, returned[lot.owner], by)
        done.append(settled)
        noted += _far_off(settled)
    over = replace(
        parcel, state="settled", settled_at=now, settled=tuple(done), objections=tuple(noted)
    )
    keep(alias, now, KIND, number, over, by=by)
    return over


def _settle_lot(
    alias: str, now: str, parcel: RefinerParcel, lot: Settled, back: Returned, by: str
) -> Settled:
    account = Account(lot.owner, "refiner", parcel.number)
    metal = ledger.held(alias, account)
    assayed = {one: round(grams * _NG_IN_G) for one, grams in back.assayed_g.items()}
    found = _as_assayed(metal, assayed)
    place = Account(lot.owner, "assay_difference", parcel.number)
    if found != metal:
        ledger.post(
            alias, now, "assay_difference",
            [Line(account, found - metal), Line(place, metal - found)],
            key=f"assay {parcel.number} {_key(parcel, lot.owner)}", about=parcel.number, by=by,
        )  # fmt: skip
    ledger.post(
        alias, now, "refined",
        [Line(account, -found), Line(Account(lot.owner, "outside", "refiner"), found)],
        key=f"settle {parcel.number} {_key(parcel, lot.owner)}", about=parcel.number, by=by,
    )  # fmt: skip
    z = {
        one: (ng - lot.fine_ng.get(one, 0)) / max(float(lot.sd_ng.get(one, 0)), _least_sd_ng(lot))
        for one, ng in assayed.items()
    }
    names = tuple(f"{parcel.number}/{_key(parcel, lot.owner)}-{one}" for one, *_ in back.back)
    back_mg = sum(round(grams * 1000) for _, grams, _ in back.back)
    return replace(
        lot, assayed_ng=assayed, z=z, paid=back.paid, back=names, back_mg=back_mg
    )  # fmt: skip


def _least_sd_ng(lot: Settled) -> float:
    """The weighing alone leaves this much, whatever the belief."""
    one = rule("weighing_step_g") ** 2 / 12 + rule("weighing_sd_g") ** 2
    return sqrt(2 * one) * _NG_IN_G if lot.gross_mg else 1.0


def _as_assayed(metal: Holding, assayed: Mapping[str, int]) -> Holding:
    """The same gross with these precious metals; the others share what is left as they did."""
    left = metal.gross_mg * 1_000_000 - sum(assayed.values())
    if left < 0:
        raise BadInput(
            "assayed_g", sum(assayed.values()) / _NG_IN_G, f"at most {metal.gross_mg / 1000:g} g",
            "He cannot find more than was sent; check grams and owner.",
        )  # fmt: skip
    others = {e: ng for e, ng in metal.element_ng if e not in assayed}
    names = sorted(others) or [REST]
    shares = share_out(left, [others.get(name, 1) for name in names])
    return Holding.from_ng(metal.gross_mg, {**assayed, **dict(zip(names, shares, strict=True))})


def _far_off(lot: Settled) -> list[Objection]:
    """Metals whose assay lies further off than the evidence allowed for."""
    return [
        Objection(
            "book.parcel.assay_low" if z < 0 else "book.parcel.assay_high", metal,
            "ask" if abs(z) > rule("stop_z") else "note",
            {
                "metal": metal,
                "found": Quantity(lot.assayed_ng[metal] / _NG_IN_G, "g"),
                "expected": Quantity(lot.fine_ng.get(metal, 0) / _NG_IN_G, "g"),
                "sds": round(abs(z), 1),
            },
        )
        for metal, z in lot.z.items()
        if abs(z) > rule("look_z")
    ]  # fmt: skip
