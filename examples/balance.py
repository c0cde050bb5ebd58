"""Read a serial balance and send the weight to the book.

    python examples/balance.py /dev/ttyUSB0 --lot S31 --owner shop --metal Ag --form filings
    python examples/balance.py /dev/ttyUSB0 --heap shop store S1

The first weighs a new bag in, the second brings a heap of the book to what the balance says. A
balance that prints by itself sends lines such as

    ST,+00012.34 g        stable
    US,+00012.30 g        still moving

(common practice, no source). The first stable weight above zero is taken.
"""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Iterable
from typing import Any

from lemel_link import Refused, lines_of, send

LINE = re.compile(r"(ST|US),([+-])\s*(\d+(?:\.\d+)?)\s*g")


def main(words: list[str] | None = None) -> int:
    """Weigh once; 0 when the book has it."""
    asked = _asked(words)
    grams = stable_g(lines_of(asked.device))
    if grams is None:
        sys.stderr.write("The balance ended without a stable weight.\n")
        return 1
    try:
        done = send(asked.url, *_act(asked, grams), token=asked.token)
    except Refused as no:
        sys.stderr.write(f"{no}\n")
        return 2
    sys.stdout.write(f"{grams} g: {done}\n")
    return 0


def stable_g(lines: Iterable[str]) -> float | None:
    """The first stable weight above zero, g; what cannot be read is passed over."""
    for line in lines:
        found = LINE.fullmatch(line)
        if found and found[1] == "ST" and found[2] == "+" and float(found[3]) > 0:
            return float(found[3])
    return None


def _act(asked: argparse.Namespace, grams: float) -> tuple[str, dict[str, Any]]:
    if asked.heap:
        owner, place, body = asked.heap
        return "heaps/weigh", {"owner": owner, "place": place, "body": body, "weighed_g": grams}
    lot = {
        "id": asked.lot, "owner": asked.owner, "main": asked.metal, "form": asked.form,
        "mass_g": grams,
    }  # fmt: skip
    return "lots", {"lots": [lot]}


def _asked(words: list[str] | None) -> argparse.Namespace:
    options = argparse.ArgumentParser(description="Send a serial balance's weight to the book.")
    options.add_argument("device", help="the serial device")
    options.add_argument("--url", default="http://127.0.0.1:8311", help="where the book is served")
    options.add_argument("--token", default="", help="of `lemel serve --new-token`")
    options.add_argument("--lot", help="weigh in a new bag of this id")
    options.add_argument("--owner", default="", help="whose")
    options.add_argument("--metal", default="Ag", help="main metal [Ag]")
    options.add_argument("--form", default="sheet", help="how it looks [sheet]")
    options.add_argument("--heap", nargs=3, metavar=("OWNER", "PLACE", "BODY"), help="a known heap")
    asked = options.parse_args(words)
    if bool(asked.heap) == bool(asked.lot):
        options.error("give --lot or --heap")
    return asked


if __name__ == "__main__":
    sys.exit(main())
