"""One mould from the side, as high as it is to be filled; or the button in its dish."""

from __future__ import annotations

from lemel.pour import Casting
from lemel.quantities import AS_IT_COMES, Preference, show, to_step
from lemel.sketch.drawing import Drawing
from lemel.sketch.strokes import hatch, line, page, polygon, rect, write
from lemel.values import Mould, Quantity, Saying, SayingValue
from lemel.words import say

__all__ = ["fill_height_mm", "mould_fill"]

_WALL = 2.2
_CAVITY = 9.0
_SIDE = 21.0
_CAP = 6.0
_FULL, _FEEDER = Saying("sketch.mould.full"), Saying("sketch.mould.feeder")


def fill_height_mm(casting: Casting) -> float:
    """How high the metal stands above the bottom of the cavity, feeder and all, mm.

    The feeder is on top of the bar and of the same section, so the heights are as the masses.
    """
    return casting.bar.length_mm * (1 + casting.feeder_g / casting.bar.mass_g)


def mould_fill(
    casting: Casting,
    mould: Mould | None,
    *,
    height_mm: float = 34.0,
    units: Preference = AS_IT_COMES,
) -> Drawing:
    """Bar (grey) and feeder (hatched) in the cavity, with the height to fill to.

    The height is to scale, the width is not. Without a mould: a button, as it lies.
    """
    if mould is None or casting.fill == "button":
        return _button(casting, units)
    fill, pattern = hatch(1)
    width = _WALL * 2 + _CAVITY + _SIDE
    deep = height_mm - _CAP - _WALL
    level = fill_height_mm(casting)
    scale = deep / mould.length_mm
    foot = height_mm - _WALL
    bar_top = foot - min(casting.bar.length_mm, mould.length_mm) * scale
    top = max(foot - level * scale, 0.6)
    rim = foot - mould.length_mm * scale
    x = _WALL
    body = [
        pattern,
        rect(x, bar_top, _CAVITY, foot - bar_top, "#bbbbbb", 0.2),
        rect(x, top, _CAVITY, bar_top - top, fill, 0.2) if casting.feeder_g else "",
        polygon(
            [(0, rim), (x, rim), (x, foot), (x + _CAVITY, foot), (x + _CAVITY, rim),
             (x + _CAVITY + _WALL, rim), (x + _CAVITY + _WALL, height_mm), (0, height_mm)],
            "white", 0.5,
        ),
        line((x + _CAVITY + _WALL + 0.5, top), (x + _CAVITY + _WALL + 4, top), 0.3),
    ]  # fmt: skip
    at = x + _CAVITY + _WALL + 4.8
    full = level >= mould.length_mm
    filled = show(Quantity(to_step(level, 1.0), "mm"), units)
    deep_shown = show(Quantity(to_step(mould.length_mm, 1.0), "mm"), units)
    body.append(write(at, max(top + 1.4, 4.0), say(_FULL) if full else filled, 4.23, bold=True))
    body.append(write(at, max(top + 6.2, 8.8), say(_FEEDER) if full else f"/ {deep_shown}", 4.23))
    told: dict[str, SayingValue] = {
        "mould": mould.id,
        "level": Quantity(to_step(level, 1.0), "mm"),
        "depth": Quantity(mould.length_mm, "mm"),
    }
    alt = say(Saying("sketch.mould.alt", told), units=units)
    return Drawing(page(width, height_mm, body), width, height_mm, alt)


def _button(casting: Casting, units: Preference) -> Drawing:
    """The dish from the side with the button in it; nothing to scale."""
    width, height = 34.2, 16.0
    dish = [(0, 4), (2, 4), (7, 12.5), (27, 12.5), (32, 4), (34, 4), (28.5, 15), (5.5, 15)]
    across = show(Quantity(to_step(casting.bar.section.width_mm, 1.0), "mm"), units)
    lens = [(9, 12.5), (11, 10.4), (14, 9.4), (20, 9.4), (23, 10.4), (25, 12.5)]
    body = [
        polygon(lens, "#bbbbbb", 0.3),
        polygon([(float(x), float(y)) for x, y in dish], "white", 0.5),
        write(17, 7.8, f"ø {across}", 4.23, "middle", bold=True),
    ]
    told = {"across": Quantity(to_step(casting.bar.section.width_mm, 1.0), "mm")}
    alt = say(Saying("sketch.button.alt", told), units=units)
    return Drawing(page(width, height, body), width, height, alt)
