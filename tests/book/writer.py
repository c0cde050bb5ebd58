"""A writer of its own process: weighs in lot after lot, and acknowledges each on stdout.

python writer.py FOLDER NAME COUNT
"""

# ruff: noqa: T201
from __future__ import annotations

import sys

from lemel.book import Account, Line, open_book
from lemel.values import Composition, Holding


def main(folder: str, name: str, count: int) -> None:
    body = Composition.from_millesimal({"Ag": 925, "Cu": 75})
    with open_book(folder) as book:
        print("ready", flush=True)
        sys.stdin.readline()
        for n in range(count):
            metal = Holding.of(100 + n, body)
            lot = f"{name}{n}"
            sealed = book.post(
                "weigh_in",
                [
                    Line(Account("ada", "outside", "arrivals"), -metal),
                    Line(Account("ada", "store", lot), metal),
                ],
                key=f"in {lot}",
            )
            print(sealed.number, sealed.digest, lot, 100 + n, flush=True)


def take_all(folder: str, lot: str, name: str) -> None:
    """One of many who want the same lot."""
    from lemel.errors import BadInput

    with open_book(folder) as book:
        print("ready", flush=True)
        sys.stdin.readline()
        account = Account("ada", "store", lot)
        metal = book.held(account)
        try:
            book.post(
                "take",
                [Line(account, -metal), Line(Account("ada", "scrap", name), metal)],
                key=f"take {name}",
            )
            print("taken", flush=True)
        except BadInput as fault:
            print("refused", fault.value, flush=True)


if __name__ == "__main__":
    if sys.argv[1] == "take":
        take_all(*sys.argv[2:5])
    else:
        main(sys.argv[1], sys.argv[2], int(sys.argv[3]))
