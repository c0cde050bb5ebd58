"""The bench's own ring stick, said on the command line by a few of its marks."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click

from lemel.errors import BadInput
from lemel.files import Place, read_number
from lemel.tables import Tables, shipped

__all__ = ["own_stick", "stick_option"]


def stick_option(command: Callable[..., Any]) -> Callable[..., Any]:
    """The option --stick, the same for every verb that reads ring sizes."""
    return click.option(
        "--stick", metavar="MARKS",
        help="Your own stick, by two or more of its marks and the inside diameters there in mm: "
        "'4=15.0 10=19.9'. Its sizes are then called OWN.",
    )(command)  # fmt: skip


def own_stick(marks: str | None) -> Tables:
    """The shipped tables with the marks of the bench's own stick laid over them."""
    if marks is None:
        return shipped()
    points = {}
    for word in marks.replace(",", " ").split():
        mark, sign, size = word.partition("=")
        if not sign:
            raise BadInput(
                "--stick", word, "a mark and its inside diameter in mm, such as 4=15.0",
                "Measure two marks of the stick or more with a caliper.",
            )  # fmt: skip
        place = Place("--stick", (), {}, textual=True)
        at, inside = (read_number(text, place) for text in (mark, size))
        points[f"own-{at:g}"] = {"scale": "own", "mark": at, "inside_diameter_mm": inside}
    _rising(marks, [(p["mark"], p["inside_diameter_mm"]) for p in points.values()])
    return shipped().with_overrides({"cut_ring_points": points})


def _rising(marks: str, points: list[tuple[Any, Any]]) -> None:
    """Two marks at least, and a greater mark is a greater ring."""
    sizes = [size for _, size in sorted(points)]
    if len(sizes) < 2 or sizes != sorted(set(sizes)) or sizes[0] <= 0:
        raise BadInput(
            "--stick", marks, "two marks or more, a greater one for a greater ring",
            "Measure them again with a caliper.",
        )  # fmt: skip
