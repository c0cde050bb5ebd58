"""`lemel plan` and `lemel demo`: a whole month from its files to its cards."""

from __future__ import annotations

import time
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import click

from lemel.cli.answer import INFEASIBLE, Told, plain
from lemel.cli.faults import STOPPED
from lemel.cli.limits import beyond_all_metal, without
from lemel.cli.month_view import MonthView, ways_beyond
from lemel.cli.run import verb
from lemel.cli.watching import watching
from lemel.errors import BadInput
from lemel.files import read_plan
from lemel.plan import Plan, PlanProblem, to_document
from lemel.plan import do as make_plan
from lemel.values import Saying
from lemel.words import say

__all__ = ["demo", "plan", "planned"]


@verb("plan")
@click.argument("file", metavar="FILE|FOLDER")
@click.option("--cards", metavar="DIR", help="Write the cards into this folder.")
def plan(file: str, cards: str | None) -> Told:
    """FILE (TOML or JSON, - is stdin) or a FOLDER of workshop, lots, readings, orders, prices."""
    problem = read_plan(file)
    return planned(problem, Path(cards) if cards else None)


@verb("demo")
@click.option("--into", default="./.demo", metavar="DIR", help="Where the cards go. [./.demo]")
def demo(into: str) -> Told:
    """Plan the Quillmarsh month and write its cards."""
    from lemel.demo import quillmarsh

    return planned(read_plan(quillmarsh()), Path(into), files=quillmarsh())


def planned(problem: PlanProblem, cards: Path | None, files: Path | None = None) -> Told:
    """A month planned, shown, and its cards written where they are wanted."""
    begun = time.perf_counter()
    beyond = beyond_all_metal(problem)
    with watching("plan") as watch:
        found = make_plan(without(problem, beyond), watch=watch)
    seconds = time.perf_counter() - begun
    written = _cards(found, cards) if cards else []
    payload = {
        **_with_beyond(to_document(found, say), problem, beyond),
        "seconds": seconds,
        "cards": [str(path) for path in written],
    }
    if files is not None:
        payload["files"] = str(files)
    code = INFEASIBLE if beyond or _nothing_met(found) else 0
    code = STOPPED if watch.interrupted else code
    view = MonthView(problem, found, beyond, payload["cards"], seconds, files)
    return Told(payload, view.show, code)


def _with_beyond(
    document: dict[str, Any], problem: PlanProblem, beyond: Mapping[str, Saying]
) -> dict[str, Any]:
    """The plan's document with the lines that were not even tried."""
    orders = {line.id: line.order for line in problem.orders}
    for line, reason in beyond.items():
        ways = [plain(way) for way in ways_beyond(line)]
        told = {"order": orders[line], "line": line, "met_by": "unmet", "how": plain(reason)}
        document["lines"].append({**told, "why": [], "uses": [], "claim_share": None})
        document["unmet"][line] = {
            "order": orders[line],
            "reason": plain(reason),
            "ways_out": ways,
        }
    return document


def _nothing_met(found: Plan) -> bool:
    """A plan that meets no line at all is no plan; one that meets some says what it leaves."""
    return not any(line.met_by != "unmet" for line in found.lines)


def _cards(found: Plan, folder: Path) -> list[Path]:
    from lemel.cards import write

    try:
        folder.mkdir(parents=True, exist_ok=True)
        return [Path(path) for path in write(found, folder)]
    except OSError as error:
        raise BadInput(
            "--cards", str(folder), "a folder that can be written", f"{error.strerror}."
        ) from None
