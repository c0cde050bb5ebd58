"""The register of what was bought in: the least that must be kept, in the order it came.

What a register must hold, and for how long, is a matter of local law; this one keeps who sold
what, when, its gross mass, a description and the price. Papers of identity are not kept here.
"""

from __future__ import annotations

from lemel.book import ledger, models, people, records
from lemel.book.values import Account, Bought
from lemel.errors import BadInput
from lemel.values import Lot

__all__ = ["bought", "purchases"]


def bought(alias: str, now: str, lot: str, seller: str, described: str) -> Bought:
    """Enter that a lot was bought of somebody; its mass and price are those of the weigh-in."""
    record = records.record_of(alias, lot)
    if not isinstance(record, Lot):
        raise BadInput("lot", lot, "a lot that was weighed in", "Weigh it in first.")
    if not described.strip():
        raise BadInput("described", described, "what it looks like", "Describe the lot in words.")
    if models.Purchase.objects.using(alias).filter(pk=lot).exists():
        raise BadInput("lot", lot, "a lot that is not in the register yet", "It is entered once.")
    mg = ledger.held(alias, Account(record.owner, "store", lot)).gross_mg
    price = "" if record.price_paid is None else str(record.price_paid)
    models.Purchase.objects.using(alias).create(
        body_id=lot, seller_id=people.person_key(alias, seller), made_at=now, gross_mg=mg,
        price=price, described=described,
    )  # fmt: skip
    return Bought(lot, seller, now, described, mg, price)


def purchases(alias: str) -> tuple[Bought, ...]:
    """The register, first entry first."""
    rows = models.Purchase.objects.using(alias).order_by("made_at", "body_id")
    return tuple(
        Bought(*row)
        for row in rows.values_list(
            "body_id", "seller__code", "made_at", "described", "gross_mg", "price"
        )
    )
