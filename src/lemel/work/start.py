"""The parent's side: starts a child for a job and hands on its lines."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

__all__ = ["Child", "start"]

#: A solve uses one core, so that several children share a small machine.
_ONE_THREAD = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1", "MKL_NUM_THREADS": "1"}


@dataclass(frozen=True, slots=True)
class Child:
    """A job at work. Its lines come in order; the last is `answer`, `fault` or `stopped`."""

    process: subprocess.Popen[str]

    def lines(self) -> Iterator[tuple[str, Any]]:
        """Each line as (word, what); a child that dies without an answer says `fault`."""
        ended = False
        try:
            for line in self.process.stdout or ():
                for word, what in json.loads(line).items():
                    ended = word in ("answer", "fault", "stopped")
                    yield word, what
        finally:
            self.stop()
            code = self.process.wait()
            if self.process.stdout:
                self.process.stdout.close()
        if not ended:
            yield "fault", {"said": f"the work ended without an answer (code {code})"}

    def stop(self) -> None:
        """Ask it to stop; it does so at its next look at the watch."""
        if self.process.stdin:
            with suppress(BrokenPipeError):
                self.process.stdin.close()

    def kill(self) -> None:
        """End it now."""
        self.process.kill()


def start(kind: str, asked: Mapping[str, Any]) -> Child:
    """Begin a job in a process of its own; `asked` is plain JSON data."""
    process = subprocess.Popen(
        [sys.executable, "-m", "lemel.work"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        encoding="utf-8",
        env={**os.environ, **_ONE_THREAD},
    )
    assert process.stdin is not None
    # A child that dies before it has read the question says so in its lines.
    with suppress(BrokenPipeError):
        process.stdin.write(json.dumps({"kind": kind, "asked": asked}) + "\n")
        process.stdin.flush()
    return Child(process)
