"""What a sketch is: SVG text, its size on paper, and words for whoever cannot see it."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Drawing"]


@dataclass(frozen=True, slots=True)
class Drawing:
    """One drawing, black on white.

    `svg` is a whole document of `width_mm` by `height_mm`; `alt` says in a sentence what it
    shows. `full_size`: one mm on paper is one mm of metal, so it is printed at 100 %.
    """

    svg: str
    width_mm: float
    height_mm: float
    alt: str
    full_size: bool = False
