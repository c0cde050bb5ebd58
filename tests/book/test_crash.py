"""Writers that are killed, and writers that want the same: nothing acknowledged is ever lost.

Power loss was not tested: a killed process leaves what it wrote to the operating system.
"""

from __future__ import annotations

import random
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from lemel.book import Account, open_book

WRITER = Path(__file__).with_name("writer.py")


def start(*arguments):
    return subprocess.Popen(
        [sys.executable, str(WRITER), *map(str, arguments)],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip


def go(*processes):
    """Once all are ready, all at once."""
    for process in processes:
        assert process.stdout.readline() == "ready\n"
    for process in processes:
        process.stdin.write("\n")
        process.stdin.flush()


def kill_in_the_middle(folder, dice, round_number):
    """Let a writer acknowledge a few entries, kill it -9, and see what is there."""
    process = start(folder, f"r{round_number}-", 10_000)
    go(process)
    told = [process.stdout.readline().split() for _ in range(dice.randrange(1, 25))]
    for _ in range(dice.randrange(0, 30_000)):
        pass  # somewhere within an entry, not just after one
    process.kill()
    told += [line.split() for line in process.stdout.read().splitlines() if len(line.split()) == 4]
    process.wait()
    process.stdin.close()
    process.stdout.close()
    with open_book(folder) as book:
        number, digest = told[-1][:2]
        found = book.audit((int(number), digest))
        assert found.whole, found.faults
        # At most one entry was sealed and not yet told of.
        assert int(number) <= found.entries <= int(number) + 1
        held = {a.body: h.gross_mg for a, h in book.balances(place="store").items()}
        assert all(held[lot] == int(mg) for _, _, lot, mg in told)
        assert len(held) == found.entries


def kills(begun, tmp_path, rounds):
    shutil.copytree(begun, tmp_path / "book")
    dice = random.Random(925)
    for n in range(rounds):
        kill_in_the_middle(tmp_path / "book", dice, n)


def test_a_killed_writer_leaves_every_acknowledged_entry_and_no_half(begun, tmp_path):
    kills(begun, tmp_path, 30)


@pytest.mark.soak
def test_three_hundred_killed_writers_leave_no_half_entry(begun, tmp_path):
    kills(begun, tmp_path, 300)


def writers_at_once(begun, tmp_path, count, writers):
    shutil.copytree(begun, tmp_path / "book")
    processes = [start(tmp_path / "book", f"w{n}-", count) for n in range(writers)]
    go(*processes)
    told = [process.communicate()[0].splitlines() for process in processes]
    assert [process.returncode for process in processes] == [0] * writers
    numbers = sorted(int(line.split()[0]) for lines in told for line in lines)
    assert numbers == list(range(1, writers * count + 1))
    with open_book(tmp_path / "book") as book:
        found = book.audit()
        assert (found.entries, found.whole) == (writers * count, True)


def test_two_processes_that_write_at_once_queue_and_lose_nothing(begun, tmp_path):
    writers_at_once(begun, tmp_path, 12, 2)


@pytest.mark.soak
def test_eight_processes_that_write_at_once_queue_and_lose_nothing(begun, tmp_path):
    writers_at_once(begun, tmp_path, 200, 8)


def test_a_lot_that_two_want_is_taken_once(begun, tmp_path):
    shutil.copytree(begun, tmp_path / "book")
    process = start(tmp_path / "book", "L", 1)
    go(process)
    process.communicate()
    takers = [start("take", tmp_path / "book", "L0", f"taker{n}") for n in range(2)]
    go(*takers)
    told = sorted(taker.communicate()[0].split()[0] for taker in takers)
    assert told == ["refused", "taken"]
    with open_book(tmp_path / "book") as book:
        assert book.held(Account("ada", "store", "L0")).gross_mg == 0
        assert sum(h.gross_mg for h in book.balances(place="scrap").values()) == 100
        assert book.audit().whole
