"""What lots would fetch as scrap, one by one and as a parcel to the refiner."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal

from lemel.errors import BadInput
from lemel.tables import Tables, shipped
from lemel.values import METALS, BeliefSet, Lot, Prices, Quantity, Saying
from lemel.worth.faces import LotValue, Parcel

__all__ = ["paid_share", "parcel", "value"]

#: Masses are taken to 0.1 mg, shares to one part in a million, so that money is exact.
GRAM_STEP = Decimal("0.0001")
SHARE_STEP = Decimal("0.000001")


def value(
    lots: Sequence[Lot], beliefs: BeliefSet, prices: Prices, *, tables: Tables | None = None
) -> tuple[LotValue, ...]:
    """The worth of each lot, in the order given.

    sale = net mass after melting x share of the metal x payable share x price, added up
    over the precious metals that have a price. The yield and the share are the believed
    means. BadInput where the main metal has no price or a lot no belief.
    """
    tables = tables or shipped()
    return tuple(_value(lot, beliefs, prices, tables) for lot in lots)


def paid_share(lot: Lot, metal: str, fineness: Decimal, prices: Prices, tables: Tables) -> Decimal:
    """The part of a metal's worth in a lot that is paid, a fraction.

    The house's own figure for the metal (or for "metal/form") leads; a form that is paid
    less is scaled by the shipped schedule. `fineness` is the lot's share of that metal.
    """
    own = prices.scrap_paid_share.get(f"{metal}/{lot.form}")
    if own is not None:
        return own
    if metal != lot.main:
        return _in_other(lot, metal, prices, tables)
    row = tables.row("worth_payable", f"{metal}/scrap")
    clean = Decimal(str(row.number("share")))
    share = clean
    special = tables.table("worth_payable").get(f"{metal}/{lot.form}")
    if special is not None:
        share = Decimal(str(special.number("share")))
    elif row.number_or("below", 0) and fineness * 1000 < Decimal(str(row.number("below"))):
        share = Decimal(str(row.number("share_low")))
    house = prices.scrap_paid_share.get(metal)
    return share if house is None else (house * share / clean).quantize(SHARE_STEP)


def parcel(values: Iterable[LotValue], prices: Prices, *, tables: Tables | None = None) -> Parcel:
    """What is left when these lots go to the refiner together, and whether it is worth it yet.

    The refiner keeps the unpaid share, but at least his least charge; postage comes on
    top. While that eats more of the sale value than the house allows, the answer is: not
    yet, gather more.
    """
    tables = tables or shipped()
    sent = tuple(values)
    sale = sum((v.sale_value for v in sent), Decimal(0))
    kept = sum((v.fine_value - v.sale_value for v in sent), Decimal(0))
    charges = max(Decimal(0), prices.refining_least - kept) + prices.postage
    eaten = Decimal(1) if sale <= 0 else min(Decimal(1), charges / sale).quantize(SHARE_STEP)
    most = Decimal(str(tables.row("worth_figures", "parcel_eaten_most").number("value")))
    send = eaten <= most
    percent = Quantity(float(eaten * 100), "percent")
    code = "worth.parcel.send" if send else "worth.parcel.not_yet"
    return Parcel(
        tuple(v.lot for v in sent), sale, charges, sale - charges, eaten, send,
        (Saying(code, {"eaten": percent, "charges": Quantity(float(charges), "money")}),),
    )  # fmt: skip


def _value(lot: Lot, beliefs: BeliefSet, prices: Prices, tables: Tables) -> LotValue:
    i = beliefs.row(lot.id)
    body, yield_fraction = beliefs.mean[i], beliefs.yield_fraction[i][0]
    mass = Decimal(repr(lot.mass_g)).quantize(GRAM_STEP)
    net = mass * Decimal(repr(yield_fraction)).quantize(SHARE_STEP)
    if lot.main not in prices.fine_per_g:
        raise BadInput(
            f"fine_per_g.{lot.main}", None, "a price per gram of fine metal",
            f"Enter today's price of {lot.main}.",
        )  # fmt: skip
    fine_value = sale_value = main_g = Decimal(0)
    for metal in METALS:
        share = Decimal(repr(body.share(metal))).quantize(SHARE_STEP)
        if share == 0 or metal not in prices.fine_per_g:
            continue
        grams = net * share
        worth = grams * prices.fine_per_g[metal]
        fine_value += worth
        sale_value += worth * paid_share(lot, metal, share, prices, tables)
        if metal == lot.main:
            main_g = grams
    per_g = sale_value / mass if mass else Decimal(0)
    return LotValue(lot.id, main_g, fine_value, sale_value, per_g.quantize(SHARE_STEP))


def _in_other(lot: Lot, metal: str, prices: Prices, tables: Tables) -> Decimal:
    """Paid share of a metal beside the main one: silver in gold is paid, others only if the
    house has entered a figure ("Pd/in_Au")."""
    own = prices.scrap_paid_share.get(f"{metal}/in_{lot.main}")
    if own is not None:
        return own
    if metal == "Ag" and lot.main == "Au":
        return Decimal(str(tables.row("worth_payable", "Ag/in_gold").number("share")))
    return Decimal(0)
