"""A layout by itself at full size, as PDF: printed at 100 % it is stuck on the metal."""

from __future__ import annotations

from lemel.cards.press import drawing, press
from lemel.cut import Layout
from lemel.sketch import full_size

__all__ = ["stencil_pdf"]

#: What a sheet of A4 on its side prints with 10 mm left free all round.
_ROOM_MM = (277.0, 190.0)


def stencil_pdf(layout: Layout, bar: str) -> bytes | None:
    """One bar's layout on as many A4 pages as it takes; None for wire, whose cuts are a list.

    The line marked 50 mm on each page is to be measured before anything is stuck on metal.
    """
    drawn = full_size(layout, bar, _ROOM_MM)
    pages = [*([drawn.inline] if drawn.inline else []), *drawn.pages]
    if not pages:
        return None
    card = {
        "kind": "stencil",
        "title": bar,
        "pages": [[drawing(one) for one in page] for page in pages],
    }
    return press([card], bar, {})
