"""The metal's way from the book: how much lies at each reach now, whose, and what fell from it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from lemel.book import Account
from lemel.values import Holding

__all__ = ["Band", "Reach", "band_of"]

#: The reaches in the order of the work, and the places of the book that lie there.
_PLACES = {
    "scrap": ("scrap",),
    "heats": ("process",),
    "ingots": (),
    "stock": ("store",),
    "pieces": ("piece",),
}


@dataclass(frozen=True, slots=True)
class Reach:
    """One reach: the mg of each owner that lie there."""

    name: str
    mass_mg: Mapping[str, int]

    @property
    def total_mg(self) -> int:
        """All owners together."""
        return sum(self.mass_mg.values())


@dataclass(frozen=True, slots=True)
class Band:
    """The whole band, and the reach that the page is about."""

    reaches: tuple[Reach, ...]
    here: str


def band_of(
    balances: Mapping[Account, Holding],
    owners: Mapping[str, str],  # noqa: ARG001
    here: str,
) -> Band:
    """The band of a book's balances."""
    found = []
    for name, places in _PLACES.items():
        sums: dict[str, int] = {}
        for account, metal in balances.items():
            if account.place in places:
                sums[account.owner] = sums.get(account.owner, 0) + metal.gross_mg
        found.append(Reach(name, sums))
    return Band(tuple(found), here)
