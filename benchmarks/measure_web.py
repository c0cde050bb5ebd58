"""How fast the pages and the API answer over a book of 100 000 lots, and what a first load weighs.

Server time, without wires, in one process; before every fifth asking somebody else wrote into the
book, so that what is only kept ready does not count as fast.
"""

from __future__ import annotations

import os
import re
import sys
import tempfile
import time
from pathlib import Path

from lemel.serve import configure, point_at

__all__ = ["run", "times_ms"]

LOTS = int(os.environ.get("LEMEL_MEASURE_LOTS", "100000"))
_TIMES = 20
#: What takes longer than this is asked no second time.
_HOPELESS_S = 2.0
_AIM_MS, _AIM_BYTES = 100, 300_000
_LOT = "L000042"
#: What needs more than its address. The whole book at once is no page.
_ASKED = {
    "/api/belief": {"lot": _LOT}, "/api/gates": {"lot": _LOT}, "/api/lot": {"id": _LOT},
    "/api/readings": {"about": _LOT}, "/api/photos": {"about": _LOT},
    "/api/faults": {"body": _LOT}, "/api/ancestry": {"body": _LOT},
    "/api/descent": {"body": _LOT}, "/api/origin": {"body": _LOT}, "/api/promise": {"body": _LOT},
    "/api/labels": {"body": [_LOT]}, "/api/tools/notes": {"kind": "saw", "id": "none"},
    "/api/heaps": {}, "/api/lots": {"words": "hollowware"},
}  # fmt: skip
#: They read the whole book by their nature, or need a plan.
_WHOLE = {
    "/api/export", "/api/audit", "/api/values", "/api/statement", "/api/statement.pdf",
    "/api/heat-records", "/api/openapi.json",
}  # fmt: skip


def run() -> list[tuple[str, str]]:
    """The slowest pages and addresses, and the bytes of the first load."""
    sys.path.insert(0, str(Path(__file__).resolve().parent))
    configure(hosts=["testserver"])
    from web_world import large_book

    with tempfile.TemporaryDirectory(prefix="lemel-measure-") as work:
        folder = Path(work) / "book"
        begun = time.perf_counter()
        large_book(folder, LOTS)
        made_s = time.perf_counter() - begun
        point_at(folder)
        found = times_ms(folder)
        weight = _first_load()
    slow = [(path, ms) for path, ms in found.items() if ms > _AIM_MS]
    rows = [
        (f"a book of {LOTS} lots, sealed in bulk", f"{made_s:.0f} s"),
        (
            f"pages and addresses with p95 of server time under {_AIM_MS} ms",
            f"{len(found) - len(slow)} of {len(found)}",
        ),
        (f"bytes of the first load (aim {_AIM_BYTES})", f"{weight}"),
    ]
    by_time = sorted(found.items(), key=lambda one: -one[1])
    shown = [*slow, *(one for one in by_time[:8] if one not in slow)]
    return rows + [(f"p95 of {path}", f"{ms:.0f} ms") for path, ms in shown]


def times_ms(folder: Path, times: int = _TIMES) -> dict[str, float]:
    """p95 of the server's time by address, ms, for whatever answers at all."""
    from django.test import Client

    from lemel.book import open_book

    client, book = Client(), open_book(folder)
    found = {}
    for path, asked in _places():
        begun = time.perf_counter()
        if client.get(path, asked).status_code != 200:
            continue
        if time.perf_counter() - begun > _HOPELESS_S:
            found[path] = 1000 * (time.perf_counter() - begun)
            continue
        taken = []
        for n in range(times):
            if n % 5 == 0:
                book.bench.set_place(_LOT, f"drawer {n}")
            begun = time.perf_counter()
            client.get(path, asked)
            taken.append(1000 * (time.perf_counter() - begun))
        found[path] = sorted(taken)[max(0, int(0.95 * times) - 1)]
        print(f"{found[path]:8.1f} ms {path}", file=sys.stderr)
    return found


def _places() -> list[tuple[str, dict[str, object]]]:
    from lemel.api.routes import api
    from lemel.web.areas import AREAS

    paths = api.get_openapi_schema()["paths"]
    looks = [path for path, methods in paths.items() if "get" in methods and path not in _WHOLE]
    pages = [f"/{begins}" for begins in AREAS.values()] + [f"/scrap/{_LOT}/"]
    return [(path, _ASKED.get(path, {})) for path in [*pages, *looks]]


def _first_load() -> int:
    """The first page with its styles and scripts, as they go over the wire unpacked."""
    from django.test import Client

    client = Client()
    page = client.get("/").content
    linked = set(re.findall(rb'(?:href|src)="(/static/[^"]+)"', page))
    parts = [client.get(one.decode()) for one in linked]
    return len(page) + sum(len(b"".join(part.streaming_content)) for part in parts)


if __name__ == "__main__":
    for claim, measured in run():
        print(f"{claim}: {measured}")
