"""Every speed that the house promises, measured on this machine: python benchmarks/measure.py

Collects `run()` from each `measure_<room>.py` beside it, a list of (claim, measured), and
prints one table. Words name rooms, to measure those alone; `--keep` also writes the table
into docs/measure.md.
"""

from __future__ import annotations

import importlib.util
import os
import platform
import sys
from collections.abc import Iterable
from pathlib import Path

HERE = Path(__file__).resolve().parent
PAGE = HERE.parent / "docs" / "measure.md"
#: From this heading on the page is written by hand, after `make soak`.
LONG_RUNS = "## Long runs\n"
ONE_THREAD = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")

Claims = list[tuple[str, str]]


def main(words: list[str]) -> int:
    """Measure, print, perhaps keep; 1 if a script could not be run."""
    for name in ONE_THREAD:
        os.environ[name] = "1"
    wanted = {word for word in words if not word.startswith("-")}
    table: list[tuple[str, str, str]] = []
    failed = False
    for path in sorted(HERE.glob("measure_*.py")):
        room = path.stem.removeprefix("measure_")
        if wanted and room not in wanted:
            continue
        try:
            table += [(room, claim, measured) for claim, measured in claims_of(path)]
        except Exception as fault:  # a broken script must not hide the others' figures
            failed = True
            table.append((room, "could not be measured", f"{type(fault).__name__}: {fault}"))
        print(f"measured {room}", file=sys.stderr)
    text = as_table(table)
    print(text)
    if "--keep" in words:
        _, kept, long_runs = (PAGE.read_text("utf-8") if PAGE.exists() else "").partition(LONG_RUNS)
        page = f"# Measured\n\n{about_this_machine()}\n\n{text}\n"
        PAGE.write_text(f"{page}\n{kept}{long_runs}" if kept else page, "utf-8")
    return 1 if failed else 0


def claims_of(path: Path) -> Claims:
    """What one script measures."""
    spec = importlib.util.spec_from_file_location(path.stem, path)
    if spec is None or spec.loader is None:
        raise ImportError(path)
    module = importlib.util.module_from_spec(spec)
    # Dataclasses look their own module up by name while they are made.
    sys.modules[path.stem] = module
    spec.loader.exec_module(module)
    claims: Claims = module.run()
    return claims


def as_table(rows: Iterable[tuple[str, str, str]]) -> str:
    """Three ruled columns that read in a terminal and as Markdown."""
    lines = [("room", "claim", "measured"), *rows]
    widths = [max(len(line[n]) for line in lines) for n in range(3)]
    ruled = [" | ".join(cell.ljust(widths[n]) for n, cell in enumerate(line)) for line in lines]
    rule = " | ".join("-" * width for width in widths)
    return "\n".join(f"| {line} |" for line in [ruled[0], rule, *ruled[1:]])


def about_this_machine() -> str:
    """Version, Python and cores: what a figure is worth nothing without."""
    from lemel import __version__

    cores = os.cpu_count() or 1
    return (
        f"lemel {__version__}, Python {platform.python_version()}, {platform.machine()}, "
        f"{cores} cores, one thread each. `make measure ARGS=--keep` writes this page."
    )


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
