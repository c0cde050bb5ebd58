"""What an order line asks for, in one short phrase."""

from __future__ import annotations

from collections.abc import Sequence

from lemel.cards.hand import Hand
from lemel.values import OrderLine, SayingValue

__all__ = ["what_is_asked"]

#: Sizes that are told for each kind, in this order.
_SIZES = {
    "ring": ("width_mm", "thickness_mm"),
    "bangle": ("width_mm", "thickness_mm"),
    "disc": ("diameter_mm", "thickness_mm"),
    "outline": ("length_mm", "width_mm", "thickness_mm"),
}


def what_is_asked(lines: Sequence[OrderLine], hand: Hand) -> str:
    """One phrase for lines of one kind: how many, which sizes, what section.

    Lines of different kinds are told one after the other.
    """
    if len({line.what for line in lines}) > 1:
        return "; ".join(what_is_asked([line], hand) for line in lines)
    if not lines:
        return ""
    first = lines[0]
    count = sum(line.count for line in lines)
    many = "many" if count > 1 else "one"
    name = hand.say(f"cards.what.{first.what}.{many}", count=count)
    parts = [name, *_marks(lines), *_dims(first, hand), *_further(first, hand)]
    return " ".join(part for part in parts if part)


def _marks(lines: Sequence[OrderLine]) -> list[str]:
    """Sizes with a name of their own, the scale told once: ISO 50, 52, 54."""
    marks = [str(line.sizes["size"]) for line in lines if "size" in line.sizes]
    if not marks:
        return []
    scale = marks[0].rpartition(" ")[0]
    if scale and all(mark.startswith(f"{scale} ") for mark in marks):
        marks = [marks[0], *(mark.removeprefix(f"{scale} ") for mark in marks[1:])]
    return [", ".join(dict.fromkeys(marks)) + ","]


def _dims(line: OrderLine, hand: Hand) -> list[str]:
    sizes = [line.sizes[name] for name in _SIZES.get(line.what, ()) if name in line.sizes]
    shown = [hand.size(float(size)) for size in sizes]
    if not shown:
        return []
    unit = shown[-1].rpartition(" ")[2]
    numbers = " \N{MULTIPLICATION SIGN} ".join(one.rpartition(" ")[0] for one in shown)
    return [f"{numbers} {unit}"]


def _further(line: OrderLine, hand: Hand) -> list[str]:
    """The inside of what is round, the wire of what is linked, the section of stock."""
    told: list[str] = []
    sizes = line.sizes
    for name in ("inside_diameter_mm", "wire_diameter_mm"):
        if name in sizes:
            values: dict[str, SayingValue] = {"size": hand.size(float(sizes[name]))}
            told.append(hand.say(f"cards.size.{name.removesuffix('_mm')}", **values))
    if "section" in sizes:
        told.append(str(sizes["section"]))
    if line.what in ("chain", "stock") and "length_mm" in sizes:
        told.append(hand.length(float(sizes["length_mm"])))
    return [", ".join(told)]
