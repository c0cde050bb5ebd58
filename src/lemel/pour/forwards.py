"""Forwards: what comes out of one pour, and how the mould and the hands must be held."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lemel.errors import BadInput, Stopped
from lemel.pour.cautions import cautions, rehearsal
from lemel.pour.chill import mould_equilibrium_c, mould_wait_s, warm_up_min
from lemel.pour.faces import Casting, PourPlan, PourProblem
from lemel.pour.figures import figure, pot_row
from lemel.pour.fill import Cavity, button_size, cavity, cold_bar
from lemel.pour.freeze import freeze_time_s, least_pour_rate_g_s
from lemel.pour.heat import PourHeat, pour_heat, pour_window_s
from lemel.pour.judge import Pouring, judge
from lemel.tables import Tables, shipped
from lemel.values import Bar, BarFault, Mould, Quantity, Saying, Section, Watch, quiet

__all__ = ["do"]


def do(problem: PourProblem, *, tables: Tables | None = None, watch: Watch = quiet) -> PourPlan:
    """What the pour gives: bars cold, feeders, rest; preheat, peak, freezing, window, wait.

    Mass in = bars + feeders + rest + residue to rounding. Ingots are filled one after another;
    where the metal does not fill all that are wanted they are poured equally short, as many as
    stay above the least bar. Raises BadInput for impossible figures; a poor pour is an answer
    with a verdict and objections.
    """
    tables = tables or shipped()
    _check(problem)
    if watch.cancelled():
        raise Stopped("stopped before the pour was worked out")
    if problem.mould is None:
        return _button(problem, tables)
    return _into_mould(problem, problem.mould, tables)


def _check(problem: PourProblem) -> None:
    if not problem.mass_g > 0 or not math.isfinite(problem.mass_g):
        raise BadInput("mass_g", problem.mass_g, "more than 0 g", "Weigh what is in the pot.")
    if problem.ingots_wanted < 1:
        raise BadInput(
            "ingots_wanted", problem.ingots_wanted, "1 or more", "Say how many bars are wanted."
        )
    if not 100 < problem.bath_c < 2000:
        raise BadInput(
            "bath_c", problem.bath_c, "a pouring heat, 100 to 2000 degC", "Give the bath's heat."
        )
    if problem.mould_c is not None and not -40 < problem.mould_c < 900:
        raise BadInput(
            "mould_c", problem.mould_c, "-40 to 900 degC", "Give the mould's heat in degC."
        )


def _residue_g(problem: PourProblem, tables: Tables) -> float:
    if problem.crucible_skin_g is not None:
        skin_g = problem.crucible_skin_g
    elif problem.mould is None:
        skin_g = figure("skin_button_g", tables)
    else:
        material = problem.pot.material if problem.pot else "graphite"
        skin_g = figure(pot_row(material, tables).text("skin"), tables)
    # A pot never keeps most of a tiny melt.
    return min(max(0.0, skin_g), 0.1 * problem.mass_g)


@dataclass(frozen=True, slots=True)
class _Share:
    """How the metal is shared out: ingots, cold grams each, feeder each, what is left."""

    ingots: int
    bar_g: float
    feeder_g: float
    rest_g: float


def _share(problem: PourProblem, held: Cavity, ready_g: float) -> _Share:
    part = held.feeder_g / held.full_g
    full_fill_g = held.full_g + held.feeder_g
    wanted = problem.ingots_wanted
    if ready_g >= wanted * full_fill_g:
        return _Share(wanted, held.full_g, held.feeder_g, ready_g - wanted * full_fill_g)
    least_fill_g = held.least_g * (1 + part)
    ingots = min(wanted, int(ready_g / least_fill_g + 1e-9))
    if ingots == 0:
        return _Share(0, 0.0, 0.0, ready_g)
    fill_g = min(ready_g / ingots, full_fill_g)
    bar_g = fill_g / (1 + part)
    return _Share(ingots, bar_g, fill_g - bar_g, max(0.0, ready_g - ingots * fill_g))


def _into_mould(problem: PourProblem, mould: Mould, tables: Tables) -> PourPlan:
    body = problem.body
    held = cavity(mould, body, tables=tables)
    residue_g = _residue_g(problem, tables)
    share = _share(problem, held, problem.mass_g - residue_g)
    mould_c = sum(mould.preheat_c) / 2 if problem.mould_c is None else problem.mould_c
    heat = pour_heat(
        body, mould, problem.mass_g, pot=problem.pot, lift_out_s=problem.lift_out_s, tables=tables
    )
    arrives_c = max(heat.liquidus_c, problem.bath_c - heat.lift_out_k - heat.stream_k)
    window_s = pour_window_s(body, problem.mass_g, problem.bath_c, pot=problem.pot, tables=tables)
    freeze_s = freeze_time_s(mould, body, arrives_c, mould_c, tables=tables)
    factor = figure("freeze_factor", tables)
    together = min(max(share.ingots, 1), mould.channels)
    poured_g = together * (share.bar_g + share.feeder_g)
    peak_c = mould_equilibrium_c(mould, body, poured_g, arrives_c, mould_c, tables=tables)
    spare_s = window_s - problem.lift_out_s
    per_lift = 1 + max(0, int(spare_s / figure("between_ingots_s", tables)))
    pouring = Pouring(
        problem, mould, held, share.ingots, share.bar_g, share.rest_g, heat, mould_c, peak_c,
        per_lift,
    )  # fmt: skip
    verdict, objections = judge(pouring, tables)
    return PourPlan(
        verdict=verdict,
        castings=_castings(pouring, freeze_s, share.feeder_g, tables),
        rest_g=share.rest_g,
        mould_preheat_c=mould.preheat_c,
        mould_peak_c=peak_c,
        freeze_s=freeze_s,
        pour_window_s=window_s,
        wait_between_s=mould_wait_s(mould, peak_c, mould.preheat_c[1], tables=tables),
        pours=math.ceil(share.ingots / mould.channels),
        cautions=cautions(mould, figure("mould_dry_c", tables), tables),
        objections=objections,
        explain=_explain(held, heat, factor),
        residue_g=residue_g,
        freeze_band_s=(freeze_s / factor, freeze_s * factor),
        per_lift_out=min(per_lift, mould.channels),
        least_rate_g_s=least_pour_rate_g_s(mould, body, arrives_c, mould_c, tables=tables),
        rehearse=rehearsal(mould),
        preheat_min=warm_up_min(mould, mould.preheat_c[0], tables=tables),
    )


def _castings(
    pour: Pouring, freeze_s: float, feeder_g: float, tables: Tables
) -> tuple[Casting, ...]:
    if not pour.ingots:
        return ()
    full = pour.bar_g >= pour.held.full_g * (1 - 1e-9)
    size = cold_bar(pour.mould, pour.problem.body, pour.bar_g, tables=tables)
    faults = () if full else (BarFault("short"),)
    return tuple(
        Casting(
            _bar(pour.problem, n, size, pour.bar_g, faults),
            pour.mould.id,
            "full" if full else "short",
            feeder_g,
            freeze_s,
        )
        for n in range(1, pour.ingots + 1)
    )


def _bar(
    problem: PourProblem,
    n: int,
    size: tuple[Section, float],
    mass_g: float,
    faults: tuple[BarFault, ...] = (),
) -> Bar:
    return Bar(
        id=f"{problem.heat}-{n}",
        owner=problem.owner,
        kind="ingot",
        body=problem.body,
        sd=problem.sd,
        section=size[0],
        length_mm=size[1],
        mass_g=mass_g,
        promise_met=problem.promise_met,
        origin=problem.origin,
        parents=problem.parents,
        faults=faults,
    )


def _explain(held: Cavity, heat: PourHeat, factor: float) -> tuple[Saying, ...]:
    return (
        Saying(
            "pour.heat.parts",
            {
                "liquidus": Quantity(heat.liquidus_c, "degC"),
                "mould": Quantity(heat.mould_k, "K"),
                "lift_out": Quantity(heat.lift_out_k, "K"),
                "stream": Quantity(heat.stream_k, "K"),
                "bath": Quantity(heat.bath_c, "degC"),
            },
        ),
        Saying(
            "pour.fill.two_ways",
            {
                "full": Quantity(held.full_g, "g"),
                "holds": Quantity(held.holds_g, "g"),
                "feeder": Quantity(held.feeder_g, "g"),
            },
        ),
        Saying("pour.freeze.uncertain", {"factor": factor}),
    )


def _button(problem: PourProblem, tables: Tables) -> PourPlan:
    residue_g = _residue_g(problem, tables)
    mass_g = problem.mass_g - residue_g
    each_g = mass_g / problem.ingots_wanted
    section, height_mm = button_size(problem.body, each_g, tables=tables)
    heat = pour_heat(problem.body, None, problem.mass_g, tables=tables)
    cold = problem.bath_c < heat.liquidus_c
    castings = tuple(
        Casting(_bar(problem, n, (section, height_mm), each_g), "button", "button", 0.0, 0.0)
        for n in range(1, problem.ingots_wanted + 1)
    )
    return PourPlan(
        verdict="cold" if cold else "sound",
        castings=castings,
        rest_g=0.0,
        mould_preheat_c=(0.0, 0.0),
        mould_peak_c=heat.bath_c,
        freeze_s=0.0,
        pour_window_s=0.0,
        wait_between_s=0.0,
        pours=0,
        cautions=cautions(None, figure("mould_dry_c", tables), tables),
        explain=(Saying("pour.way.forge"),),
        residue_g=residue_g,
        rehearse=rehearsal(None),
    )
