"""How quickly the house itself starts: set-up check, program start, tables, words."""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

HOUSE = Path(__file__).resolve().parents[1]


def run() -> list[tuple[str, str]]:
    """(claim, measured) for each promise; the least of seven."""
    from lemel.tables import shipped
    from lemel.values import Quantity, Saying
    from lemel.words import say

    saying = Saying("house.example.mass", {"lot": "S1", "mass": Quantity(41.2, "g")})
    say(saying)
    lemel = str(Path(sys.executable).with_name("lemel"))
    with tempfile.TemporaryDirectory() as folder:
        compare = (
            f"import sys; sys.path.insert(0, {str(HOUSE)!r}); import pathlib, up; "
            f"up.furnish = lambda *_: None; up.STAMP = pathlib.Path({folder!r}, 'stamp'); "
            "up.set_up('dev')"
        )
        passed_over = _ms(lambda: _python("-c", compare))
    return [
        ("a finished set-up is passed over in 0.1 s", passed_over),
        ("Python alone starts in", _ms(lambda: _python("-c", "pass"))),
        ("`lemel --help` answers in 0.3 s", _ms(lambda: _run(lemel, "--help"))),
        ("all tables are read in", _ms(shipped.__wrapped__)),
        ("a thousand sentences are said in", _ms(lambda: [say(saying) for _ in range(1000)])),
    ]


def _ms(call: Callable[[], object]) -> str:
    seconds = []
    for _ in range(7):
        start = time.perf_counter()
        call()
        seconds.append(time.perf_counter() - start)
    return f"{min(seconds) * 1000:.0f} ms"


def _python(*words: str) -> None:
    _run(sys.executable, *words)


def _run(*words: str) -> None:
    subprocess.run(words, check=True, capture_output=True, cwd=HOUSE)
