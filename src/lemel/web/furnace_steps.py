"""A heat as one instruction after the other, as they stand on the screen at the fire."""

from __future__ import annotations

from dataclasses import dataclass

from lemel.plan import HeatPlan
from lemel.pour import PourPlan
from lemel.tables import shipped
from lemel.values import Caution, Saying

__all__ = ["FILLED", "RunStep", "run_steps"]

#: What may be said after a pour: it filled, it came short, nothing was poured.
FILLED = ("full", "short", "none")
_LIGHT = "melt.step.light"
_POUR = "melt.step.pour"
_OFF = "melt.step.off"
_COLD = "melt.step.cold"


@dataclass(frozen=True, slots=True)
class RunStep:
    """One instruction.

    `kind`: see (before the fire), light, melt, molten (the last one before the pour), warm (a
    mould is set to warm), pour, off, watch, cold. `at_min` counts from light-up (None: before it).
    `bell`: whoever stands by is called when it is due. `pour` is set for a pour alone.
    """

    key: str
    kind: str
    said: Saying | None
    at_min: float | None
    bell: bool = False
    mould: str = ""
    pour: PourPlan | None = None
    cautions: tuple[Caution, ...] = ()
    minutes: float = 0.0

    @property
    def mass_g(self) -> float:
        """What goes into the mould, bars with their feeders."""
        if self.pour is None:
            return 0.0
        return sum(one.bar.mass_g + one.feeder_g for one in self.pour.castings)


def run_steps(heat: HeatPlan) -> tuple[RunStep, ...]:
    """The instructions of a heat: the melt's own, its moulds set to warm, each pour by itself."""
    found: list[RunStep] = []
    cautions = _cautions_by_place(heat)
    lit = False
    for n, step in enumerate(heat.melt.steps, 1):
        if step.action.startswith(_POUR):
            found = _molten_last(found)
            found += _pours(heat, step.at_min)
            continue
        lit = lit or step.action == _LIGHT
        kind = {_LIGHT: "light", _OFF: "off", _COLD: "cold"}.get(step.action, "melt")
        found.append(
            RunStep(
                f"s{n}", kind if lit else "see", step.saying(),
                step.at_min if lit else None,
                bell=kind == "cold" or (kind == "melt" and step.at_min > 0),
                cautions=cautions.get("cool" if kind == "off" else "", ()),
            )
        )  # fmt: skip
    return _with_moulds(_watched(found, heat, cautions), cautions)


def _watched(
    found: list[RunStep], heat: HeatPlan, cautions: dict[str, tuple[Caution, ...]]
) -> list[RunStep]:
    """The fire watch after the fire is out, and the pot or dish until it is cold."""
    out = found[-1] if found[-1].kind != "cold" else found[-2]
    over_min = out.at_min or heat.melt.minutes_to_pour
    watch_min = 60 * shipped().row("melt_figure", "cool_watch_h").number("value")
    watch = RunStep(
        "watch", "watch", Saying("melt.day.fire_watch"), over_min + watch_min, bell=True,
        cautions=cautions.get("cool", ()),
    )  # fmt: skip
    cold = found[-1]
    if cold.kind != "cold":
        cold_min = over_min + 60 * heat.melt.cool_down_h
        cold = RunStep("cold", "cold", Saying(_COLD), cold_min, bell=True)
        found = [*found, cold]
    return [*found[:-1], *sorted((watch, cold), key=lambda one: one.at_min or 0.0)]


def _cautions_by_place(heat: HeatPlan) -> dict[str, tuple[Caution, ...]]:
    said: dict[str, tuple[Caution, ...]] = {}
    for one in heat.melt.cautions:
        said[one.at] = (*said.get(one.at, ()), one)
    return said


def _molten_last(found: list[RunStep]) -> list[RunStep]:
    """The last step before the pour says that all is liquid."""
    last = found[-1]
    return [*found[:-1], RunStep(last.key, "molten", last.said, last.at_min, bell=True)]


def _pours(heat: HeatPlan, at_min: float) -> list[RunStep]:
    found, due = [], at_min
    for n, (mould, plan) in enumerate(zip(heat.moulds, heat.pours, strict=True), 1):
        due += plan.wait_between_s / 60 if n > 1 else 0.0
        found.append(
            RunStep(
                f"pour-{n}",
                "pour",
                None,
                due,
                bell=True,
                mould=mould,
                pour=plan,
                cautions=plan.cautions if n == 1 else (),
            )
        )
    return found


def _with_moulds(
    found: list[RunStep], cautions: dict[str, tuple[Caution, ...]]
) -> tuple[RunStep, ...]:
    """The moulds set to warm in time for the first pour; where it is too late for that once the
    fire burns, before light-up."""
    pours = [one for one in found if one.kind == "pour"]
    light = next((n for n, one in enumerate(found) if one.kind == "light"), 0)
    if found:
        first = found[light]
        care = (*cautions.get("light", ()), *cautions.get("charge", ()), *cautions.get("melt", ()))
        found[light] = RunStep(first.key, "light", first.said, 0.0, cautions=care)
    if not pours:
        return tuple(found)
    named = ", ".join(dict.fromkeys(one.mould for one in pours))
    minutes = max((one.pour.preheat_min for one in pours if one.pour), default=0.0)
    at_min = (pours[0].at_min or 0.0) - minutes
    before = at_min <= 0
    warm = RunStep(
        "warm", "warm", None, None if before else at_min, bell=not before, mould=named,
        pour=pours[0].pour, minutes=minutes,
    )  # fmt: skip
    if before:
        return (*found[:light], warm, *found[light:])
    place = next(
        (n for n, one in enumerate(found) if one.at_min is not None and one.at_min > at_min),
        len(found),
    )
    return (*found[:place], warm, *found[place:])
