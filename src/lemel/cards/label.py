"""Labels for bags and bars: what a hand must know, large, and a code that a reader can take.

The code (ISO/IEC 18004, QR) says "lemel" and the id; no address, no name of a person.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from types import MappingProxyType

from lemel.cards.code import code_of
from lemel.cards.paper import labels
from lemel.cards.press import press
from lemel.errors import BadInput
from lemel.values import is_one_of

__all__ = ["LABEL_SIZES", "Label", "label_pdf"]


@dataclass(frozen=True, slots=True)
class _Size:
    """A sheet of A4: so many labels across and down, each so large, mm."""

    across: int
    down: int
    wide_mm: float
    high_mm: float


#: Sheets of labels that fill A4 without waste; two sizes that are sold everywhere.
LABEL_SIZES = MappingProxyType({"bag": _Size(3, 8, 70.0, 37.0), "bar": _Size(4, 11, 52.5, 26.9)})


@dataclass(frozen=True, slots=True)
class Label:
    """One label: the id as it is in the book, whose, what it is, its mass and fineness as text,
    and what to beware of (words, not signs)."""

    id: str
    owner: str
    what: str
    mass: str
    fineness: str = ""
    beware: tuple[str, ...] = ()


def label_pdf(made: Sequence[Label], size: str = "bag", *, skip: int = 0) -> bytes:
    """Sheets of labels as PDF; `skip` leaves so many places free on a sheet begun before.

    Raises BadInput for an unknown size, no labels, or more to skip than a sheet has.
    """
    is_one_of("size", size, tuple(LABEL_SIZES))
    sheet = LABEL_SIZES[size]
    room = sheet.across * sheet.down
    if not made:
        raise BadInput("labels", 0, "one label or more", "Choose bags or bars.")
    if not 0 <= skip < room:
        raise BadInput("skip", skip, f"0 to {room - 1}", "Count the labels that are gone.")
    places: list[dict[str, object] | None] = [None] * skip
    places += [_card(one) for one in made]
    card = {
        "kind": "labels",
        "title": size,
        "across": sheet.across,
        "wide": sheet.wide_mm,
        "high": sheet.high_mm,
        "pages": [places[n : n + room] for n in range(0, len(places), room)],
    }
    return press([card], "labels", labels())


def _card(one: Label) -> dict[str, object]:
    return {
        "id": one.id.rpartition("/")[2] or one.id,
        "owner": one.owner,
        "what": one.what,
        "mass": one.mass,
        "fineness": one.fineness,
        "beware": list(one.beware),
        "code": code_of("id", one.id),
    }
