"""An open book as such: its folder, its connection, its hour, and the records of the bench."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Self

from lemel.book import engine, ledger, records
from lemel.book.bench import Bench
from lemel.book.loss_heats import heat_records
from lemel.book.loss_values import HeatRecord
from lemel.values import Consent

__all__ = ["Opened", "utc_now"]


def utc_now() -> datetime:
    """The hour, where no other clock is given."""
    return datetime.now(UTC)


@dataclass(frozen=True, slots=True)
class Opened:
    """Opened on a folder, closed at the end of a `with`. `clock` gives the hour of an entry."""

    folder: Path
    alias: str
    clock: Callable[[], datetime] = utc_now

    def __enter__(self) -> Self:
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

    @contextmanager
    def together(self) -> Iterator[None]:
        """Several acts as one: all of them, or where one is refused none.

        An act that stops for an objection leaves nothing of them either; then leave the `with`.
        """
        with ledger.writing(self.alias):
            yield

    @property
    def bench(self) -> Bench:
        """Orders, tools, prices, rules, gates, photographs, runs, stock; the plan's question."""
        return Bench(self.folder, self.alias, self.clock)

    def consents(self) -> tuple[Consent, ...]:
        """What owners have allowed and not taken back, as it was given."""
        return tuple(records.consents(self.alias).values())

    def heat_records(self, since: str = "", until: str = "9999") -> tuple[HeatRecord, ...]:
        """The heats as they were weighed, for whoever learns yields and losses from them."""
        return heat_records(self.alias, since, until)
