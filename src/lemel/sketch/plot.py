"""The one door to matplotlib: axes of a given size in mm in, tidy SVG text out."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from functools import cache
from importlib import resources
from typing import Any

from lemel.quantities import Preference, convert, unit
from lemel.sketch.drawing import Drawing

__all__ = ["Margins", "Scale", "drawn"]

#: Space beside the axes in mm: left, right, top, bottom.
Margins = tuple[float, float, float, float]
_MM_PER_INCH = 25.4
#: The house's type; the plots are measured in the type that comes with the plotting library.
_FONTS = "'Libertinus Serif', Georgia, serif"


class Scale:
    """Values in one unit brought to the reader's unit; linear, so numbers stay cheap.

    >>> Scale("degC", Preference(temperature="degF"))(100.0)
    212.0
    """

    def __init__(self, key: str, units: Preference) -> None:
        wanted = unit(units.unit_for(key))
        at_zero, at_one = (float(convert(value, key, wanted.key)) for value in (0, 1))
        self._zero, self._slope = at_zero, at_one - at_zero
        self.symbol = wanted.symbol

    def __call__(self, value: float) -> float:
        return round(self._zero + self._slope * value, 9)


def drawn(
    width_mm: float,
    height_mm: float,
    margins_mm: Margins,
    paint: Callable[[Any], None],
    alt: str,
) -> Drawing:
    """A drawing of that size; `paint` is given the axes. The same strokes give the same text.

    No window system, no date, no chance: the salt of the ids is fixed by the style file.
    """
    import matplotlib as mpl
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    left, right, top, bottom = margins_mm
    with mpl.rc_context(_style()):
        figure = Figure(figsize=(width_mm / _MM_PER_INCH, height_mm / _MM_PER_INCH))
        FigureCanvasSVG(figure)
        axes = figure.add_axes(
            (
                left / width_mm,
                bottom / height_mm,
                1 - (left + right) / width_mm,
                1 - (top + bottom) / height_mm,
            )
        )
        figure.patch.set_visible(False)
        axes.patch.set_visible(False)
        paint(axes)
        page = io.StringIO()
        nothing = dict.fromkeys(("Date", "Creator", "Format", "Type"))
        figure.savefig(page, format="svg", metadata=nothing)
    return Drawing(_tidy(page.getvalue(), width_mm, height_mm), width_mm, height_mm, alt)


@cache
def _style() -> Any:
    import matplotlib as mpl

    with resources.as_file(resources.files("lemel.sketch") / "lemel.mplstyle") as path:
        return mpl.rc_params_from_file(str(path), use_default_template=False)


def _tidy(text: str, width_mm: float, height_mm: float) -> str:
    """From the first tag on, sized in mm, in the house's type, without notes on its making."""
    body = text[text.index("<svg") :]
    body = re.sub(r"<!--.*?-->", "", body, flags=re.DOTALL)
    body = re.sub(r"<metadata>.*?</metadata>", "", body, flags=re.DOTALL)
    body = body.replace("'DejaVu Serif'", _FONTS)
    body = re.sub(r' transform="rotate\(-?0 [^"]*"', "", body)
    body = re.sub(
        r'<svg [^>]*viewBox="([^"]+)"[^>]*>',
        rf'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
        rf' width="{width_mm:g}mm" height="{height_mm:g}mm" viewBox="\1">',
        body,
        count=1,
    )
    return re.sub(r"\n\s*\n+", "\n", body)
