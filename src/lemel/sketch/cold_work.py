"""How alloys harden when they are rolled cold, side by side."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from lemel.metal import hv_at, working
from lemel.sketch.alloy import named
from lemel.sketch.drawing import Drawing
from lemel.sketch.labels import Frame, Path, put_labels
from lemel.sketch.plot import drawn
from lemel.values import Composition, Quantity, Saying, SayingValue
from lemel.words import say

__all__ = ["cold_work"]

_MARGINS_MM = (14.0, 8.0, 7.0, 10.0)
_MOST_PERCENT = 80
_STYLES = ("-", (0, (5, 2)), (0, (1, 1.4)), (0, (7, 2, 1, 2)))


def cold_work(
    bodies: Sequence[Composition],
    *,
    published: Sequence[tuple[float, float]] = (),
    width_mm: float = 140.0,
    height_mm: float = 80.0,
) -> Drawing:
    """Vickers hardness against the thickness taken off since soft, in percent, one to four
    alloys. A circle is the work that the alloy bears before it wants an anneal. `published`:
    points to compare with, as crosses (percent taken off, HV)."""
    metals = {named(body): working(body) for body in bodies}
    reach = range(_MOST_PERCENT + 1)
    lines: dict[str, Path] = {
        name: [(float(cut), hv_at(metal, _strain(cut))) for cut in reach]
        for name, metal in metals.items()
    }
    stops = [
        (100 * (1 - math.exp(-metal.strain_most)), hv_at(metal, metal.strain_most))
        for metal in metals.values()
    ]
    top = max(hv for line in lines.values() for _, hv in line)
    frame = Frame(
        width_mm - _MARGINS_MM[0] - _MARGINS_MM[1], height_mm - _MARGINS_MM[2] - _MARGINS_MM[3],
        (0.0, float(_MOST_PERCENT)), (0.0, top * 1.15),
    )  # fmt: skip

    def paint(axes: Any) -> None:
        axes.set_xlim(*frame.across)
        axes.set_ylim(*frame.up)
        for style, line in zip(_STYLES, lines.values(), strict=False):
            axes.plot([x for x, _ in line], [hv for _, hv in line], linestyle=style)
        axes.plot(
            [x for x, _ in stops], [hv for _, hv in stops], linestyle="", marker="o",
            markersize=5, markerfacecolor="white", zorder=4,
        )  # fmt: skip
        anneal = {say(Saying("sketch.work.anneal")): stops[:1]}
        crosses = _crosses(axes, published)
        strokes = [[(x - 1, hv), (x + 1, hv)] for x, hv in published]
        put_labels(axes, frame, {**lines, **anneal, **crosses}, strokes)
        axes.set_xlabel(say(Saying("sketch.work.cut")), loc="right", labelpad=0)
        axes.text(0.0, 1.01, "HV", transform=axes.transAxes, va="bottom", ha="right")

    told: dict[str, SayingValue] = {
        "alloys": "; ".join(metals),
        "soft": Quantity(min(metal.soft_hv for metal in metals.values()), "HV"),
        "hard": Quantity(top, "HV"),
    }
    return drawn(width_mm, height_mm, _MARGINS_MM, paint, say(Saying("sketch.work.alt", told)))


def _crosses(axes: Any, published: Sequence[tuple[float, float]]) -> dict[str, Path]:
    """The points to compare with; the name for them goes to the first."""
    if not published:
        return {}
    axes.plot(
        [x for x, _ in published], [hv for _, hv in published],
        linestyle="", marker="x", markersize=6,
    )  # fmt: skip
    return {say(Saying("sketch.alloy.published")): published[:1]}


def _strain(cut_percent: float) -> float:
    """True strain of a reduction in thickness."""
    return -math.log(1 - cut_percent / 100)
