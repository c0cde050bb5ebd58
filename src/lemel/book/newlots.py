"""Lots that come to be at the bench outside a plan: what they are, whence, and what is believed."""

from __future__ import annotations

from collections.abc import Mapping

from lemel.book import ledger, lineage, models, records
from lemel.book.acts import Act
from lemel.book.holdings import body_of
from lemel.book.values import Account
from lemel.errors import BadInput
from lemel.values import Holding, Lot, Origin, Reading

__all__ = ["blended_origin", "free_name", "heap_of", "make_lot"]

_PRECIOUS = ("Au", "Ag", "Pt", "Pd")


def heap_of(
    alias: str, body: str, owner: str = "", places: tuple[str, ...] = ("store",)
) -> Account:
    """The one heap of this body that holds metal; BadInput where there is none or more."""
    found = [
        account
        for account, metal in ledger.balances(alias, body=body).items()
        if account.place in places and metal.gross_mg > 0 and owner in ("", account.owner)
    ]
    if not found:
        where = " or ".join(place.replace("_", " ") for place in places)
        raise BadInput("body", body, f"a body with metal in the {where}", "Look it up by name.")
    if len(found) > 1:
        owners = ", ".join(account.owner for account in found)
        raise BadInput("owner", owner, owners, f"{body} is there of several owners: name one.")
    return found[0]


def free_name(alias: str, wanted: str, base: str) -> str:
    """The name that is wanted, or the first free one after `base`."""
    if wanted:
        return wanted
    n = 1
    while records.is_known(alias, f"{base}{n}"):
        n += 1
    return f"{base}{n}"


def blended_origin(alias: str, parents: Mapping[str, Holding]) -> Origin:
    """Origin shares by the fine metal that each parent gave."""
    if len(parents) == 1:
        return lineage.origin_of(alias, next(iter(parents)))
    shares: dict[str, float] = {}
    for body, metal in parents.items():
        fine = sum(ng for element, ng in metal.element_ng if element in _PRECIOUS)
        for name, share in lineage.origin_of(alias, body).shares:
            shares[name] = shares.get(name, 0.0) + max(fine, 0) * share
    return Origin.of(shares)


def make_lot(
    act: Act,
    at: Account,
    metal: Holding,
    parents: Mapping[str, Holding],
    *,
    form: str,
    note: str = "",
    like: Lot | None = None,
    melted: bool = False,
    sd_own: float | None = None,
) -> str:
    """A lot in the store with parents, inherited melts and origin, and a reading that foretells it.

    `like` lends what the metal does not tell (colour, class, answers to the gates); `melted`
    counts one melt more; `sd_own` is the spread where it is wider than a melt's own.
    """
    alias, of = act.alias, body_of(metal)
    origin = blended_origin(alias, parents)
    remelts = max((lineage.remelts_of(alias, one) for one in parents), default=0) + int(melted)
    heats = models.Body.objects.using(alias).filter(pk__in=parents, kind="heat")
    lot = Lot(
        id=at.body, owner=at.owner, main=of.main(), form=form, mass_g=metal.gross_mg / 1000,
        note=note, stated=of, remelts=remelts, origin=origin,
        scrap_class=like.scrap_class if like else "", colour=like.colour if like else "none",
        made_for=like.made_for if like else "rolling", flags=like.flags if like else {},
        barred=like.barred if like else (), solder_share=like.solder_share if like else (0.0, 0.0),
        no_mixing=like.no_mixing if like else False,
        parents=like.parents if like else tuple(heats.values_list("id", flat=True)),
    )  # fmt: skip
    lineage.be_born(act, at, lot, origin, {one: part.gross_mg for one, part in parents.items()})
    source = next(iter(parents), at.body)
    reading = Reading(
        lineage.new_reading_id(alias, at.body), at.body, "own-melt-predicted",
        {of.main(): of.share(of.main())}, source=source, sd_own=sd_own,
    )  # fmt: skip
    records.enter_readings(alias, [reading])
    return at.body
