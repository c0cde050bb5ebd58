"""`lemel plan` and `lemel demo`: a whole month from its files to its cards."""

from __future__ import annotations

import time
from collections.abc import Mapping
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from lemel.cli.answer import INFEASIBLE, Told
from lemel.cli.faults import STOPPED
from lemel.cli.run import verb
from lemel.cli.watching import watching
from lemel.errors import BadInput
from lemel.files import read_plan
from lemel.plan import HeatPlan, Plan, PlanProblem, to_document
from lemel.plan import do as make_plan
from lemel.words import say

if TYPE_CHECKING:
    from lemel.cli.paper import Paper

__all__ = ["demo", "plan"]


@verb("plan")
@click.argument("file", metavar="FILE|FOLDER")
@click.option("--cards", metavar="DIR", help="Write the bench cards into this folder.")
def plan(file: str, cards: str | None) -> Told:
    """FILE (TOML or JSON, - is stdin) or a FOLDER of workshop, lots, readings, orders, prices."""
    problem = read_plan(file)
    return _planned(problem, Path(cards) if cards else None)


@verb("demo")
@click.option("--into", default="./.demo", metavar="DIR", help="Where the cards go. [./.demo]")
def demo(into: str) -> Told:
    """Plan the Quillmarsh month and write its cards."""
    from lemel.demo import quillmarsh

    return _planned(read_plan(quillmarsh()), Path(into), files=quillmarsh())


def _planned(problem: PlanProblem, cards: Path | None, files: Path | None = None) -> Told:
    begun = time.perf_counter()
    with watching("plan") as watch:
        found = make_plan(problem, watch=watch)
    seconds = time.perf_counter() - begun
    written = _cards(found, cards) if cards else []
    payload = {
        **to_document(found, say),
        "seconds": seconds,
        "cards": [str(path) for path in written],
    }
    if files is not None:
        payload["files"] = str(files)
    code = INFEASIBLE if _nothing_met(found) else 0
    code = STOPPED if watch.interrupted else code
    return Told(payload, lambda paper: _show(problem, found, payload, files, paper), code)


def _nothing_met(found: Plan) -> bool:
    """A plan that meets no line at all is no plan; one that meets some says what it leaves."""
    return not any(line.met_by != "unmet" for line in found.lines)


def _cards(found: Plan, folder: Path) -> list[Path]:
    write = getattr(import_module("lemel.cards"), "write", None)
    if write is None:
        return []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        return [Path(path) for path in write(found, folder)]
    except OSError as error:
        raise BadInput(
            "--cards", str(folder), "a folder that can be written", f"{error.strerror}."
        ) from None


def _show(
    problem: PlanProblem,
    found: Plan,
    payload: Mapping[str, Any],
    files: Path | None,
    paper: Paper,
) -> None:
    if files is not None:
        paper.line(f"Read {files}.")
    shop = problem.workshop
    paper.line(
        f"{shop.name}: {len(problem.lots)} lots, {len(problem.orders)} order lines, "
        f"{len(found.heats)} heats, as of {shop.as_of.isoformat()}."
    )
    _show_lines(found, paper)
    _show_heats(found, paper)
    _show_unused(found, paper)
    _show_balance(found, paper)
    paper.sayings("Before you begin", found.objections)
    paper.sayings("Mind", found.cautions)
    if payload["cards"]:
        paper.head("Cards")
        for path in payload["cards"]:
            paper.line(f"  {path}")
    paper.line(f"Planned in {payload['seconds']:.1f} s.")


def _show_lines(found: Plan, paper: Paper) -> None:
    paper.head("Orders")
    paper.table(
        ("line", "by", "how"),
        [(line.line, line.met_by.replace("_", " "), say(line.how)) for line in found.lines],
        left=2,
        words_last=True,
    )
    for unmet in found.unmet:
        paper.line(f"{unmet.line} is not met. {say(unmet.reason)}")
        for way in unmet.ways_out:
            paper.line(f"  - {say(way)}")


def _show_heats(found: Plan, paper: Paper) -> None:
    if not found.heats:
        return
    paper.head("Heats")
    paper.table(
        ("heat", "owner", "standard", "charge", "grams", "promised", "pot"),
        [
            (
                heat.id,
                found.owners.get(heat.owner, heat.owner),
                heat.standard,
                ", ".join(f"{body} {g:.2f}" for body, g in _charge(heat).items()),
                f"{heat.blend.mass_g:.2f}",
                f"{1000 * heat.blend.promised:.1f}",
                heat.pot,
            )
            for heat in found.heats
        ],
        left=4,
        words_last=True,
    )


def _charge(heat: HeatPlan) -> dict[str, float]:
    return {**heat.blend.lots, **heat.blend.additions}


def _show_unused(found: Plan, paper: Paper) -> None:
    if not found.unused:
        return
    paper.head("Lots that stay")
    paper.table(
        ("lot", "why"),
        [(lot, say(reason)) for lot, reason in sorted(found.unused.items())],
        words_last=True,
    )


def _show_balance(found: Plan, paper: Paper) -> None:
    paper.head("Metal, grams")
    paper.table(
        ("owner", "at first", "from others", "at last", "lost", "open"),
        [
            (
                found.owners.get(one.owner, one.owner),
                f"{one.opening_mg / 1000:.2f}",
                f"{one.transferred_mg / 1000:+.2f}",
                f"{one.closing_mg / 1000:.2f}",
                f"{one.places_mg.get('loss', 0) / 1000:.2f}",
                f"{one.residual_mg / 1000:.3f}",
            )
            for one in found.balance.owners
        ],
    )
    if found.worth is not None:
        worth = found.worth
        paper.line(
            f"Against selling the scrap and buying stock: {worth.gain:.2f} {worth.currency}, "
            f"with labour at nothing {worth.gain_no_labour:.2f}; {worth.hours:.1f} hours."
        )
