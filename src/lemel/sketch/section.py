"""The section through silver and copper: what melts where, and where an alloy stands in it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from lemel.metal import melting, phases
from lemel.quantities import AS_IT_COMES, Preference
from lemel.sketch.drawing import Drawing
from lemel.sketch.plot import Scale, drawn
from lemel.values import Composition, Quantity, Saying
from lemel.words import say

__all__ = ["silver_copper"]

#: Points to each stretch between two corners of the section.
_STEPS = 9
_SOLVUS_STEPS = 12
#: How far from the eutectic the two solids, and the liquid, are asked after.
_NEAR_K = 0.2
#: How far inside the two-phase field a tie line is asked after, as a share of the way.
_INSIDE = 0.03
_LIQUID = "liquid"
_COLD_C = 300.0


@dataclass(frozen=True, slots=True)
class _Lines:
    """The lines of the section as points (parts of silver in 1000, degC)."""

    liquidus: tuple[tuple[float, float], ...]
    copper_side: tuple[tuple[float, float], ...]
    silver_side: tuple[tuple[float, float], ...]
    eutectic_c: float


def silver_copper(
    marks: Sequence[float] = (0.925,),
    *,
    width_mm: float = 120.0,
    height_mm: float = 80.0,
    units: Preference = AS_IT_COMES,
) -> Drawing:
    """Liquidus, solidus and the two solid solutions of silver with copper, as the metal room
    computes them; `marks` are silver shares (fractions) drawn as upright lines."""
    lines = _lines()
    scale = Scale("degC", units)

    def paint(axes: Any) -> None:
        for points, width in (
            (lines.liquidus, 2.0), (lines.copper_side, 1.2), (lines.silver_side, 1.2),
            (_flat(lines), 1.2),
        ):  # fmt: skip
            axes.plot([x for x, _ in points], [scale(c) for _, c in points], linewidth=width)
        axes.set_xlim(0, 1000)
        axes.set_ylim(scale(_COLD_C), scale(1120.0))
        for share in marks:
            axes.axvline(1000 * share, linestyle=":", linewidth=0.9)
            axes.annotate(
                f"{1000 * share:.0f}", (1000 * share, axes.get_ylim()[1]),
                xytext=(0, 2), textcoords="offset points", ha="center", va="bottom",
            )  # fmt: skip
        for name, x, y in (("liquid", 560, 1000), ("both", 470, 560), ("copper_rich", 255, 825)):
            axes.text(x, scale(y), say(Saying(f"sketch.section.{name}")), ha="center")
        axes.annotate(
            say(Saying("sketch.section.silver_rich")), (880, scale(830)),
            xytext=(690, scale(905)), ha="center", va="bottom",
            arrowprops={"arrowstyle": "-", "linewidth": 0.7, "shrinkA": 0, "shrinkB": 0},
        )  # fmt: skip
        axes.text(500, scale(lines.eutectic_c - 8), f"{scale(lines.eutectic_c):.0f}", va="top")
        axes.set_xlabel(say(Saying("sketch.section.share")), loc="right", labelpad=0)
        axes.text(0.0, 1.01, scale.symbol, transform=axes.transAxes, va="bottom", ha="right")

    told = {"eutectic": Quantity(lines.eutectic_c, "degC")}
    alt = say(Saying("sketch.section.alt", told), units=units)
    return drawn(width_mm, height_mm, (13, 5, 6, 10), paint, alt)


@cache
def _lines() -> _Lines:
    """Every line from the tie lines that the metal room finds: where one phase ends and the
    next begins at one temperature. So a solidus that leans back is drawn as it is."""
    eutectic = melting(_alloy(500)).solidus_c
    meets = max(share for name, share in _tie(500, eutectic + _NEAR_K) if name == _LIQUID)
    upper: dict[float, float] = {}
    sides: list[list[tuple[float, float]]] = []
    for end in (0.0, 1000.0):
        nodes = [end + (meets - end) * n / _STEPS for n in range(_STEPS + 1)]
        heights = [melting(_alloy(node)).liquidus_c for node in nodes]
        upper |= dict(zip(nodes, heights, strict=True))
        side = [(end, heights[0])]
        for node, at in zip(nodes[1:-1], heights[1:-1], strict=True):
            inside = node + (end - node) * _INSIDE
            side += [(share, at) for name, share in _tie(inside, at) if name != _LIQUID]
        below = eutectic - _NEAR_K
        for n in range(_SOLVUS_STEPS + 1):
            at = below + (_COLD_C - below) * n / _SOLVUS_STEPS
            shares = sorted(share for _, share in _tie(500, at))
            side.append((shares[0] if end == 0 else shares[-1], at))
        sides.append(side)
    return _Lines(tuple(sorted(upper.items())), tuple(sides[0]), tuple(sides[1]), eutectic)


def _flat(lines: _Lines) -> tuple[tuple[float, float], ...]:
    """The eutectic's own line, from one solid to the other."""
    near = (min(side, key=_from_eutectic(lines)) for side in (lines.copper_side, lines.silver_side))
    return tuple((share, lines.eutectic_c) for share, _ in near)


def _from_eutectic(lines: _Lines) -> Callable[[tuple[float, float]], float]:
    return lambda point: abs(point[1] - lines.eutectic_c)


def _tie(silver: float, at_c: float) -> list[tuple[str, float]]:
    """The phases beside each other there: name, parts of silver in 1000."""
    found = phases(_alloy(silver), at_c)
    return [(one.name, 1000 * one.composition.share("Ag")) for one in found]


def _alloy(silver: float) -> Composition:
    shares = {"Ag": silver / 1000, "Cu": 1 - silver / 1000}
    return Composition.of({element: share for element, share in shares.items() if share > 0})
