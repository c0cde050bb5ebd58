"""Labels from the book: the id, whose, what, its mass, what is stated, what to beware of."""

from __future__ import annotations

from collections.abc import Sequence

from lemel.book import Book, find_lots
from lemel.cards import Label
from lemel.errors import BadInput
from lemel.values import Lot

__all__ = ["labels_of"]


def labels_of(shop: Book, bodies: Sequence[str]) -> list[Label]:
    """One label for each; BadInput for one that is not in the house."""
    lots = {one.id: one for one in find_lots(shop, ids=list(bodies), most=500).lots}
    suspects, names = set(shop.mishaps.suspects()), shop.owners()
    others = [one for one in bodies if one not in lots]
    shelved = {one.body: one for one in shop.bench.stock()} if others else {}
    made = []
    for body in bodies:
        bad = ("SUSPECT",) if body in suspects else ()
        if body in lots:
            made.append(_of_lot(lots[body], names, bad))
        elif body in shelved:
            one = shelved[body]
            owner, mass = names.get(one.owner) or one.owner, f"{one.mass_g:.2f} g"
            made.append(Label(body, owner, one.kind, mass, one.standard or "", bad))
        else:
            raise BadInput("body", body, "a lot or bar in the store", "Look it up.")
    return made


def _of_lot(lot: Lot, names: dict[str, str], bad: tuple[str, ...]) -> Label:
    stated = f"{lot.main} {lot.stated.fineness(lot.main):.0f}" if lot.stated else ""
    seen = tuple(code.replace("_", " ") for code, said in lot.flags.items() if said == "yes")
    owner = names.get(lot.owner) or lot.owner
    return Label(
        lot.id, owner, f"{lot.main} {lot.form}", f"{lot.mass_g:.2f} g", stated,
        (*bad, *seen, *lot.barred),
    )  # fmt: skip
