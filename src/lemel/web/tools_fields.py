"""What is asked of each kind of tool, and how its fields become a value and back."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django.http import HttpRequest

from lemel.errors import BadInput
from lemel.tables import shipped
from lemel.values import MOULD_KINDS, SECTION_DIMS, Section
from lemel.web import given

__all__ = ["KINDS", "Asked", "fields_of", "read", "shown"]

#: What each kind of tool is called, one and many.
KINDS = {
    "furnace": ("furnace", "Furnaces"), "torch": ("torch", "Torches"),
    "crucible": ("pot or dish", "Pots and dishes"), "mould": ("mould", "Moulds"),
    "mill": ("mill", "Mills"), "grooves": ("set of grooves", "Grooves"),
    "drawplate": ("drawplate", "Drawplates"), "drawbench": ("draw bench", "Draw benches"),
    "saw": ("saw", "Saws and shears"), "balance": ("balance", "Balances"),
    "instrument": ("instrument", "Ways to test"), "stick": ("stick", "Sticks"),
}  # fmt: skip
_MATERIALS = ("graphite", "clay_graphite", "ceramic", "clay_dish")
_SECTION_HELP = "flat 40 x 5 (width x thickness), square 6, round 8, half_round 6 x 3; in mm."
#: The order in which a section's sizes are said.
_SAID = ("width", "thickness", "height", "side", "diameter")
_NUMBER = re.compile(r"\d+(?:[.,]\d+)?")
_LINES = ("sections", "measured")


@dataclass(frozen=True, slots=True)
class Asked:
    """One field: its name in the value, label, unit, how it is read, and whether it may be left.

    `how`: number, whole, money, text, choice, day, yes, section, sections, numbers, words,
    measured.
    """

    name: str
    label: str
    how: str = "number"
    unit: str = ""
    need: bool = True
    help: str = ""
    choices: tuple[tuple[str, str], ...] = ()

    @property
    def rows(self) -> int:
        """Lines of the field where it holds several."""
        return 4 if self.how in _LINES else 0


def _mm(*pairs: tuple[str, str]) -> tuple[Asked, ...]:
    return tuple(Asked(name, label, unit="mm") for name, label in pairs)


_FIELDS: Mapping[str, tuple[Asked, ...]] = {
    "furnace": (
        Asked("power_w", "Electric power", unit="W", help="Measure it; the plate says too much."),
        Asked("top_c", "Hottest it may be", unit="°C", help="As the maker's manual says."),
    ),
    "torch": (
        Asked("flame_w", "Flame", unit="W"),
        Asked("dish_g", "Mass of the dish", unit="g"),
        Asked("most_g", "Most metal it melts well", unit="g"),
        Asked("gas", "Gas", "choice"),
        Asked("families", "Alloy families", "words", need=False, help="silver, yellow, white"),
    ),
    "crucible": (
        Asked("family", "Alloy family it belongs to", "text", help="silver, yellow, white"),
        Asked("material", "Made of", "choice",
              choices=tuple((one, one.replace("_", " ")) for one in _MATERIALS)),
        Asked("volume_cm3", "Holds, to the brim", unit="cm³"),
        Asked("mass_g", "Mass, empty", unit="g"),
        Asked("melts_done", "Melts done until now", "whole"),
        Asked("melts_most", "Melts it may do in all", "whole"),
        Asked("least_fill", "Least share of it that is filled", help="0.15 unless you know."),
    ),
    "mould": (
        Asked("kind", "Kind", "choice", choices=tuple((one, one) for one in MOULD_KINDS)),
        Asked("cavity", "Cavity", "section", help=_SECTION_HELP),
        *_mm(("length_mm", "Length of the cavity")),
        Asked("mass_g", "Mass", unit="g"),
        Asked("channels", "Equal cavities", "whole"),
        Asked("coating", "Coating", "text", help="oil, soot, graphite"),
    ),
    "mill": (
        *_mm(("roll_r_mm", "Radius of the rolls"), ("barrel_mm", "Length of the rolls"),
             ("opening_mm", "Widest gap"), ("least_mm", "Thinnest it rolls"),
             ("lead_mm", "Travel of the screw in a turn"), ("gap_step_mm", "Finest setting")),
        Asked("torque_nm", "Most torque at the rolls", unit="N m"),
        Asked("frame_n", "Most force of the frame", unit="N"),
        Asked("modulus_n_mm", "Stiffness of the frame", unit="N/mm",
              help="lemel mill learns it from measured passes."),
        Asked("comfort", "Share of the torque used gladly", help="0.6 unless you know."),
    ),
    "grooves": (
        Asked("mill", "On the mill", "choice"),
        Asked("sizes_mm", "Sides of the closed squares", "numbers", unit="mm",
              help="6 5 4.2 3.5"),
    ),
    "drawplate": (
        Asked("holes", "Holes, one a line, the largest first", "sections", help=_SECTION_HELP),
        Asked("measured_mm", "Worn holes as measured, one a line", "measured", need=False,
              help="3 = 1.95 says that the third hole draws 1.95 mm now."),
    ),
    "drawbench": (Asked("pull_n", "Most pull", unit="N"), *_mm(("stroke_mm", "Stroke"))),
    "saw": (
        *_mm(("kerf_mm", "What it eats"), ("longest_mm", "Longest cut")),
        Asked("straight_only", "It cuts straight only", "yes"),
    ),
    "balance": (
        Asked("step_g", "Step", unit="g"),
        Asked("sd_g", "Give or take of a weighing, one sd", unit="g",
              help="Weigh one thing ten times; how far the readings scatter."),
        Asked("most_g", "Carries at most", unit="g"),
        Asked("calibrated_on", "Last checked against a weight", "day", need=False),
    ),
    "instrument": (
        Asked("method", "Evidence it gives", "choice"),
        Asked("minutes_to_answer", "Until it answers", unit="min"),
        Asked("fee", "Fee of a test", "money"),
        Asked("own", "It stands in this shop", "yes"),
    ),
    "stick": (Asked("note", "What it is for", "text"),),
}  # fmt: skip


def fields_of(kind: str, mills: tuple[str, ...] = ()) -> tuple[Asked, ...]:
    """What is asked of a kind, with the choices that hang on the shop and its tables."""
    if kind not in _FIELDS:
        raise BadInput("kind", kind, ", ".join(_FIELDS), "Choose a kind.")
    choices = {
        "gas": [(one.key, one.key) for one in shipped().rows("melt_gas")],
        "method": [(one.key, one.key.replace("-", " ")) for one in shipped().rows("scrap_methods")],
        "mill": [(one, one) for one in mills],
    }
    return tuple(
        Asked(one.name, one.label, one.how, one.unit, one.need, one.help, tuple(choices[one.name]))
        if one.name in choices and one.how == "choice"
        else one
        for one in _FIELDS[kind]
    )


def read(request: HttpRequest, asked: Asked) -> Any:
    """One field as its value wants it; BadInput at the field."""
    if asked.how == "yes":
        return bool(given.text(request, asked.name, need=False))
    if asked.how in ("text", "choice", "day"):
        return _word(request, asked)
    if asked.how in ("number", "whole", "money"):
        value = given.number(request, asked.name, asked.unit)
        if asked.how == "whole" and value != int(value):
            raise BadInput(asked.name, value, "a whole number", "Count again.")
        if asked.how == "money":
            return Decimal(str(value))
        return int(value) if asked.how == "whole" else value
    text = given.text(request, asked.name, need=asked.need, longest=1500)
    return _many(asked, text)


def _word(request: HttpRequest, asked: Asked) -> Any:
    if asked.how == "choice":
        return given.choice(request, asked.name, dict(asked.choices))
    if asked.how == "day":
        said = given.text(request, asked.name, need=asked.need, longest=20)
        return given.day(request, asked.name) if said else None
    return given.text(request, asked.name, need=asked.need)


def _many(asked: Asked, text: str) -> Any:
    if asked.how == "section":
        return _section(asked.name, text)
    if asked.how == "sections":
        return tuple(_section(asked.name, one) for one in text.splitlines() if one.strip())
    if asked.how == "words":
        return tuple(one.strip() for one in text.split(",") if one.strip())
    if asked.how == "numbers":
        return tuple(_number(asked.name, one) for one in text.replace(";", " ").split())
    worn = {}
    for line in text.splitlines():
        hole, mark, size = line.partition("=")
        if mark and hole.strip().isdigit():
            worn[hole.strip()] = _number(asked.name, size.strip())
        elif line.strip():
            raise BadInput(asked.name, line[:40], "a line such as 3 = 1.95", "Write it so.")
    return worn


def _number(field: str, text: str) -> float:
    if not _NUMBER.fullmatch(text):
        raise BadInput(field, text[:20], "a number above 0", "Write it with a point.")
    return float(text.replace(",", "."))


def _section(field: str, text: str) -> Section:
    kind, _, sizes = text.strip().partition(" ")
    numbers = [_number(field, one) for one in re.split(r"[x×*\s]+", sizes.strip()) if one]
    if kind not in SECTION_DIMS:
        raise BadInput(field, text[:40], ", ".join(SECTION_DIMS), f"Write it as {_SECTION_HELP}")
    names = [one for one in _SAID if one in SECTION_DIMS[kind]]
    if len(numbers) != len(names):
        raise BadInput(field, text[:40], f"{kind} {' x '.join(names)}", "Write its sizes in mm.")
    return Section(kind, tuple(sorted(zip(names, numbers, strict=True))))


def shown(asked: Asked, value: Any) -> str:
    """A field's value as it stands in its form."""
    if value is None or value == "":
        return ""
    if isinstance(value, Section):
        return _say(value)
    if isinstance(value, Mapping):
        return "\n".join(f"{hole} = {size:g}" for hole, size in value.items())
    if asked.how == "sections":
        return "\n".join(_say(one) for one in value)
    if asked.how == "words":
        return ", ".join(value)
    if asked.how == "numbers":
        return " ".join(f"{one:g}" for one in value)
    if isinstance(value, date):
        return value.isoformat()
    return f"{value:g}" if isinstance(value, float) else str(value)


def _say(section: Section) -> str:
    dims = dict(section.dims_mm)
    return f"{section.kind} " + " x ".join(f"{dims[one]:g}" for one in _SAID if one in dims)
