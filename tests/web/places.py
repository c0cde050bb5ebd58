"""Every page that the tests of look and safety visit: add yours."""

from __future__ import annotations

from lemel.web.areas import AREAS

PLACES = [f"/{begins}" for begins in AREAS.values()] + [
    "/does/O6.1/",
    "/drawer/",
    "/units/",
    "/scrap/bag/S9/",
    "/scrap/weigh-in/",
    "/scrap/receipt/",
    "/scrap/file/",
    "/orders/new/ring/",
    "/orders/plan/",
]
