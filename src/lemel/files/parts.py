"""Readers of the small things that many files share: compositions, sections, tempers, figures."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from lemel.errors import BadInput
from lemel.files.keys import Key, table
from lemel.files.leaf import limited, name, one_word, percent, read_number, text, yes_no
from lemel.files.place import Place, gathered
from lemel.values import (
    ELEMENTS,
    KNOWN,
    ORIGINS,
    REST,
    UNITS,
    Composition,
    Figure,
    Origin,
    Section,
    Temper,
)

__all__ = [
    "composition", "figure", "flags", "origin", "read_parts", "read_section", "section_text",
    "shares", "stated", "temper",
]  # fmt: skip

_PAIR = re.compile(r"^\s*([A-Za-z]+)\s*[= ]\s*([0-9.eE+-]+)\s*$")
_SIZE = r"([0-9]*\.?[0-9]+)"
_SECTION = re.compile(rf"^\s*([a-z_]+)\s+{_SIZE}(?:\s*x\s*{_SIZE})?\s*mm\s*$")
#: How each section is written: the dimensions in the order of the text.
_ORDER = {
    "flat": ("thickness", "width"),
    "square": ("side",),
    "round": ("diameter",),
    "half_round": ("width", "height"),
    "oval": ("width", "height"),
}
_ANSWERS = ("yes", "no", "unknown")
_SECTION_WORDS = (
    "'flat 1.6 x 5 mm', 'square 6 mm', 'round 1 mm', 'half_round 4 x 2.2 mm' or 'oval 4 x 3 mm'"
)


def composition(data: Any, place: Place) -> Composition:
    """Millesimal parts that sum to 1000: `{ Ag = 925, Cu = 75 }`, or `Ag=925 Cu=75` as text.

    `balance = "Cu"` gives what is missing to copper; `rest = true` leaves it undeclared.
    """
    parts, balance, rest = _parts(data, place)
    try:
        return Composition.from_millesimal(parts, balance=balance, rest=rest)
    except BadInput as fault:
        raise place.fault(fault.value, fault.allowed, fault.do) from None


def read_parts(written: str, place: Place, extra: Mapping[str, Any]) -> Composition:
    """A composition from words such as Ag=925 Cu=75, with `balance` or `rest` beside them."""
    return composition({**_split_parts(written, place), **extra}, place)


def stated(data: Any, place: Place) -> Composition:
    """What a stamp or an owner says: the missing share stays undeclared. `Ag=925` is enough."""
    parts, balance, _ = _parts(data, place)
    try:
        return Composition.from_millesimal(parts, balance=balance, rest=True)
    except BadInput as fault:
        raise place.fault(fault.value, fault.allowed, fault.do) from None


def shares(data: Any, place: Place) -> dict[str, float]:
    """Some elements' millesimal parts as mass fractions; they need not sum to anything."""
    parts, _, _ = _parts(data, place)
    return {element: value / 1000 for element, value in parts.items()}


def _parts(data: Any, place: Place) -> tuple[dict[str, float], str | None, bool]:
    if isinstance(data, str):
        data = _split_parts(data, place)
    if not isinstance(data, Mapping):
        raise place.fault(data, "parts such as { Ag = 925, Cu = 75 }", "Name each element.")
    parts: dict[str, float] = {}
    balance, rest = None, False
    faults = []
    for key, value in data.items():
        here = place.at(str(key))
        try:
            if key == "balance":
                balance = one_word(ELEMENTS)(value, here)
            elif key == REST:
                rest = yes_no(value, here)
            elif key not in ELEMENTS:
                raise here.fault(
                    "an unknown element", "a chemical symbol such as Ag, Au, Cu, Zn, Pd",
                    "Write the element's symbol with its capital letter.",
                )  # fmt: skip
            else:
                parts[key] = limited(0, 1000)(value, here)
        except BadInput as fault:
            faults.append(fault)
    if faults:
        raise gathered(faults)
    return parts, balance, rest


def _split_parts(written: str, place: Place) -> dict[str, float]:
    parts: dict[str, float] = {}
    for piece in written.replace(",", " ").split():
        pair = _PAIR.match(piece)
        if pair is None or pair[1] in parts:
            raise place.fault(written, "parts such as Ag=925 Cu=75", "Name each element once.")
        try:
            parts[pair[1]] = float(pair[2])
        except ValueError:
            raise place.fault(piece, "a number after the =", "Write Ag=925.") from None
    return parts


def read_section(data: Any, place: Place) -> Section:
    """A cross-section as one writes it: 'flat 1.6 x 5 mm', 'round 1 mm'."""
    written = text(data, place)
    match = _SECTION.match(written)
    if match is None or match[1] not in _ORDER:
        raise place.fault(written, _SECTION_WORDS, "Write the kind, the size and mm.")
    sizes = [float(size) for size in match.groups()[1:] if size is not None]
    names = _ORDER[match[1]]
    if len(sizes) != len(names):
        raise place.fault(written, _SECTION_WORDS, f"Give {' x '.join(names)} in mm.")
    try:
        return Section.of(match[1], dict(zip(names, sizes, strict=True)))
    except BadInput as fault:
        raise place.placed(fault) from None


def section_text(cross: Section) -> str:
    """A section as it stands in a file; the inverse of `read_section`."""
    return f"{cross.kind} {' x '.join(f'{cross.dim(n):g}' for n in _ORDER[cross.kind])} mm"


def temper(data: Any, place: Place) -> Temper:
    """'soft', '90 to 110 HV', or '0.20 to 0.33 strain'."""
    written = text(data, place)
    if written == "soft":
        return Temper("soft")
    match = re.match(rf"^{_SIZE}\s*to\s*{_SIZE}\s*(HV|strain)$", written)
    if match is None:
        raise place.fault(
            written, "'soft', '90 to 110 HV' or '0.20 to 0.33 strain'", "Give the window."
        )
    try:
        return Temper(match[3].lower(), float(match[1]), float(match[2]))
    except BadInput as fault:
        raise place.placed(fault) from None


def origin(data: Any, place: Place) -> Origin:
    """A class of origin by name, or percent by class."""
    if isinstance(data, str):
        return Origin(((one_word(ORIGINS)(data, place), 1.0),))
    if not isinstance(data, Mapping):
        raise place.fault(data, ", ".join(ORIGINS), "Name the class, or percent by class.")
    found: dict[str, float] = {}
    for key, value in data.items():
        one_word(ORIGINS)(str(key), place.at(str(key)))
        found[str(key)] = percent(value, place.at(str(key)))
    if abs(sum(found.values()) - 1) > 1e-6:
        raise place.fault(f"sum {sum(found.values()) * 100:g}", "percent that sum to 100", "Mend.")
    return Origin.of(found)


def flags(data: Any, place: Place) -> dict[str, str]:
    """Answers to the gate questions: `no: magnet steel; unknown: stones`, or a table of them."""
    if isinstance(data, str):
        return _grouped_flags(data, place)
    if not isinstance(data, Mapping):
        raise place.fault(data, "answers such as { magnet = 'no' }", "Answer each by its code.")
    return {
        str(code): one_word(_ANSWERS)(answer, place.at(str(code))) for code, answer in data.items()
    }


def _grouped_flags(written: str, place: Place) -> dict[str, str]:
    found: dict[str, str] = {}
    for group in filter(None, (part.strip() for part in written.split(";"))):
        answer, colon, codes = (part.strip() for part in group.partition(":"))
        if not colon or answer not in _ANSWERS or not codes:
            raise place.fault(
                group, "answers such as 'no: magnet steel; unknown: stones'", "Mend the group."
            )
        for code in codes.split():
            if code in found:
                raise place.fault(code, "each question answered once", "Strike one out.")
            found[code] = answer
    return found


#: A measured or assumed figure with its unit and spread.
figure = table(
    Figure,
    Key("value", read_number, needed=True),
    Key("unit", one_word(UNITS), needed=True),
    Key("known", one_word(KNOWN)),
    Key("source", name),
    Key("sd", limited(0)),
)
