"""The child's side: reads the job, tells of it line by line, ends itself when stdin closes."""

from __future__ import annotations

import json
import sys
import threading
import time
from collections.abc import Callable
from typing import Any, TextIO

from lemel.errors import BadInput, LemelError, Stopped
from lemel.values import to_plain
from lemel.work.jobs import do

__all__ = ["main"]

#: Between two lines of progress at least, s.
_PAUSE_S = 0.2


class _Teller:
    """A Watch that writes progress as lines and stops once stdin is closed."""

    def __init__(self, say: Callable[[str, Any], None]) -> None:
        self._say = say
        self._stop = threading.Event()
        self._told_at = 0.0

    def stop(self) -> None:
        """Nobody waits for the answer any more."""
        self._stop.set()

    def cancelled(self) -> bool:
        return self._stop.is_set()

    def tell(self, done: float, best: float | None = None, bound: float | None = None) -> None:
        now = time.monotonic()
        if now - self._told_at >= _PAUSE_S or done >= 1:
            self._told_at = now
            self._say("told", {"done": round(done, 4), "best": best, "bound": bound})


def main(source: TextIO | None = None, sink: TextIO | None = None) -> int:
    """One job: its first line is the question, the end of the stream a wish to stop.

    Exit codes as on the command line: 0 answered, 2 bad input, 130 stopped, 1 our own fault.
    """
    source, sink = source or sys.stdin, sink or sys.stdout

    def say(word: str, what: Any) -> None:
        sink.write(json.dumps({word: what}) + "\n")
        sink.flush()

    teller = _Teller(say)
    first = source.readline()
    threading.Thread(target=_until_closed, args=(source, teller), daemon=True).start()
    try:
        job = _question(first)
        answer = do(
            job["kind"], job["asked"], watch=teller, preview=lambda made: say("preview", made)
        )
    except BadInput as fault:
        faults = [
            {"field": one.field, "value": to_plain(one.value), "allowed": one.allowed, "do": one.do}
            for one in fault.all
        ]
        say("fault", {"said": str(fault), "faults": faults})
        return 2
    except Stopped as fault:
        say("stopped", {"why": str(fault)})
        return 130
    except LemelError as fault:
        say("fault", {"said": str(fault)})
        return 1
    say("answer", answer)
    return 0


def _question(line: str) -> dict[str, Any]:
    allowed = 'one line of JSON: {"kind": ..., "asked": {...}}'
    try:
        job = json.loads(line)
    except ValueError:
        raise BadInput("job", line[:60], allowed, "Send the job first.") from None
    if not isinstance(job, dict) or set(job) != {"kind", "asked"}:
        raise BadInput("job", line[:60], allowed, "Send the job first.")
    return job


def _until_closed(source: TextIO, teller: _Teller) -> None:
    while source.readline():
        pass
    teller.stop()
