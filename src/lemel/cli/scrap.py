"""`lemel believe`: what is believed of lots, from what was read off them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import click

from lemel.cli.answer import Told, plain
from lemel.cli.run import verb
from lemel.files import read_believe
from lemel.scrap import BelieveReport, ScrapAnswer, ScrapProblem, report
from lemel.scrap import believe as fuse
from lemel.values import Lot

if TYPE_CHECKING:
    from lemel.cli.paper import Paper

__all__ = ["believe"]


@verb("believe")
@click.argument("file", metavar="FILE")
def believe(file: str) -> Told:
    """FILE holds lots (bags) with their readings (TOML or JSON, - is stdin); see docs/files.md."""
    given = read_believe(file)
    answers: dict[str, ScrapAnswer] = {}
    for metal, lots in _by_metal(given.lots).items():
        bodies = {lot.id for lot in lots}
        heats = tuple(heat for heat in given.heats if {lot for lot, _ in heat[1]} <= bodies)
        about = bodies | {heat[0] for heat in heats}
        readings = tuple(one for one in given.readings if one.on in about)
        answers[metal] = fuse(ScrapProblem(lots, readings, heats))
    reports = [report(answers[lot.main], lot.id) for lot in given.lots]
    payload: dict[str, Any] = {
        "lots": [plain(one) for one in reports],
        "heats": {
            heat: {"mean": 1000 * found.mean, "sd": 1000 * found.sd}
            for answer in answers.values()
            for heat, found in answer.heats.items()
        },
        "biases": {
            source: {"mean": 1000 * mean, "sd": 1000 * sd}
            for answer in answers.values()
            for source, (mean, sd) in answer.biases.items()
        },
        "health": {metal: plain(answer.health) for metal, answer in answers.items()},
        "explain": [plain(said) for answer in answers.values() for said in answer.explain],
        "cautions": _all_cautions(answers),
    }
    if len(reports) == 1:
        # One lot: its answer stands at the top as well.
        payload = {**payload, **plain(reports[0])}
    return Told(payload, lambda paper: _show(reports, answers, paper))


def _by_metal(lots: tuple[Lot, ...]) -> Mapping[str, tuple[Lot, ...]]:
    groups: dict[str, tuple[Lot, ...]] = {}
    for lot in lots:
        groups[lot.main] = (*groups.get(lot.main, ()), lot)
    return groups


def _all_cautions(answers: Mapping[str, ScrapAnswer]) -> list[Any]:
    return [plain(one) for answer in answers.values() for one in answer.cautions]


def _show(reports: list[BelieveReport], answers: Mapping[str, ScrapAnswer], paper: Paper) -> None:
    paper.table(
        ("bag", "metal", "fineness", "sd", "19 in 20 from", "to"),
        [
            (
                one.lot,
                one.metal,
                f"{one.mean:.1f}",
                f"{one.sd:.1f}",
                f"{one.interval_95[0]:.1f}",
                f"{one.interval_95[1]:.1f}",
            )
            for one in reports
        ],
        left=2,
    )
    for one in reports:
        if one.readings:
            paper.head(f"{one.lot}: what speaks for it")
            paper.table(
                ("reading", "method", "said", "weight", "off by"),
                [
                    (
                        reading.reading,
                        reading.method,
                        f"{reading.fineness:.1f}",
                        f"{reading.weight:.2f}" if reading.used else "not used",
                        f"{reading.residual:+.1f} sd",
                    )
                    for reading in one.readings
                ],
                left=2,
            )
    paper.sayings("Before it is melted", [o for one in reports for o in one.objections])
    for answer in answers.values():
        paper.sayings("Notes", answer.explain)
        paper.sayings("Mind", answer.cautions)
