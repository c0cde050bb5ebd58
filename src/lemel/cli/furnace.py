"""`lemel calibrate`: what a furnace's own log teaches about it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from lemel.cli.answer import Told, plain
from lemel.cli.run import verb
from lemel.cli.watching import watching
from lemel.errors import Stopped
from lemel.files import CalibrateFile, read_calibrate
from lemel.melt import Calibration, CalibrationProblem, Prediction, predict, read_log
from lemel.melt import calibrate as fit

if TYPE_CHECKING:
    from lemel.cli.paper import Paper

__all__ = ["calibrate"]


@verb("calibrate")
@click.argument("file", metavar="FILE")
def calibrate(file: str) -> Told:
    """FILE holds a furnace, its pot and the CSV logs of its heats; see docs/files.md."""
    given = read_calibrate(file)
    logs = tuple(
        read_log(one.csv, id=one.id, body=one.body, ambient_c=one.ambient_c) for one in given.logs
    )
    problem = CalibrationProblem(given.furnace, given.crucible, logs, given.noise_k, given.robust)
    with watching("calibrate") as watch:
        found = fit(problem, watch=watch)
        if watch.interrupted:
            raise Stopped("calibrate")
    ahead = _foretold(given, found)
    return Told(_payload(found, ahead), lambda paper: _show(found, ahead, paper))


def _foretold(given: CalibrateFile, found: Calibration) -> Prediction | None:
    heat = given.next_heat
    if heat is None:
        return None
    return predict(
        found,
        heat.composition,
        heat.mass_g,
        pour_at_c=heat.pour_at_c,
        setpoint_c=heat.setpoint_c,
        start_c=heat.start_c,
        probability=heat.probability,
    )


def _payload(found: Calibration, ahead: Prediction | None) -> dict[str, Any]:
    learnt = set(found.identified)
    parameters = {
        name: {**plain(figure), "identified": name in learnt}
        for name, figure in found.figures().items()
    }
    return {
        "furnace": found.furnace,
        "parameters": parameters,
        "identified": list(found.identified),
        "rms_k": found.rms_k,
        "grade": found.grade,
        "readings": found.readings,
        "combinations": found.combinations,
        "inflation": found.inflation,
        "prediction": plain(ahead),
        "notes": [plain(said) for said in found.notes],
    }


def _show(found: Calibration, ahead: Prediction | None, paper: Paper) -> None:
    paper.line(
        f"{found.furnace}: {found.readings} readings, {found.rms_k:.1f} K left between model and "
        f"display; power known by {found.grade}."
    )
    learnt = set(found.identified)
    paper.table(
        ("figure", "value", "give or take", "unit", "learnt"),
        [
            (
                name,
                _figures(figure.value, 4),
                _figures(figure.sd or 0, 2),
                figure.unit,
                "yes" if name in learnt else "as assumed",
            )
            for name, figure in found.figures().items()
        ],
        words_last=True,
    )
    if ahead is not None:
        _show_ahead(ahead, paper)
    paper.head("For workshop.toml, under this furnace")
    paper.line("[furnace.parameters]")
    for name, figure in found.figures().items():
        if name not in ("power_w", "pot_g"):
            paper.line(
                f'{name} = {{ value = {_figures(figure.value, 5)}, unit = "{figure.unit}", '
                f'known = "calibrated", sd = {_figures(figure.sd or 0, 3)} }}'
            )
    paper.sayings("Notes", found.notes)


def _figures(value: float, count: int) -> str:
    """So many significant figures, never with an exponent."""
    return f"{float(f'{value:.{count}g}'):g}"


def _show_ahead(ahead: Prediction, paper: Paper) -> None:
    bands = (
        ("all liquid, min", ahead.liquid_s, 60.0, 0),
        ("ready to pour, min", ahead.ready_s, 60.0, 0),
        ("electricity, kWh", ahead.energy_kwh, 1.0, 2),
    )
    paper.head(f"The next heat, with {100 * ahead.probability:.0f} % between the ends")
    paper.table(
        ("", "from", "about", "to"),
        [
            (title, *(f"{x / unit:.{places}f}" for x in (band.low, band.middle, band.high)))
            for title, band, unit, places in bands
            if band is not None
        ],
    )
