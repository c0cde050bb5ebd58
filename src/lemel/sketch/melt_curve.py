"""The heat as a curve: what the display shows, what the bath does, when to add and to pour."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from lemel.melt import MeltPlan
from lemel.quantities import AS_IT_COMES, Preference
from lemel.sketch.drawing import Drawing
from lemel.sketch.plot import Scale, drawn
from lemel.values import Quantity, Saying
from lemel.words import say

__all__ = ["melt_curve"]

Marks = tuple[tuple[float, str], ...]
#: The cold part of the climb is left out, so that the melting range has room.
_BELOW_SOLIDUS_K = 320.0
#: Lines closer than this share of the picture are drawn as one.
_ONE_LINE = 0.02
_ADDS = ("first_fill", "into_dish", "heavy", "top_up", "filings", "addition", "zinc_last")


def melt_curve(
    melt: MeltPlan,
    *,
    width_mm: float = 90.0,
    height_mm: float = 46.0,
    units: Preference = AS_IT_COMES,
) -> Drawing | None:
    """Bath (full line) and display (broken) over the minutes to the pour; None without a curve.

    The hatched strip is the melting range, solidus to liquidus; a triangle is a filling or a
    stir, for which the lid comes off. A torch has no display: there the broken line is the dish.
    """
    curve = melt.curve
    if len(curve.t_s) < 2:
        return None
    return _curve(
        curve.t_s,
        curve.bath_c,
        curve.furnace_c,
        (melt.solidus_c, melt.liquidus_c),
        _marks(melt),
        melt.method,
        (width_mm, height_mm),
        units,
    )


def _marks(melt: MeltPlan) -> Marks:
    """When the lid comes off, and for what: the number of a filling, or stir, or pour."""
    marks: list[tuple[float, str]] = []
    for step in melt.steps:
        name = step.action.rsplit(".", 1)[-1]
        if name in _ADDS and step.at_min > 0:
            marks.append((step.at_min, str(step.fill or "")))
        elif name in ("stir", "swirl"):
            marks.append((step.at_min, ""))
    return tuple(marks)


@lru_cache(maxsize=256)
def _curve(
    t_s: tuple[float, ...],
    bath_c: tuple[float, ...],
    shown_c: tuple[float, ...],
    melts_c: tuple[float, float],
    marks: Marks,
    method: str,
    size_mm: tuple[float, float],
    units: Preference,
) -> Drawing:
    scale = Scale("degC", units)
    minutes = [t / 60 for t in t_s]
    bath, shown = [scale(c) for c in bath_c], [scale(c) for c in shown_c]
    solidus, liquidus = (scale(c) for c in melts_c)

    def paint(axes: Any) -> None:
        floor = scale(max(0.0, melts_c[0] - _BELOW_SOLIDUS_K))
        top = max(*shown, *bath, liquidus) + (liquidus - floor) * 0.3
        axes.set_xlim(0, minutes[-1] * 1.02)
        axes.set_ylim(floor, top)
        axes.axhspan(solidus, liquidus, facecolor="none", edgecolor="0.45", hatch="////", lw=0)
        axes.plot(minutes, bath, linewidth=2.0)
        if _apart(bath, shown) > (top - floor) * _ONE_LINE:
            axes.plot(minutes, shown, linestyle="--", linewidth=1.1)
            other = "sketch.melt.dish" if method == "torch" else "sketch.melt.display"
            _name_line(axes, minutes, shown, say(Saying(other)), above=True)
        _name_line(axes, minutes, bath, say(Saying("sketch.melt.bath")), above=False)
        _name_range(axes, solidus, liquidus)
        _mark_lid(axes, marks, minutes[-1])
        axes.set_xlabel("min", loc="right", labelpad=-1)
        axes.text(0.01, 1.0, scale.symbol, transform=axes.transAxes, va="bottom", ha="left")

    told = {
        "minutes": Quantity(minutes[-1], "min"),
        "bath": Quantity(bath_c[-1], "degC"),
        "solidus": Quantity(melts_c[0], "degC"),
        "liquidus": Quantity(melts_c[1], "degC"),
    }
    alt = say(Saying("sketch.melt.alt", told), units=units)
    return drawn(*size_mm, (12, 10, 5, 9), paint, alt)


def _apart(bath: list[float], shown: list[float]) -> float:
    return max(abs(one - other) for one, other in zip(bath, shown, strict=True))


def _name_line(
    axes: Any, minutes: list[float], line: list[float], name: str, *, above: bool
) -> None:
    """The name stands beside its line where it first climbs past the middle of the picture."""
    floor, top = axes.get_ylim()
    middle = floor + (top - floor) * (0.34 if above else 0.22)
    at = next((i for i, value in enumerate(line) if value >= middle), len(line) - 1)
    axes.annotate(
        name,
        (minutes[at], line[at]),
        xytext=(-6, 0) if above else (7, -1),
        textcoords="offset points",
        ha="right" if above else "left",
        va="bottom" if above else "center",
    )


def _name_range(axes: Any, solidus: float, liquidus: float) -> None:
    """The two ends of the melting range at the right edge, never on each other."""
    floor, top = axes.get_ylim()
    apart = liquidus - solidus >= (top - floor) * 0.2
    for at, va in (
        (liquidus, "center" if apart else "bottom"),
        (solidus, "center" if apart else "top"),
    ):
        axes.text(1.02, at, f"{at:.0f}", transform=axes.get_yaxis_transform(), ha="left", va=va)


def _mark_lid(axes: Any, marks: Marks, end: float) -> None:
    """A triangle for each time the lid comes off; fillings close together share one label."""
    _, top = axes.get_ylim()
    label: list[str] = []
    at_label = -end
    for at, name in marks:
        axes.plot([at], [top], marker="v", markersize=5, clip_on=False)
        if name and at - at_label > end * 0.06:
            _label_marks(axes, at_label, top, label)
            label, at_label = [name], at
        elif name:
            label.append(name)
    _label_marks(axes, at_label, top, label)


def _label_marks(axes: Any, at: float, top: float, names: list[str]) -> None:
    if names:
        axes.annotate(
            ", ".join(names), (at, top), xytext=(0, 4), textcoords="offset points",
            ha="center", va="bottom",
        )  # fmt: skip
