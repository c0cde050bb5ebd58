"""One alloy's melting as curves: a section through its system, and how much of it is liquid."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any

from lemel.metal import SectionData, liquid_fraction_data, melting, section_data
from lemel.quantities import AS_IT_COMES, Preference
from lemel.sketch.drawing import Drawing
from lemel.sketch.labels import Frame, Path, put_labels
from lemel.sketch.plot import Scale, drawn
from lemel.values import Composition, Quantity, Saying, SayingValue, is_finite
from lemel.words import say

__all__ = ["alloy_section", "liquid_fraction", "named"]

_MARGINS_MM = (14.0, 15.0, 13.0, 10.0)
#: Points along the section: 8.3 parts apart in a whole system, so that corners are sharp.
_ALONG = 121
#: Points along the curve of liquid: the last drops of a casting go within a kelvin.
_FINE = 241
#: Half the width of the hatched strips that show how far off the figures may be.
_STRIP_MM = 1.5
_SMALL = 9
#: A range that is narrower is none on the screen.
_AT_ONCE_K = 0.5
#: Dash patterns in line widths: equilibrium solidus, and the solidus of metal as cast.
_EVEN, _CAST = (0, (5, 2)), (0, (1, 1.4))


def named(body: Composition) -> str:
    """The alloy by its parts in 1000, most first.

    >>> named(Composition.from_millesimal({"Cu": 75, "Ag": 925}))
    'Ag 925, Cu 75'
    """
    parts = sorted(body.parts, key=lambda part: (-part[1], part[0]))
    texts = [f"{element} {1000 * share:.4g}" for element, share in parts]
    if body.rest > 0:
        texts.append(say(Saying("sketch.alloy.rest", {"parts": f"{1000 * body.rest:.4g}"})))
    return ", ".join(texts)


@lru_cache(maxsize=64)
def alloy_section(
    body: Composition,
    *,
    at_c: float | None = None,
    published: tuple[tuple[float, float], ...] = (),
    width_mm: float = 140.0,
    height_mm: float = 95.0,
    units: Preference = AS_IT_COMES,
) -> Drawing:
    """The section through the alloy's system with the alloy on it.

    Liquidus as a full line, solidus of worked metal broken, of metal as cast dotted; on the
    upright line of this alloy a hatched strip is how far off each figure may be. `at_c`
    draws the level of one temperature. `published`: points to compare with, as crosses
    (parts in 1000 of the element that runs along the section, degC). An `at_c` that is no
    number raises BadInput.
    """
    if at_c is not None:
        is_finite("at_c", at_c)
    data, scale = section_data(body, points=_ALONG), Scale("degC", units)
    heights = (data.here_liquidus_c, data.here_solidus_c, _here_cast(data))
    frame = _frame(data, [*heights, *(c for _, c in published), *_given(at_c)], scale, width_mm,
                   height_mm)  # fmt: skip
    curves = {
        say(Saying("sketch.alloy.liquidus")): (data.liquidus_c, "-", 2.0),
        say(Saying("sketch.alloy.solidus")): (data.solidus_c, _EVEN, 1.4),
        say(Saying("sketch.alloy.cast")): (data.segregated_c, _CAST, 1.6),
    }

    def paint(axes: Any) -> None:
        axes.set_xlim(*frame.across)
        axes.set_ylim(*frame.up)
        paths: dict[str, Path] = {}
        for name, (temps, style, width) in curves.items():
            ups = [scale(c) for c in temps]
            axes.plot(data.shares, ups, linestyle=style, linewidth=width)
            paths[name] = list(zip(data.shares, ups, strict=True))
        others = [*_mark_alloy(axes, frame, data, heights, scale)]
        others += _mark_level(axes, frame, data.here, at_c, scale)
        if published:
            ups = [scale(c) for _, c in published]
            axes.plot([x for x, _ in published], ups, linestyle="", marker="x", markersize=6)
            points = list(zip((x for x, _ in published), ups, strict=True))
            paths[say(Saying("sketch.alloy.published"))] = [
                max(points, key=lambda point: abs(point[0] - data.here))
            ]
            others += [_cross(frame, point) for point in points]
        put_labels(axes, frame, paths, others)
        pair = {"along": data.along, "against": data.against}
        axes.set_xlabel(say(Saying("sketch.alloy.share", pair)), loc="right", labelpad=0)
        axes.text(0.0, 1.01, scale.symbol, transform=axes.transAxes, va="bottom", ha="right")
        _head(axes, body, units)

    alt = say(Saying("sketch.alloy.section_alt", _told(body)), units=units)
    return drawn(width_mm, height_mm, _MARGINS_MM, paint, alt)


@lru_cache(maxsize=64)
def liquid_fraction(
    body: Composition,
    *,
    width_mm: float = 140.0,
    height_mm: float = 75.0,
    units: Preference = AS_IT_COMES,
) -> Drawing:
    """How much of the mass is liquid over temperature, in percent: broken line worked metal at
    equilibrium, dotted line metal as cast, whose last drops freeze lower."""
    data, scale = liquid_fraction_data(body, points=_FINE), Scale("degC", units)
    overs = [scale(c) for c in data.temps_c]
    frame = Frame(
        width_mm - _MARGINS_MM[0] - _MARGINS_MM[1], height_mm - _MARGINS_MM[2] - _MARGINS_MM[3],
        (overs[0], overs[-1]), (0.0, 104.0),
    )  # fmt: skip

    def paint(axes: Any) -> None:
        axes.set_xlim(*frame.across)
        axes.set_ylim(*frame.up)
        paths: dict[str, Path] = {}
        for name, shares, style in (
            ("sketch.alloy.even", data.equilibrium, _EVEN),
            ("sketch.alloy.cast_metal", data.segregated, _CAST),
        ):
            ups = [100 * share for share in shares]
            axes.plot(overs, ups, linestyle=style, linewidth=1.6)
            paths[say(Saying(name))] = list(zip(overs, ups, strict=True))
        put_labels(axes, frame, paths)
        label = say(Saying("sketch.alloy.temperature", {"unit": scale.symbol}))
        axes.set_xlabel(label, loc="right", labelpad=0)
        axes.text(
            0.0, 1.01, say(Saying("sketch.alloy.liquid")),
            transform=axes.transAxes, va="bottom", ha="right",
        )  # fmt: skip
        _head(axes, body, units)

    alt = say(Saying("sketch.alloy.liquid_alt", _told(body)), units=units)
    return drawn(width_mm, height_mm, _MARGINS_MM, paint, alt)


def _given(at_c: float | None) -> tuple[float, ...]:
    return () if at_c is None else (at_c,)


def _here_cast(data: SectionData) -> float:
    """The solidus as cast where the alloy stands: the section has a point there."""
    nearest = min(range(len(data.shares)), key=lambda i: abs(data.shares[i] - data.here))
    return data.segregated_c[nearest]


def _frame(
    data: SectionData, more_c: Sequence[float], scale: Scale, width_mm: float, height_mm: float
) -> Frame:
    """All lines and points, with air above and below."""
    low = min(*data.segregated_c, *data.solidus_c, *more_c)
    high = max(*data.liquidus_c, *more_c)
    air = max(5.0, (high - low) * 0.1)
    left, right, top, bottom = _MARGINS_MM
    return Frame(
        width_mm - left - right, height_mm - top - bottom,
        (data.shares[0], data.shares[-1]), (scale(low - 2 * air), scale(high + air)),
    )  # fmt: skip


def _mark_alloy(
    axes: Any, frame: Frame, data: SectionData, heights_c: Sequence[float], scale: Scale
) -> list[Path]:
    """The alloy's upright line, its three points, and the strips of what is not known."""
    axes.axvline(data.here, linestyle="-", linewidth=0.5)
    half = _STRIP_MM / frame.width_mm * (frame.across[1] - frame.across[0])
    corners = []
    for c in heights_c:
        low, high = scale(c - data.band_k), scale(c + data.band_k)
        axes.fill_between(
            (data.here - half, data.here + half), low, high,
            facecolor="none", edgecolor="0.35", hatch="//////", linewidth=0.0,
        )  # fmt: skip
        corners += [[(data.here - half, low), (data.here - half, high)],
                    [(data.here + half, low), (data.here + half, high)]]  # fmt: skip
    for c, filled in zip(heights_c, ("black", "white", "white"), strict=True):
        axes.plot(
            [data.here], [scale(c)], linestyle="", marker="o", markersize=4.5,
            markerfacecolor=filled, zorder=4, clip_on=False,
        )  # fmt: skip
    return [[(data.here, frame.up[0]), (data.here, frame.up[1])], *corners]


def _mark_level(
    axes: Any, frame: Frame, here: float, at_c: float | None, scale: Scale
) -> list[Path]:
    """One temperature across the section, named at its right end."""
    if at_c is None:
        return []
    axes.axhline(scale(at_c), linestyle="-.", linewidth=0.6)
    axes.plot(
        [here], [scale(at_c)], linestyle="", marker="D", markersize=5, zorder=5, clip_on=False
    )
    axes.text(
        1.01, scale(at_c), f"{scale(at_c):.0f} {scale.symbol}",
        transform=axes.get_yaxis_transform(), ha="left", va="center",
    )  # fmt: skip
    return [[(frame.across[0], scale(at_c)), (frame.across[1], scale(at_c))]]


def _cross(frame: Frame, at: tuple[float, float]) -> Path:
    """Room for a cross, as a short stroke through it."""
    reach = 1.2 / frame.width_mm * (frame.across[1] - frame.across[0])
    return [(at[0] - reach, at[1]), (at[0] + reach, at[1])]


def _head(axes: Any, body: Composition, units: Preference) -> None:
    """Two lines over the plot: which alloy, and its figures."""
    for lift, text in (
        (15.5, named(body)),
        (4.0, say(_melts(body), units=units)),
    ):
        axes.annotate(
            text, (0.03, 1.0), xycoords="axes fraction", xytext=(0, lift),
            textcoords="offset points", va="bottom", ha="left", fontsize=_SMALL,
        )  # fmt: skip


def _melts(body: Composition) -> Saying:
    """Its melting in a line; what melts at one temperature is not said to have a range."""
    told, found = _told(body), melting(body)
    at_once = found.liquidus_c - found.segregated_solidus_c < _AT_ONCE_K
    return Saying("sketch.alloy.head_at_once" if at_once else "sketch.alloy.head", told)


def _told(body: Composition) -> dict[str, SayingValue]:
    found = melting(body)
    return {
        "alloy": named(body),
        "liquidus": Quantity(found.liquidus_c, "degC"),
        "solidus": Quantity(found.solidus_c, "degC"),
        "cast": Quantity(found.segregated_solidus_c, "degC"),
        "band": Quantity(found.band_k, "K"),
    }
