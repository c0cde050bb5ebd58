"""What pieces, sections and days are called on a page."""

from __future__ import annotations

from lemel.values import OrderLine, Saying, Section
from lemel.web.reader import say

__all__ = ["piece", "section", "sizes"]

_MARK = {"diameter": "\u2300\u202f"}
_TIMES = "\u202f\u00d7\u202f"
#: Sizes of an order line in the order in which they are told.
_TOLD = (
    "inside_circumference_mm", "inside_diameter_mm", "inside_long_mm", "inside_short_mm",
    "diameter_mm", "wire_diameter_mm", "length_mm", "width_mm", "thickness_mm",
)  # fmt: skip


def piece(line: OrderLine, count: int | None = None) -> str:
    """What is wanted, in a word, with how many where it is more than one."""
    many = line.count if count is None else count
    word = say(Saying(f"web.piece.{line.what}"))
    return f"{many} {say(Saying(f'web.pieces.{line.what}'))}" if many > 1 else word


def sizes(line: OrderLine) -> str:
    """The sizes of an order line: size of a ring, then millimetres by name."""
    told = [str(line.sizes["size"])] if "size" in line.sizes else []
    if "profile" in line.sizes:
        told.append(str(line.sizes["profile"]).replace("_", " "))
    for name in _TOLD:
        value = line.sizes.get(name)
        if isinstance(value, int | float):
            told.append(f"{name.removesuffix('_mm').replace('_', ' ')} {value:g}")
    return ", ".join(told) + (" mm" if len(told) > 1 else "")


def section(cross: Section) -> str:
    """A section by kind and size: "flat 5 x 1.6 mm", "round 0.8 mm"."""
    dims = dict(cross.dims_mm)
    order = [n for n in ("width", "thickness", "height", "side", "diameter") if n in dims]
    numbers = _TIMES.join(f"{_MARK.get(name, '')}{round(dims[name], 2):g}" for name in order)
    return f"{cross.kind.replace('_', ' ')} {numbers} mm"
