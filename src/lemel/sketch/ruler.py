"""A fineness as a short smear on a ruler, with the standard as a notch."""

from __future__ import annotations

from lemel.sketch.drawing import Drawing
from lemel.sketch.strokes import line, page, polygon, rect, write
from lemel.values import Quantity, Saying
from lemel.words import say

__all__ = ["fineness_ruler"]

_HEIGHT = 13.0
_BASE = 6.5
#: How many standard deviations the ruler shows beside the smear, and the smear itself.
_SHOWN_SD, _PALE_SD, _DARK_SD = 3.2, 2.0, 1.0
_LEAST_SPAN = 0.004


def fineness_ruler(least: float, mean: float, sd: float, *, width_mm: float = 62.0) -> Drawing:
    """The believed fineness (fractions) about its mean: one and two standard deviations.

    The notch is the least that the standard asks; the ruler is marked in millesimal parts.
    """
    lo = min(least, mean - _SHOWN_SD * sd)
    hi = max(least, mean + _SHOWN_SD * sd)
    room = max(_LEAST_SPAN - (hi - lo), (hi - lo) * 0.12) / 2
    lo, hi = lo - room, hi + room

    def at(share: float) -> float:
        return (share - lo) / (hi - lo) * width_mm

    body = [line((0, _BASE), (width_mm, _BASE), 0.3)]
    step = _step((hi - lo) * 1000)
    first = int(lo * 1000 / step) + 1
    for n in range(first, int(hi * 1000 / step) + 1):
        body.append(line((at(n * step / 1000), _BASE), (at(n * step / 1000), _BASE - 1.2), 0.2))
    for k, fill in ((_PALE_SD, "#bbbbbb"), (_DARK_SD, "#555555")):
        left = at(mean - k * sd)
        body.append(rect(left, _BASE - 2.4, max(0.4, at(mean + k * sd) - left), 2.4, fill, 0))
    body.append(line((at(mean), _BASE - 3.2), (at(mean), _BASE), 0.5))
    notch = at(least)
    body.append(polygon([(notch, _BASE), (notch - 1.4, _BASE + 2.4), (notch + 1.4, _BASE + 2.4)],
                        "black", 0))  # fmt: skip
    asked = say(Saying("sketch.ruler.asked", {"least": f"{1000 * least:.1f}"}))
    believed = say(Saying("sketch.ruler.believed", {"mean": f"{1000 * mean:.1f}"}))
    body += [
        write(notch, _HEIGHT - 0.7, asked, 3.53, _anchor(notch, width_mm)),
        write(at(mean), _BASE - 3.7, believed, 3.53, _anchor(at(mean), width_mm)),
    ]
    told = {
        "mean": Quantity(1000 * mean, "millesimal"),
        "sd": Quantity(1000 * sd, "millesimal"),
        "least": Quantity(1000 * least, "millesimal"),
    }
    alt = say(Saying("sketch.ruler.alt", told))
    return Drawing(page(width_mm, _HEIGHT, body), width_mm, _HEIGHT, alt)


def _step(span: float) -> float:
    """A tick every 1, 5, 10 ... parts, so that there are never more than about twenty."""
    for step in (0.5, 1, 5, 10, 50):
        if span / step <= 20:
            return step
    return 100


def _anchor(x: float, width_mm: float) -> str:
    return "start" if x < width_mm * 0.26 else "end" if x > width_mm * 0.74 else "middle"
