"""The elements beside the main one: what the balance is made of, and what may hide in it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from lemel.scrap.lots import Kind
from lemel.tables import Tables
from lemel.values import Composition, Lot, Reading

__all__ = ["beside_main", "body_of", "others_of"]

#: How many sds above the mean an element is counted as possible.
UPPER_SDS = 2.0
#: Elements that a gate question is about: flag code, element.
HIDDEN = (("cadmium_solder", "Cd"), ("soft_solder", "Pb"))
BALANCE = ("Ag", "Au", "Cu", "Zn", "Pd", "Ni")


def beside_main(lot: Lot | None, main: str, tables: Tables) -> dict[str, float]:
    """Shares of the balance by element, summing to one: as stated, else usual for the colour."""
    stated = _stated_beside(lot, main)
    if stated:
        return stated
    colour = lot.colour if lot is not None else "none"
    table = tables.table("scrap_balance")
    row = table.get(f"{main}/{colour}") or tables.row("scrap_balance", f"{main}/none")
    return _normal({e: row.number(e) for e in BALANCE if e != main})


def body_of(
    lot: Lot, share: float, main: str, readings: Iterable[Reading], tables: Tables
) -> Composition:
    """The mean composition of a lot at a believed share of the main element.

    The balance is split as read (the mean of the readings that name other elements), else
    as stated, else as usual for the colour of the metal.
    """
    beside = _read_beside(readings, main) or beside_main(lot, main, tables)
    parts = {e: (1 - share) * s for e, s in beside.items()}
    parts[main] = share
    return Composition.of(parts)


def others_of(
    lot: Lot,
    kind: Kind,
    body: Composition,
    *,
    main: str,
    main_sd: float,
    readings: Iterable[Reading],
    tables: Tables,
) -> dict[str, tuple[float, float, float]]:
    """(mean, sd, upper) of each element beside the main one, mass fractions.

    The sd joins what the main element leaves open and how the balance splits; solder
    brings zinc, and old or soft solder what its gate question asks about, until answered
    "no".
    """
    balance = 1 - body.share(main)
    split = _split_sd(lot, main, _read_beside(readings, main), tables)
    single = len([e for e in body.elements if e != main]) == 1
    found: dict[str, tuple[float, float, float]] = {}
    for element in body.elements:
        if element == main:
            continue
        mean = body.share(element)
        ratio = mean / balance if balance > 0 else 0.0
        own = 0.0 if single else split * balance
        sd = ((ratio * main_sd) ** 2 + own**2) ** 0.5
        found[element] = (mean, sd, min(1.0, mean + UPPER_SDS * sd))
    if kind.solder != (0.0, 0.0):
        found.update(_from_solder(lot, kind.solder, found, main, tables))
    return found


def _from_solder(
    lot: Lot,
    solder: tuple[float, float],
    known: Mapping[str, tuple[float, float, float]],
    main: str,
    tables: Tables,
) -> dict[str, tuple[float, float, float]]:
    row = tables.row("scrap_solders", main)
    share, most = solder[0], solder[0] + UPPER_SDS * solder[1]
    zinc, zinc_sd = row.number("zinc"), row.number("zinc_sd")
    mean, sd, _ = known.get("Zn", (0.0, 0.0, 0.0))
    upper = most * (zinc + UPPER_SDS * zinc_sd)
    added = {"Zn": (mean + share * zinc, (sd**2 + (upper / 2) ** 2) ** 0.5, mean + upper)}
    for flag, element in HIDDEN:
        answer = lot.flags.get(flag, "unknown")
        possible = row.number("cadmium_if_old") if element == "Cd" else 1.0
        if answer != "no" and possible > 0:
            added[element] = (0.0, 0.0, min(1.0, most * possible))
    return added


def _split_sd(lot: Lot, main: str, read: Mapping[str, float], tables: Tables) -> float:
    colour = lot.colour
    table = tables.table("scrap_balance")
    row = table.get(f"{main}/{colour}") or tables.row("scrap_balance", f"{main}/none")
    usual = row.number("split_sd")
    if read:
        return usual / 4
    return usual / 2 if _stated_beside(lot, main) else usual


def _stated_beside(lot: Lot | None, main: str) -> dict[str, float]:
    if lot is None or lot.stated is None:
        return {}
    return _normal({e: s for e, s in lot.stated.parts if e != main})


def _read_beside(readings: Iterable[Reading], main: str) -> dict[str, float]:
    sums: dict[str, float] = {}
    for reading in readings:
        for element, share in reading.values.items():
            if element != main and main in reading.values:
                sums[element] = sums.get(element, 0.0) + share
    return _normal(sums)


def _normal(shares: Mapping[str, float]) -> dict[str, float]:
    total = sum(shares.values())
    return {e: s / total for e, s in sorted(shares.items()) if s > 0} if total > 0 else {}
