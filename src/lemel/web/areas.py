"""The areas of the pages: where each begins and what it is called."""

from __future__ import annotations

__all__ = ["AREAS", "NAMES", "REACHES", "area_of"]

#: Area: where its addresses begin. The order is that of the words at the head of each page.
AREAS = {
    "today": "",
    "scrap": "scrap/",
    "orders": "orders/",
    "furnace": "furnace/",
    "mill": "mill/",
    "books": "books/",
    "tools": "tools/",
    "class_view": "class/",
    "papers": "papers/",
}
#: Addresses of the first page's pieces.
_OF_TODAY = ("drawer", "at-hand", "does")
#: What each area is called at the head of a page.
NAMES = {
    "today": "Today",
    "scrap": "Scrap",
    "orders": "Orders",
    "furnace": "Furnace",
    "mill": "Mill",
    "books": "Books",
    "tools": "Tools",
    "class_view": "Class",
    "papers": "Papers",
}
#: The reach of the metal's way that an area works on.
REACHES = {
    "scrap": "scrap",
    "furnace": "heats",
    "mill": "ingots",
    "today": "stock",
    "orders": "pieces",
}


def area_of(path: str) -> str:
    """The area that an address lies in; "" for none.

    >>> area_of("/scrap/S1/"), area_of("/"), area_of("/door/")
    ('scrap', 'today', '')
    """
    first = path.lstrip("/").partition("/")[0]
    found = [name for name, begins in AREAS.items() if begins.rstrip("/") == first]
    return found[0] if found else "today" if first in _OF_TODAY else ""
