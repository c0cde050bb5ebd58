"""`lemel size` and `lemel blank`: what a ring size measures, and the blank of one piece."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from lemel.cli.answer import Told, plain
from lemel.cli.given import NUMBER, composition
from lemel.cli.run import verb
from lemel.cli.stick import own_stick, stick_option
from lemel.cut import BlankReport, SizeReport, blank_report, size_report
from lemel.errors import BadInput
from lemel.values import OrderLine, Saw

if TYPE_CHECKING:
    from lemel.cli.paper import Paper

__all__ = ["blank", "size"]

_RINGS = ("ring",)
_BLANKS = ("ring", "bangle", "disc", "jump_ring", "chain", "outline")
#: What each option of `lemel blank` is called among the sizes of an order line.
_SIZES = {
    "size": "size",
    "inside": "inside_diameter_mm",
    "width": "width_mm",
    "thickness": "thickness_mm",
    "length": "length_mm",
    "diameter": "diameter_mm",
    "wire": "wire_diameter_mm",
    "profile": "profile",
    "long": "inside_long_mm",
    "short": "inside_short_mm",
    "opening": "opening_mm",
    "joint": "joint_mm",
    "neutral": "neutral_share",
    "dome_height": "dome_height_mm",
    "dome_radius": "dome_radius_mm",
    "path": "path_mm",
    "grain": "grain",
}


@verb("size")
@click.argument("what", metavar="ring")
@click.argument("text", metavar="SIZE")
@click.option("--to", metavar="SCALE", help="The mark on this scale, such as ISO, UK, US, JP.")
@click.option("--thickness", type=NUMBER, metavar="MM", help="Give the blank's length too.")
@click.option("--width", type=NUMBER, metavar="MM", help="Width of the band.")
@click.option("--alloy", metavar="PARTS", help="'Ag=925 Cu=75': give the blank's mass too.")
@stick_option
def size(
    *,
    what: str,
    text: str,
    to: str | None,
    thickness: float | None,
    width: float | None,
    alloy: str | None,
    stick: str | None,
) -> Told:
    """What a ring size measures: `lemel size ring "UK L" --to ISO`."""
    _one_of("what", what, _RINGS)
    body = composition(tuple(alloy.split()), None, False) if alloy else None
    found = size_report(
        text, to, thickness_mm=thickness, width_mm=width, body=body, tables=own_stick(stick)
    )
    return Told(plain(found), lambda paper: _show_size(found, to, paper))


def _show_size(found: SizeReport, to: str | None, paper: Paper) -> None:
    rows = [
        ("inside circumference", f"{found.inside_circumference_mm:.2f} mm"),
        ("inside diameter", f"{found.inside_diameter_mm:.2f} mm"),
    ]
    if found.to is not None:
        rows.append((f"on the scale {to}", found.to))
    if found.blank_length_mm is not None:
        rows.append(("blank", f"{found.blank_length_mm:.1f} mm"))
    if found.mass_g is not None:
        rows.append(("mass of the blank", f"{found.mass_g:.2f} g"))
    paper.line(found.size)
    paper.facts(rows)
    others = ", ".join(f"{scale} {mark}" for scale, mark in found.others.items())
    paper.line(f"Elsewhere: {others}.")
    paper.sayings("Notes", found.notes)


@verb("blank")
@click.argument("what", metavar="ring|bangle|disc|jump_ring|chain|outline")
@click.argument("text", metavar="[SIZE]", required=False)
@click.option("--inside", type=NUMBER, metavar="MM", help="Inside diameter.")
@click.option("--long", type=NUMBER, metavar="MM", help="Long inside axis of an oval bangle.")
@click.option("--short", type=NUMBER, metavar="MM", help="Its short inside axis.")
@click.option("--width", type=NUMBER, metavar="MM", help="Width of the band or piece.")
@click.option("--thickness", type=NUMBER, metavar="MM", help="Thickness.")
@click.option("--length", type=NUMBER, metavar="MM", help="Length of a chain or piece.")
@click.option("--diameter", type=NUMBER, metavar="MM", help="Diameter of a disc.")
@click.option("--wire", type=NUMBER, metavar="MM", help="Diameter of the wire.")
@click.option("--profile", metavar="flat|half_round|round|square|oval", help="Of the band.")
@click.option("--opening", type=NUMBER, metavar="MM", help="Gap of an open ring or bangle.")
@click.option("--joint", type=NUMBER, metavar="MM", help="What is filed off where it closes.")
@click.option(
    "--neutral",
    type=NUMBER,
    metavar="SHARE",
    help="Where in the thickness nothing stretches, as your own bends show it (0.5: the middle).",
)
@click.option("--dome-height", type=NUMBER, metavar="MM", help="How far a disc is domed.")
@click.option("--dome-radius", type=NUMBER, metavar="MM", help="Or the radius of the punch.")
@click.option("--path", metavar="D", help="An outline as the d of an SVG path, in mm.")
@click.option("--grain", metavar="along|across|any", help="How an outline lies to the rolling.")
@stick_option
@click.option("--count", type=NUMBER, default=1.0, metavar="N", help="How many.")
@click.option("--kerf", type=NUMBER, default=0.3, metavar="MM", help="What the saw eats.")
@click.option("--alloy", default="Ag=925 Cu=75", metavar="PARTS", help="[Ag=925 Cu=75]")
def blank(
    *,
    what: str,
    text: str | None,
    count: float,
    kerf: float,
    alloy: str,
    stick: str | None,
    **given: Any,
) -> Told:
    """The blank of one piece: `lemel blank ring "UK L" --width 3 --thickness 1.7`."""
    _one_of("what", what, _BLANKS)
    if count != int(count) or not 1 <= count <= 100_000:
        raise BadInput("--count", count, "a whole number from 1 to 100000", "Count again.")
    body = composition(tuple(alloy.split()), None, False)
    named = {"size": text, **given}
    sizes = {_SIZES[key]: value for key, value in named.items() if value is not None}
    line = OrderLine("P.1", "P", "shop", what, int(count), sizes, "none")
    saw = Saw("saw", kerf, 1e6)
    try:
        found = blank_report(line, body, saw, tables=own_stick(stick))
    except BadInput as fault:
        raise _as_option(fault) from None
    return Told(plain(found), lambda paper: _show_blank(found, alloy, paper))


def _as_option(fault: BadInput) -> BadInput:
    """A size's fault under the name of the option that gives it."""
    options = {
        size: f"--{option.replace('_', '-')}" for option, size in _SIZES.items() if option != "size"
    }
    key = fault.field.rpartition(".")[2]
    field = options.get(key, "SIZE" if key == "size" else fault.field)
    value = "missing" if fault.value is None else fault.value
    return BadInput(field, value, fault.allowed, fault.do.replace(key, field), fault.others)


def _show_blank(found: BlankReport, alloy: str, paper: Paper) -> None:
    rows = []
    if found.inside_circumference_mm is not None:
        rows.append(("inside circumference", f"{found.inside_circumference_mm:.2f} mm"))
    if found.inside_diameter_mm is not None:
        rows.append(("inside diameter", f"{found.inside_diameter_mm:.2f} mm"))
    rows += [
        ("blank, length", f"{found.blank_length_mm:.1f} mm"),
        ("blank, width", f"{found.blank_width_mm:.1f} mm"),
        *((f"of it for {why}", f"{mm:.2f} mm") for why, mm in found.allowance_mm.items()),
        (f"mass in {alloy}", f"{found.mass_g:.2f} g"),
    ]
    if found.count > 1:
        rows.append(("blanks", str(found.count)))
    paper.facts(rows)
    paper.sayings("Notes", found.notes)


def _one_of(field: str, value: str, allowed: tuple[str, ...]) -> None:
    if value not in allowed:
        raise BadInput(field, value, ", ".join(allowed), "Say what kind of piece it is.")
