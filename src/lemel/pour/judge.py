"""Whether a pour will be sound, and what to do where it will not."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lemel.pour.faces import PourProblem
from lemel.pour.figures import figure
from lemel.pour.fill import Cavity, is_thin
from lemel.pour.freeze import runs_through
from lemel.pour.heat import PourHeat
from lemel.tables import Tables
from lemel.values import Mould, Objection, Quantity, Saying, SayingValue

__all__ = ["VERDICTS", "Pouring", "judge"]

#: Worst first: the verdict is the first of these that an objection names.
VERDICTS = ("cold", "thin", "hot", "short", "sound")


@dataclass(frozen=True, slots=True)
class Pouring:
    """One pour as it is worked out: what goes where and how warm everything gets."""

    problem: PourProblem
    mould: Mould
    held: Cavity
    ingots: int
    bar_g: float
    rest_g: float
    heat: PourHeat
    mould_c: float
    peak_c: float
    per_lift: int


def judge(pour: Pouring, tables: Tables) -> tuple[str, tuple[Objection, ...]]:
    """The verdict and every objection with its way out."""
    found = [
        *_bath(pour, tables),
        *_mould(pour, tables),
        *_thin(pour, tables),
        *_amount(pour),
        *_hands(pour),
    ]
    named = {word for word, _ in found}
    verdict = next(word for word in VERDICTS if word in named or word == "sound")
    return verdict, tuple(objection for _, objection in found)


_Found = list[tuple[str, Objection]]


def _bath(pour: Pouring, tables: Tables) -> _Found:
    problem, heat, about = pour.problem, pour.heat, pour.mould.id
    bath, wanted = Quantity(problem.bath_c, "degC"), Quantity(heat.bath_c, "degC")
    # Half the mould's superheat is what a quick hand can still make do with.
    if problem.bath_c < heat.bath_c - heat.mould_k / 2:
        way = Saying("pour.way.hotter", {"bath": wanted})
        values = {"bath": bath, "wanted": wanted}
        return [("cold", Objection("pour.bath.cold", about, "stop", values, way))]
    most_c = heat.liquidus_c + figure("above_liquidus_most_k", tables)
    if problem.bath_c > most_c:
        grade = "note" if problem.may_be_hot else "ask"
        way = Saying("pour.way.cooler", {"bath": wanted})
        values = {"bath": bath, "most": Quantity(most_c, "degC")}
        return [("hot", Objection("pour.bath.hot", about, grade, values, way))]
    return []


def _mould(pour: Pouring, tables: Tables) -> _Found:
    about, mould_c = pour.mould.id, pour.mould_c
    least_c, most_c = figure("mould_dry_c", tables), figure("mould_most_c", tables)
    peak_most_c = figure("mould_peak_most_c", tables)
    lo, hi = (Quantity(at_c, "degC") for at_c in pour.mould.preheat_c)
    is_c = Quantity(mould_c, "degC")
    if mould_c < least_c:
        way = Saying("pour.way.warm_mould", {"lo": lo, "hi": hi})
        values = {"mould": is_c, "least": Quantity(least_c, "degC")}
        return [("cold", Objection("pour.mould.damp", about, "stop", values, way))]
    if mould_c > most_c:
        way = Saying("pour.way.cool_mould", {"hi": hi})
        values = {"mould": is_c, "most": Quantity(most_c, "degC")}
        return [("hot", Objection("pour.mould.hot", about, "stop", values, way))]
    if pour.peak_c > peak_most_c:
        way = Saying("pour.way.less_at_once")
        values = {"peak": Quantity(pour.peak_c, "degC"), "most": Quantity(peak_most_c, "degC")}
        return [("hot", Objection("pour.mould.light", about, "ask", values, way))]
    return []


def _thin(pour: Pouring, tables: Tables) -> _Found:
    mould, heat = pour.mould, pour.heat
    thick = Quantity(mould.cavity.thickness_mm, "mm")
    if is_thin(mould, tables):
        values = {"thickness": thick, "least": Quantity(figure("refuse_below_mm", tables), "mm")}
        way = Saying("pour.way.thicker_mould")
        return [("thin", Objection("pour.mould.thin", mould.id, "stop", values, way))]
    at_mould_c = pour.problem.bath_c - heat.lift_out_k - heat.stream_k
    if not runs_through(mould, pour.problem.body, at_mould_c, pour.mould_c, tables):
        way = Saying("pour.way.hotter_mould", {"hi": Quantity(mould.preheat_c[1], "degC")})
        values = {"thickness": thick}
        return [("thin", Objection("pour.mould.misrun", mould.id, "ask", values, way))]
    return []


def _amount(pour: Pouring) -> _Found:
    about, held = pour.mould.id, pour.held
    wanted = pour.problem.ingots_wanted
    if pour.ingots == 0:
        values: dict[str, SayingValue] = {
            "mass": Quantity(pour.problem.mass_g, "g"),
            "least": Quantity(held.least_g, "g"),
        }
        way = Saying("pour.way.button")
        return [("short", Objection("pour.metal.below_least", about, "stop", values, way))]
    if pour.ingots < wanted or pour.bar_g < held.full_g * (1 - 1e-9):
        values = {
            "bars": pour.ingots,
            "wanted": wanted,
            "each": Quantity(pour.bar_g, "g"),
            "full": Quantity(held.full_g, "g"),
        }
        way = Saying("pour.way.short_bar")
        return [("short", Objection("pour.metal.short", about, "note", values, way))]
    if pour.rest_g > held.least_g:
        values = {
            "rest": Quantity(pour.rest_g, "g"),
            "holds": Quantity(held.holds_g, "g"),
            "bars": math.ceil(pour.rest_g / (held.full_g + held.feeder_g)),
        }
        way = Saying("pour.way.pour_again")
        return [("sound", Objection("pour.metal.left", about, "note", values, way))]
    return []


def _hands(pour: Pouring) -> _Found:
    if pour.ingots > pour.per_lift and pour.mould.channels > 1:
        values = {"bars": pour.ingots, "at_once": pour.per_lift}
        way = Saying("pour.way.back_to_fire")
        note = Objection("pour.lift_out.too_many", pour.mould.id, "note", values, way)
        return [("sound", note)]
    return []
