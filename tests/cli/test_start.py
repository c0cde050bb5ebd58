"""Start-up: nothing heavy is loaded before it is needed."""

from __future__ import annotations

import subprocess
import sys

import pytest


def _loaded_after(arguments: list[str]) -> set[str]:
    code = (
        "import sys, io, contextlib\n"
        "from lemel.cli import run\n"
        "with contextlib.redirect_stdout(io.StringIO()):\n"
        f"    run({arguments!r})\n"
        "print(' '.join(sorted(sys.modules)))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return set(done.stdout.split())


HEAVY = {"numpy", "scipy", "highspy", "matplotlib", "typst", "shapely", "rich"}


@pytest.mark.parametrize(
    "arguments",
    [
        ["--help"],
        ["--version"],
        ["fry"],
        ["convert", "2", "ozt", "g", "--json"],
        ["where", "--json"],
    ],
)
def test_little_questions_load_nothing_heavy(arguments):
    assert not HEAVY & _loaded_after(arguments)


def test_an_alloy_needs_no_numpy():
    assert "numpy" not in _loaded_after(["alloy", "Ag=925", "Cu=75", "--json"])


def test_a_closed_pipe_is_no_fault():
    code = "from lemel.cli import main; main()"
    done = subprocess.run(
        f"{sys.executable} -c '{code}' --help | head -1",
        shell=True,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stdout.startswith("Usage")
    assert not done.stderr
