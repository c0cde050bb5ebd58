"""The colour of hot metal: what the trade calls it, and what a screen may show for it.

The colour is that of a black body: Planck's radiation law over the visible band, weighed with the
CIE 1931 observer in the analytic form of C. Wyman, P.-P. Sloan and P. Shirley (Simple Analytic
Approximations to the CIE XYZ Color Matching Functions, J. Computer Graphics Techniques 2, 2013,
pp. 1-11; the multi-lobe fit, its numbers from memory), then into sRGB (IEC 61966-2-1). The eye's
range is far wider than a screen's, so the exposure follows the logarithm of the luminance from
where the eye first sees red in the dark (525 degC, J. W. Draper, 1847) to white heat, and a channel
that is near its full fills up as film does; that is how a hot body comes to look yellow though its
light stays reddish. A bright surface glows less than a black body and bench light hides the first
reds: the number counts.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log

__all__ = ["GLOWS", "Glow", "glow"]

#: From so many degC on: the trade's word; common practice, no source (books differ by 50 K).
GLOWS = (
    (-273.15, "black"),
    (525.0, "first red in the dark"),
    (580.0, "dull red"),
    (700.0, "cherry"),
    (850.0, "orange"),
    (1000.0, "yellow"),
    (1250.0, "white"),
)
_C2_NM_K = 1.438776877e7
_ZERO_C_K = 273.15
#: Where brightness begins and where the screen is as bright as it gets, degC.
_FIRST_C, _WHITE_C = 525.0, 1300.0
#: Exposure of the strongest channel there: our choice, so that the words above fit the colours.
_FIRST_EXPOSURE, _WHITE_EXPOSURE = 0.02, 20.0
_LOBES = {
    "x": ((1.056, 599.8, 37.9, 31.0), (0.362, 442.0, 16.0, 26.7), (-0.065, 501.1, 20.4, 26.2)),
    "y": ((0.821, 568.8, 46.9, 40.5), (0.286, 530.9, 16.3, 31.1)),
    "z": ((1.217, 437.0, 11.8, 36.0), (0.681, 459.0, 26.0, 13.8)),
}
_TO_RGB = (
    (3.2406, -1.5372, -0.4986),
    (-0.9689, 1.8758, 0.0415),
    (0.0557, -0.2040, 1.0570),
)


@dataclass(frozen=True, slots=True)
class Glow:
    """What metal looks like at a temperature: the word, and a colour as #rrggbb; "" while black."""

    word: str
    colour: str


def glow(temperature_c: float) -> Glow:
    """The trade's word and the screen's colour for hot metal.

    >>> glow(20.0), glow(640.0).word, glow(780.0).word
    (Glow(word='black', colour=''), 'dull red', 'cherry')
    """
    word = [name for begins, name in GLOWS if temperature_c >= begins][-1:] or ["black"]
    if temperature_c < _FIRST_C:
        return Glow(word[0], "")
    kelvin = temperature_c + _ZERO_C_K
    x, y, z = (_tristimulus(name, kelvin) for name in "xyz")
    linear = [max(0.0, (a * x + b * y + c * z) / y) for a, b, c in _TO_RGB]
    top = max(linear)
    exposure = _exposure(y)
    signs = (round(255 * _encoded(1 - exp(-exposure * one / top))) for one in linear)
    return Glow(word[0], "#" + "".join(f"{sign:02x}" for sign in signs))


def _exposure(luminance: float) -> float:
    first = log(_tristimulus("y", _FIRST_C + _ZERO_C_K))
    white = log(_tristimulus("y", _WHITE_C + _ZERO_C_K))
    share = min(1.0, max(0.0, (log(luminance) - first) / (white - first)))
    return float(_FIRST_EXPOSURE * (_WHITE_EXPOSURE / _FIRST_EXPOSURE) ** share)


def _tristimulus(name: str, kelvin: float) -> float:
    """Radiance of a black body seen through one of the observer's three curves, any unit."""
    return sum(
        _observer(name, nm) * (500.0 / nm) ** 5 / (exp(_C2_NM_K / (nm * kelvin)) - 1)
        for nm in range(380, 781, 5)
    )


def _observer(name: str, nm: float) -> float:
    return sum(
        height * exp(-0.5 * ((nm - centre) / (left if nm < centre else right)) ** 2)
        for height, centre, left, right in _LOBES[name]
    )


def _encoded(linear: float) -> float:
    """sRGB's own curve."""
    return 12.92 * linear if linear <= 0.0031308 else 1.055 * linear ** (1 / 2.4) - 0.055
