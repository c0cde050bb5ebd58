"""How hard the metal grows along its route, and where an anneal takes it back."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from lemel.mill import Route, Step
from lemel.sketch.drawing import Drawing
from lemel.sketch.plot import drawn
from lemel.values import Quantity, Saying, SayingValue, Temper
from lemel.words import say

__all__ = ["hardness"]

#: One point: passes done so far, HV after it, and the mark of an anneal or the size at its end.
Points = tuple[tuple[float, float, str], ...]
#: Handwork and pulls that stand for no pass still take their place along the line.
_WORKS = ("flats", "groove", "hole", "hammer")


def hardness(
    route: Route,
    *,
    temper: Temper | None = None,
    width_mm: float = 180.0,
    height_mm: float = 40.0,
) -> Drawing | None:
    """Vickers hardness against the passes, with each anneal as a fall; None without a route.

    A hatched strip is the hardness that was asked for, where it was asked in HV.
    """
    points = _points(route.steps)
    if len(points) < 2:
        return None
    wanted = (temper.lo, temper.hi) if temper is not None and temper.kind == "hv" else None
    return _line(points, wanted, (width_mm, height_mm))


def _points(steps: tuple[Step, ...]) -> Points:
    points: list[tuple[float, float, str]] = []
    done = 0.0
    for step in steps:
        if step.tool in _WORKS:
            earlier = [one.hv for one in steps if one.n < step.n]
            if not points and earlier:
                points.append((0.0, round(earlier[-1], 2), ""))
            done += max(1, step.passes)
            points.append((done, round(step.hv, 2), ""))
        elif step.tool == "anneal" and points:
            points.append((done, round(step.hv, 2), "anneal"))
    return tuple(points)


@lru_cache(maxsize=256)
def _line(
    points: Points, wanted: tuple[float, float] | None, size_mm: tuple[float, float]
) -> Drawing:
    values = [hv for _, hv, _ in points]
    end, top = points[-1][0], max(*values, *(wanted or (0.0,)))
    anneals = [at for at, _, mark in points if mark]

    def paint(axes: Any) -> None:
        floor = min(values) * 0.75
        axes.set_xlim(0, end * 1.02)
        axes.set_ylim(floor, top + (top - floor) * 0.12)
        if wanted:
            axes.axhspan(*wanted, facecolor="none", edgecolor="0.45", hatch="////", lw=0)
        axes.plot([at for at, _, _ in points], values, marker="o", markersize=2.6)
        for at in anneals:
            axes.axvline(at, linestyle=":", linewidth=0.9)
            axes.annotate(
                say(Saying("sketch.mill.anneal")),
                (at, axes.get_ylim()[1]),
                xytext=(0, 2),
                textcoords="offset points",
                ha="center",
                va="bottom",
            )
        axes.text(
            1.01, values[-1], f"{values[-1]:.0f}",
            transform=axes.get_yaxis_transform(), ha="left", va="center",
        )  # fmt: skip
        axes.xaxis.get_major_locator().set_params(integer=True)
        axes.set_xlabel(say(Saying("sketch.mill.passes")), loc="right", labelpad=-1)
        axes.text(0.005, 1.0, "HV", transform=axes.transAxes, va="bottom", ha="left")

    told: dict[str, SayingValue] = {
        "passes": int(end),
        "anneals": len(anneals),
        "hardest": Quantity(max(values), "HV"),
        "last": Quantity(values[-1], "HV"),
    }
    return drawn(*size_mm, (12, 10, 5, 9), paint, say(Saying("sketch.mill.alt", told)))
