"""Read a thermocouple logger and write its temperatures to a heat of the book.

    python examples/thermocouple.py /dev/ttyUSB1 --plan plan-0112 --heat H1

It reads lines such as `T,+1043.5 C` (common practice, no source) and sends at most one every
`--every` seconds. What could not be sent waits and goes with the next; each reading has an id, so
the book keeps it once. The display is not the bath: cold metal dips it by tens of degrees.
"""

from __future__ import annotations

import argparse
import re
import secrets
import sys
import time
from collections.abc import Iterable, Iterator
from typing import Any

from lemel_link import Refused, lines_of, send

LINE = re.compile(r"T,([+-]\d+(?:\.\d+)?)\s*C")
#: A batch as large as the book takes at once.
MOST = 1000


def main(words: list[str] | None = None) -> int:
    """Log until the device ends; 0 when the book has everything."""
    asked = _asked(words)
    waiting: list[dict[str, Any]] = []
    for reading in readings(lines_of(asked.device), asked.every):
        waiting.append(reading)
        try:
            waiting = _sent(asked, waiting, attempts=1)
        except Refused as no:
            sys.stderr.write(f"{no}\n")
            return 2
        except OSError:
            continue
    if waiting:
        _sent(asked, waiting, attempts=30)
    return 0


def readings(lines: Iterable[str], every_s: float) -> Iterator[dict[str, Any]]:
    """Each temperature with an id and the hour it was read, at most one in so many seconds."""
    run, n, last = secrets.token_hex(8), 0, float("-inf")
    for line in lines:
        found = LINE.fullmatch(line)
        now = time.monotonic()
        if found and now - last >= every_s:
            n, last = n + 1, now
            at_ms = int(time.time() * 1000)
            yield {"id": f"thermo-{run}-{n:06d}", "celsius": float(found[1]), "at_ms": at_ms}


def _sent(
    asked: argparse.Namespace, waiting: list[dict[str, Any]], attempts: int
) -> list[dict[str, Any]]:
    """Send what waits; what is left."""
    while waiting:
        body = {"plan": asked.plan, "heat": asked.heat, "readings": waiting[:MOST]}
        send(asked.url, "heats/log", body, asked.token, attempts)
        waiting = waiting[MOST:]
    return waiting


def _asked(words: list[str] | None) -> argparse.Namespace:
    options = argparse.ArgumentParser(description="Write a thermocouple's log to a heat.")
    options.add_argument("device", help="the serial device")
    options.add_argument("--url", default="http://127.0.0.1:8311", help="where the book is served")
    options.add_argument("--token", default="", help="of `lemel serve --new-token`")
    options.add_argument("--plan", required=True, help="the plan's id")
    options.add_argument("--heat", required=True, help="the heat's id in the plan")
    options.add_argument("--every", type=float, default=5.0, help="seconds between readings [5]")
    return options.parse_args(words)


if __name__ == "__main__":
    sys.exit(main())
