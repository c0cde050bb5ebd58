"""`lemel tend`: a heat followed reading by reading, each answered as it comes."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import click

from lemel.cli import faults
from lemel.cli.answer import Told, plain
from lemel.cli.fire import heat_to_pour_c
from lemel.cli.run import verb
from lemel.errors import BadInput
from lemel.files import STDIN, TendFile, log_text, read_tend
from lemel.melt import Band, LiveAnswer, LiveHeat, LogLine, furnace_model, log_lines
from lemel.quantities import hand_temperature

if TYPE_CHECKING:
    from lemel.cli.paper import Paper

__all__ = ["tend"]


@verb("tend")
@click.argument("file", metavar="FILE")
@click.argument("readings", metavar="[READINGS]", default=STDIN)
@click.option("--lines", is_flag=True, help="Print one JSON object a line, each as it comes.")
def tend(file: str, readings: str, lines: bool) -> Told:
    """FILE holds furnace and charge; READINGS is the log of the heat as it grows.

    READINGS is a CSV with minutes, display_c, event and amount, or - for stdin, where each line
    is answered when it comes and a wrong one is asked for again. See docs/files.md.
    """
    followed = _followed(_lit(read_tend(file)), readings)
    if click.get_current_context().params["json_wanted"]:
        told = [_payload(line, now) for line, now in followed]
        return Told({"readings": told}, lambda _: None)

    def show(paper: Paper) -> None:
        for line, now in followed:
            if lines:
                click.echo(json.dumps(_payload(line, now), sort_keys=True, ensure_ascii=False))
            else:
                _show(line, now, paper)

    return Told({}, show)


def _lit(given: TendFile) -> LiveHeat:
    """The heat as the fire is lit, with the furnace as well known as the file says."""
    from lemel.melt import start_live

    pour_at_c = given.pour_at_c
    if pour_at_c is None:
        pour_at_c = heat_to_pour_c(
            given.body, given.charge_g + sum(given.top_ups_g), given.mould, given.crucible
        )
    return start_live(
        furnace_model(given.furnace, given.crucible),
        given.body,
        given.charge_g,
        setpoint_c=given.setpoint_c or pour_at_c,
        pour_at_c=pour_at_c,
        top_ups_g=given.top_ups_g,
        start_c=given.start_c,
        ambient_c=given.ambient_c,
        ln_sd={
            name: figure.sd / figure.value
            for name, figure in given.furnace.parameters.items()
            if figure.sd
        },
    )


def _followed(heat: LiveHeat, readings: str) -> Iterator[tuple[LogLine, LiveAnswer]]:
    """Each line with its answer. A wrong line of a file ends it; one of stdin is told and left."""

    def wrong(fault: BadInput) -> None:
        if readings != STDIN:
            raise fault
        for sentence in faults.sentences((fault,)):
            click.echo(sentence, err=True)

    for line in log_lines(log_text(readings), id="readings", wrong=wrong):
        if line.t_s == 0 and line.event == "charge":
            # What is in the pot at first stands in the file.
            continue
        try:
            heat = heat.follow(line)
        except BadInput as fault:
            wrong(fault)
            continue
        yield line, heat.answer()


def _payload(line: LogLine, now: LiveAnswer) -> dict[str, Any]:
    told: dict[str, Any] = plain(now)
    return {**told, "minutes": line.t_s / 60, "event": line.event}


def _show(line: LogLine, now: LiveAnswer, paper: Paper) -> None:
    from lemel.words import say

    said = [f"{line.t_s / 60:5.1f} min"]
    if line.event:
        said.append(line.event.replace("_", " "))
    if line.display_c is not None:
        said.append(f"shows {now.display_c:.0f} °C ({now.deviation_k:+.0f})")
    said.append(f"bath {_span(now.bath_c, hand_temperature)} °C")
    if now.liquid.high >= 0.005:
        said.append(f"{_span(now.liquid, lambda share: 100 * share)} % liquid")
    for name, band in (("liquid", now.liquid_in_s), ("ready", now.ready_in_s)):
        if band is not None and band.high > 0 and not (name == "liquid" and now.liquid.low > 0.999):
            said.append(f"{name} in {_span(band, lambda s: s / 60)} min")
    paper.line(", ".join(said))
    for advice in now.advice:
        paper.line(f"          {say(advice)}")


def _span(band: Band, shown: Any) -> str:
    """The ends of a band as a hand would write them, once where they are the same."""
    low, high = f"{shown(band.low):.0f}", f"{shown(band.high):.0f}"
    return low if low == high else f"{low} to {high}"
