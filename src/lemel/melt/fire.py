"""One furnace heat played through: fillings, waits, stand, pour, cool-down."""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass

from lemel.melt.bath import Bath
from lemel.melt.charging import Heap
from lemel.melt.faces import ChargeFill, MeltCurve, MeltStep
from lemel.melt.figures import figure
from lemel.melt.model import FurnaceModel
from lemel.melt.run import Ledger, Run, Trace
from lemel.melt.steps import fill_action
from lemel.tables import Tables

__all__ = ["Played", "bath_bias_k", "cool_down_h", "play"]

#: A melt that takes longer than this is not coming.
LONGEST_S = 3 * 3600.0
#: Display within this of the bath's aim counts as at heat.
NEAR_K = 4.0


@dataclass(frozen=True, slots=True)
class Played:
    """What happened: steps with their moments, the curve, energy, and the run at the pour.

    `ready_s` are the moments at which the bath was ready for each top-up and for the stir.
    """

    steps: tuple[MeltStep, ...]
    curve: MeltCurve
    pour_s: float
    liquid_s: float
    energy_j: float
    ledger: Ledger
    run: Run
    reached: bool
    ready_s: tuple[float, ...]


def play(
    run: Run,
    heap: Heap,
    fills: tuple[ChargeFill, ...],
    cuts: tuple[int, ...],
    *,
    add_at_c: float,
    aim_c: float,
    stand_s: float,
    begin_s: Sequence[float] = (),
    tables: Tables | None = None,
) -> Played:
    """Charge an empty pot, melt, top up whenever the bath is hot enough, stand, be ready to pour.

    A top-up goes in once the bath is at `add_at_c`; the pot leaves the fire after `stand_s`
    at `aim_c`. Times come from the simulator, not from the estimate that divided the charge.
    `begin_s` are moments before which each top-up, and then the stir, is not begun: the hands
    are elsewhere, and the bath is held.
    """
    ready: list[float] = []

    def held() -> None:
        ready.append(run.t_s)
        for moment_s in begin_s[len(ready) - 1 : len(ready)]:
            run.advance(moment_s - run.t_s)

    add_at_c = min(add_at_c, aim_c)
    run.add(fills[0].mass_g, run.ambient_c)
    first = fill_action(heap, fills[0], cuts[0], cuts[1])
    steps = [MeltStep(run.t_s / 60, first, fills[0].mass_g, fill=1)]
    reached = _wait(run, add_at_c if len(fills) > 1 else aim_c)
    for fill in fills[1:]:
        held()
        before_c = run.bath_c
        run.lid_off = True
        run.add(fill.mass_g, run.ambient_c)
        action = fill_action(heap, fill, cuts[fill.n - 1], cuts[fill.n])
        steps.append(MeltStep(run.t_s / 60, action, fill.mass_g, before_c, run.bath_c, fill.n))
        run.advance(figure("lid_s", tables))
        run.lid_off = False
        reached = _wait(run, aim_c if fill.n == len(fills) else add_at_c) and reached
    liquid_s = run.t_s
    held()
    steps.append(MeltStep(run.t_s / 60, "melt.step.stir", 0.0, run.bath_c, run.bath_c))
    run.lid_off = True
    run.advance(figure("stir_s", tables))
    run.lid_off = False
    run.advance(stand_s)
    steps.append(MeltStep(run.t_s / 60, "melt.step.pour", run.mass_g, run.bath_c))
    books, curve, moments = run.ledger(), _curve(run), tuple(steps)
    return Played(
        moments, curve, run.t_s, liquid_s, run.put_in_j, books, run, reached, tuple(ready)
    )


def _wait(run: Run, until_c: float) -> bool:
    """Until all is liquid and at heat; the controller's swing may hold it a little under."""
    return run.advance(
        LONGEST_S, lambda _t, _d, bath_c, liquid: liquid >= 0.999 and bath_c >= until_c - NEAR_K
    )


def _curve(run: Run) -> MeltCurve:
    log = run.trace
    return MeltCurve(tuple(log.t_s), tuple(log.bath_c), tuple(log.display_c), tuple(log.liquid))


def bath_bias_k(model: FurnaceModel, bath: Bath, mass_g: float, aim_c: float) -> float:
    """How far the bath stands below what is set, once it has been held for ten minutes, K.

    Mean over two minutes of the controller's swing.
    """
    run = Run(model, bath, mass_g, setpoint_c=aim_c, start_c=18.0, step_s=2.0)
    if not _wait(run, aim_c):
        return 0.0
    run.advance(600.0)
    seen: list[float] = []

    def look(_t: float, _d: float, bath_c: float, _f: float) -> bool:
        seen.append(bath_c)
        return False

    run.advance(240.0, look)
    return aim_c - sum(seen) / len(seen)


def cool_down_h(
    run: Run, safe_c: float, *, lid_off: bool = False, longest_h: float = 24.0
) -> float:
    """Hours from the pour until the empty pot, back in the switched-off furnace, is cold.

    The run itself stays where it is.
    """
    run = copy(run)
    run.trace, begun_s = Trace(), run.t_s
    run.pour_out(0.0)
    run.on, run.lid_off, run.step_s, run.sample_s = False, lid_off, 5.0, 60.0
    run.advance(longest_h * 3600, lambda _t, _d, _b, _f: run.pot_c <= safe_c)
    return (run.t_s - begun_s) / 3600
