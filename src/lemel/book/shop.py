"""`Book`: the face of the room. Opened on a folder; every act is one transaction."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Any

from lemel.book import audit as auditing
from lemel.book import engine, ledger, people
from lemel.book.folder import is_book, make_folder
from lemel.book.values import Account, Audit, Line, Sealed
from lemel.errors import BadInput
from lemel.values import Holding

__all__ = ["Book", "open_book"]


def _utc_now() -> datetime:
    return datetime.now(UTC)


@dataclass(frozen=True, slots=True)
class Book:
    """An open book. Amounts are mg (gross) and ng (elements); owners are named by their id.

    Whatever the book refuses is a `BadInput`, and then nothing was written. `clock` gives the
    hour of an entry (UTC).
    """

    folder: Path
    alias: str
    clock: Callable[[], datetime] = _utc_now

    def __enter__(self) -> Book:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        fault: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let this thread's connection go."""
        engine.let_go(self.alias)

    def now(self) -> str:
        """The hour as it is written: UTC, to the second."""
        return self.clock().astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")

    def enter_owners(self, owners: Mapping[str, str]) -> None:
        """Owners by id and name."""
        with ledger.writing(self.alias):
            people.enter_owners(self.alias, owners)

    def owners(self) -> dict[str, str]:
        """Names by owner's id."""
        return people.shown_names(self.alias)

    def erase_names(self, owner: str) -> str:
        """Take a person's names out; the ledger stays whole. Gives the key that is left."""
        with ledger.writing(self.alias):
            return people.erase(self.alias, owner, self.now())

    def post(
        self,
        kind: str,
        lines: Sequence[Line],
        *,
        key: str = "",
        about: str = "",
        by: str = "",
        consent: str = "",
        memo: Mapping[str, Any] | None = None,
    ) -> Sealed:
        """Seal one entry whose lines sum to nothing in gross and in every element.

        The same `key` with the same content gives the entry that is there already.
        """
        return ledger.post(
            self.alias, self.now(), kind, lines,
            key=key, about=about, by=by, consent=consent, memo=memo,
        )  # fmt: skip

    def reverse(self, number: int, *, by: str = "") -> Sealed:
        """Undo an entry by its opposite; asking twice gives the same reversal."""
        return ledger.reverse(self.alias, self.now(), number, by=by)

    def held(self, account: Account) -> Holding:
        """What one account holds."""
        return ledger.held(self.alias, account)

    def balances(
        self, owner: str | None = None, place: str | None = None
    ) -> dict[Account, Holding]:
        """Every account that holds something, perhaps of one owner or at one place."""
        return ledger.balances(self.alias, owner, place)

    def head(self) -> tuple[int, str]:
        """Number and digest of the last entry: note it on paper, and the audit can be told."""
        return ledger.tail(self.alias)

    def audit(self, expect: tuple[int, str] | None = None) -> Audit:
        """Recompute the chain, the balances and the totals; `expect` is a head noted earlier."""
        return auditing.audit(self.alias, expect)


def open_book(
    path: Path | str, *, create: bool = False, clock: Callable[[], datetime] = _utc_now
) -> Book:
    """The book in a folder; `create` begins one where there is none.

    Raises BadInput where there is no book and none is to be begun.
    """
    folder = Path(path).expanduser().resolve()
    fresh = not is_book(folder)
    if fresh and not create:
        raise BadInput(
            "book", str(folder), "a folder with a book in it", "Begin one with `lemel book init`."
        )
    make_folder(folder)
    alias = engine.connect(folder)
    engine.migrate(alias)
    return Book(folder, alias, clock)
