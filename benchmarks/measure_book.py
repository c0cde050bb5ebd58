"""How fast the book seals, opens, answers and audits, and whether it stays so as it grows."""

from __future__ import annotations

import tempfile
import time
from pathlib import Path

from lemel.book import Account, Book, Line, open_book
from lemel.values import Composition, Holding

_BODY = Composition.from_millesimal({"Ag": 925, "Cu": 75})
_SMALL, _LARGE = 100, 10_000


def _seal(book: Book, begin: int, count: int) -> float:
    begun = time.perf_counter()
    for n in range(begin, begin + count):
        metal = Holding.of(1000 + n, _BODY)
        source = Account("ada", "outside", "arrivals")
        to = Account("ada", "store", f"L{n % 500}")
        book.post("weigh_in", [Line(source, -metal), Line(to, metal)], key=f"in {n}")
    return time.perf_counter() - begun


def _least(act: object, times: int = 7) -> float:
    assert callable(act)
    found = []
    for _ in range(times):
        begun = time.perf_counter()
        act()
        found.append(time.perf_counter() - begun)
    return min(found)


def run() -> list[tuple[str, str]]:
    """Seal to 10 000 entries, one transaction each at synchronous FULL, and time the rest."""
    with tempfile.TemporaryDirectory(prefix="lemel-measure-") as work:
        folder = Path(work) / "book"
        with open_book(folder, create=True) as book:
            book.enter_owners({"ada": "Ada"})
            _seal(book, 0, _SMALL)
            one = Account("ada", "store", "L1")
            small = _least(lambda: book.held(one), 50)
            seconds = _seal(book, _SMALL, _LARGE - _SMALL)
            large = _least(lambda: book.held(one), 50)
            owner = _least(lambda: book.balances("ada"))
            accounts = len(book.balances("ada"))
            begun = time.perf_counter()
            found = book.audit()
            audit_s = time.perf_counter() - begun
            assert found.whole
        opened = _least(lambda: open_book(folder).close())
        begun = time.perf_counter()
        with open_book(folder) as book:
            path, _ = book.backup()
        backup_s = time.perf_counter() - begun
        size_mb = path.stat().st_size / 1e6
    rate = (_LARGE - _SMALL) / seconds
    return [
        ("entries sealed a second, one by one, synchronous FULL (aim 250)", f"{rate:.0f}"),
        (f"open a book of {_LARGE} entries", f"{1000 * opened:.0f} ms"),
        (
            f"one owner's balance, {accounts} accounts, {_LARGE} entries (aim 50 ms)",
            f"{1000 * owner:.1f} ms",
        ),
        (
            f"one heap's balance, {_LARGE} entries against {_SMALL} (flat is 1)",
            f"{large / small:.2f}",
        ),
        ("entries audited a second", f"{_LARGE / audit_s:.0f}"),
        (f"backup of {_LARGE} entries, audited ({size_mb:.1f} MB)", f"{backup_s:.1f} s"),
    ]
