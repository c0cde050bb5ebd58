"""Looking on while a room works: progress on stderr, Ctrl-C, and an outer clock."""

from __future__ import annotations

import signal
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

__all__ = ["Onlooker", "watching"]


class Onlooker:
    """A `Watch` that stops at Ctrl-C or at the clock, and tells how far the work is."""

    def __init__(self, title: str, seconds: float | None) -> None:
        self._title = title
        self._until = None if seconds is None else time.monotonic() + seconds
        self._shown = False
        self._last = 0.0
        self.interrupted = False

    def cancelled(self) -> bool:
        """True after Ctrl-C, or once the time is up."""
        late = self._until is not None and time.monotonic() > self._until
        return self.interrupted or late

    def tell(self, done: float, best: float | None = None, bound: float | None = None) -> None:
        """One line on stderr where that is a terminal, at most five times a second."""
        now = time.monotonic()
        if not sys.stderr.isatty() or now - self._last < 0.2:
            return
        self._last, self._shown = now, True
        parts = [f"{self._title} {100 * min(1.0, max(0.0, done)):3.0f} %"]
        if best is not None:
            parts.append(f"best {best:.6g}")
        if bound is not None:
            parts.append(f"bound {bound:.6g}")
        sys.stderr.write("\r\x1b[K" + ", ".join(parts))
        sys.stderr.flush()

    def interrupt(self, _number: int, _frame: FrameType | None) -> None:
        """The first Ctrl-C asks the room to end with its best; the second ends at once."""
        if self.interrupted:
            raise KeyboardInterrupt
        self.interrupted = True

    def wipe(self) -> None:
        """Takes the line of progress away."""
        if self._shown:
            sys.stderr.write("\r\x1b[K")
            sys.stderr.flush()


@contextmanager
def watching(title: str, seconds: float | None = None) -> Iterator[Onlooker]:
    """An onlooker for the time of one piece of work."""
    onlooker = Onlooker(title, seconds)
    try:
        before = signal.signal(signal.SIGINT, onlooker.interrupt)
    except ValueError:
        # Not in the main thread: Ctrl-C is somebody else's business there.
        before = None
    try:
        yield onlooker
    finally:
        if before is not None:
            signal.signal(signal.SIGINT, before)
        onlooker.wipe()
