"""What each kind of piece needs to be told, and the sizes read from the form."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from django.http import HttpRequest

from lemel.cut import outline_of_dxf, outline_of_svg, ring_size, ring_sizes
from lemel.errors import BadInput
from lemel.tables import shipped
from lemel.values import Outline
from lemel.web import given
from lemel.web.scrap_acts import upload

__all__ = ["KINDS", "Size", "measures", "sizes_of"]

_PROFILES = {
    "flat": "flat", "half_round": "half round", "round": "round", "square": "square",
    "oval": "oval",
}  # fmt: skip
_SECTIONS = {"flat": "flat: sheet or strip", "round": "round wire", "square": "square wire",
             "half_round": "half round wire"}  # fmt: skip
#: The largest drawing of one outline, bytes.
_DRAWING_MOST = 1_000_000


@dataclass(frozen=True, slots=True)
class Size:
    """One field of the form; `choices` empty: a number in mm, or words where `words`."""

    name: str
    label: str
    help: str = ""
    need: bool = True
    words: bool = False
    choices: tuple[tuple[str, str], ...] = ()


def _profile() -> Size:
    return Size("profile", "Profile", choices=tuple(_PROFILES.items()))


_SCALES = (
    "One or more with their scale, a comma between: ISO 54, UK L\u00bd, US 7, JP 12, CH 14. Each "
    "makes a line of its own."
)
KINDS: Mapping[str, tuple[Size, ...]] = {
    "ring": (
        Size("size", "Sizes", _SCALES, words=True), Size("width_mm", "Width"),
        Size("thickness_mm", "Thickness"), _profile(),
        Size("opening_mm", "Left open", "Empty: closed.", need=False),
    ),
    "bangle": (
        Size("inside_diameter_mm", "Inside across", "Empty for an oval one.", need=False),
        Size("inside_long_mm", "Oval: inside the long way", need=False),
        Size("inside_short_mm", "Oval: inside the short way", need=False),
        Size("width_mm", "Width"), Size("thickness_mm", "Thickness"), _profile(),
        Size("opening_mm", "Left open", "Empty: closed.", need=False),
    ),
    "disc": (
        Size("diameter_mm", "Across"), Size("thickness_mm", "Thickness"),
        Size("dome_height_mm", "Domed so high", "Empty: flat.", need=False),
    ),
    "jump_ring": (
        Size("inside_diameter_mm", "Inside across"), Size("wire_diameter_mm", "Wire"),
    ),
    "chain": (
        Size("length_mm", "Long"), Size("inside_diameter_mm", "Links inside across"),
        Size("wire_diameter_mm", "Wire"),
    ),
    "outline": (
        Size("thickness_mm", "Thickness"),
        Size("length_mm", "Long", "Empty where a drawing is given.", need=False),
        Size("width_mm", "Wide", "Empty where a drawing is given.", need=False),
        Size("grain", "Along the rolling", choices=(
            ("any", "does not matter"), ("along", "long way along it"),
            ("across", "long way across it"),
        )),
    ),
    "stock": (
        Size("section", "Section", choices=tuple(_SECTIONS.items())),
        Size("width_mm", "Width", "Flat and half round.", need=False),
        Size("thickness_mm", "Thickness", "Flat; half round: its height.", need=False),
        Size("diameter_mm", "Across", "Round; square: its side.", need=False),
        Size("length_mm", "Long"),
    ),
}  # fmt: skip


def sizes_of(request: HttpRequest, what: str) -> list[dict[str, str | float]]:
    """The sizes of one line or, for rings, of one line a size."""
    sizes: dict[str, str | float] = {}
    for one in KINDS[what]:
        if one.choices:
            sizes[one.name] = given.choice(request, one.name, dict(one.choices))
        elif one.words:
            sizes[one.name] = given.text(request, one.name)
        elif one.need or str(request.POST.get(one.name, "")).strip():
            sizes[one.name] = given.number(request, one.name, "mm", least=0.05, most=10_000)
    if what == "ring":
        return [{**sizes, "size": one.strip()} for one in str(sizes["size"]).split(",")
                if one.strip()]  # fmt: skip
    if what == "outline":
        return [_outline(request, sizes)]
    return [_stock(sizes) if what == "stock" else sizes]


def _stock(sizes: dict[str, str | float]) -> dict[str, str | float]:
    """Stock in the words of its section: a square has a side, a half round a height."""
    named = {"square": {"diameter_mm": "side_mm"}, "half_round": {"thickness_mm": "height_mm"}}
    names = named.get(str(sizes["section"]), {})
    return {names.get(name, name): value for name, value in sizes.items()}


def _outline(request: HttpRequest, sizes: dict[str, str | float]) -> dict[str, str | float]:
    """With the drawing that was sent, which gives length and width itself."""
    if sizes["grain"] == "any":
        sizes.pop("grain")
    sent = upload(request, "drawing", _DRAWING_MOST)
    if sent is None:
        return sizes
    name, data = sent
    try:
        text = data.decode("utf-8")
        found = outline_of_dxf(text) if name.lower().endswith(".dxf") else outline_of_svg(text)
    except UnicodeDecodeError:
        raise BadInput("drawing", name[:40], "an SVG or a DXF", "Save it anew as SVG.") from None
    except BadInput as fault:
        raise BadInput("drawing", fault.value, fault.allowed, fault.do) from None
    sizes.pop("length_mm", None)
    sizes.pop("width_mm", None)
    return {**sizes, "path_mm": _path(found)}


def _path(outline: Outline) -> str:
    points = [f"{x:.4f} {y:.4f}" for x, y in outline.points_mm]
    return f"M {' L '.join(points)} Z"


def measures(size: str) -> str:
    """What a ring size measures, and what other scales call it."""
    found = ring_size(size, tables=shipped())
    marks = ring_sizes(found.inside_circumference_mm)
    others = [f"{scale.upper()} {mark}" for scale, mark in marks.items()
              if scale in ("iso", "uk", "us", "jp", "ch") and scale != found.scale]  # fmt: skip
    return (
        f"{found.text}: {found.inside_circumference_mm:.1f} mm around, "
        f"{found.inside_diameter_mm:.2f} mm across; about {', '.join(others)}."
    )
