"""What one order line asks for, read from its sizes and checked: sections and blanks."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from lemel.cut.bend import (
    bent_length_mm,
    bent_oval_length_mm,
    chain_links,
    dome_blank_mm,
    dome_height_mm,
    jump_ring_wire_mm,
)
from lemel.cut.outlines import outline_of_path
from lemel.cut.sizes import ring_size
from lemel.errors import BadInput, require
from lemel.tables import Tables
from lemel.values import OrderLine, Outline, Quantity, Saying, Section

__all__ = ["Cutout", "allowance", "cutouts", "line_of"]


@dataclass(frozen=True, slots=True)
class Cutout:
    """A blank before its metal is known: `stock` is wire, strip or sheet.

    `pieces` is how many finished pieces it yields (the rings of a coil).
    """

    piece: str
    outline: Outline
    section: Section
    stock: str
    allowance_mm: Mapping[str, float] = field(default_factory=dict)
    grain: str = "any"
    pieces: int = 1
    notes: tuple[Saying, ...] = ()


def line_of(piece: str) -> str:
    """The order line that a piece belongs to: "O1/3" is the third piece of line "O1"."""
    head, _, tail = piece.rpartition("/")
    return head if head and tail.isdigit() else piece


def allowance(tables: Tables, name: str) -> float:
    """One trade allowance of the table `cut_allowances`, in its own unit."""
    return tables.row("cut_allowances", name).number("value")


def cutouts(line: OrderLine, kerf_mm: float, tables: Tables) -> tuple[Cutout, ...]:
    """The blanks of an order line. Unknown or missing sizes raise BadInput by name."""
    sizes = _Sizes(line)
    read = _READERS.get(line.what)
    if read is None:
        raise BadInput("what", line.what, ", ".join(_READERS), "Order one of these.")
    made = read(line, sizes, kerf_mm, tables)
    sizes.refuse_unread()
    return tuple(made)


class _Sizes:
    """The sizes of a line, each asked for by name; what nobody asked for is refused."""

    def __init__(self, line: OrderLine) -> None:
        self._line = line
        self._known: list[str] = []

    def __contains__(self, name: str) -> bool:
        self._known.append(name)
        return name in self._line.sizes

    def text(self, name: str, otherwise: str | None = None) -> str:
        """Text by name."""
        if name not in self:
            if otherwise is None:
                self._missing(name, "a word")
            return otherwise or ""
        return str(self._line.sizes[name]).strip()

    def mm(self, name: str, otherwise: float | None = None, *, zero: bool = False) -> float:
        """A length above 0 (with `zero` also 0); with an `otherwise` it may be left out."""
        if name not in self:
            if otherwise is None:
                self._missing(name, "a length in mm")
            return float(otherwise or 0.0)
        given = self._line.sizes[name]
        try:
            value = float(given)
        except ValueError:
            value = math.nan
        floor = "0 or more" if zero else "above 0"
        good = math.isfinite(value) and (value > 0 or (zero and value == 0))
        require(good, self.field(name), given, f"a number {floor}", f"Correct {name}.")
        return value

    def word(self, name: str, allowed: tuple[str, ...], otherwise: str) -> str:
        """One of a few words; a hyphen or blank is read as an underscore."""
        word = self.text(name, otherwise).lower().replace("-", "_").replace(" ", "_")
        if word in ("d", "d_section", "d_shape"):
            word = "half_round"
        require(word in allowed, self.field(name), word, ", ".join(allowed), f"Correct {name}.")
        return word

    def field(self, name: str) -> str:
        """Where a size stands, for a fault."""
        return f"orders.{self._line.id}.sizes.{name}"

    def refuse_unread(self) -> None:
        """BadInput for the first size that the kind of piece has no use for."""
        for name, given in self._line.sizes.items():
            if name not in self._known:
                known = ", ".join(dict.fromkeys(self._known))
                raise BadInput(
                    self.field(name), given, known, f"A {self._line.what} has no {name}."
                )

    def _missing(self, name: str, what: str) -> None:
        raise BadInput(self.field(name), None, what, f"Give {name} of the {self._line.what}.")


def _pieces(line: OrderLine) -> list[str]:
    if line.count == 1:
        return [line.id]
    return [f"{line.id}/{n}" for n in range(1, line.count + 1)]


def _profile(sizes: _Sizes, tables: Tables) -> tuple[Section, float]:
    kinds = tuple(tables.table("cut_profiles"))
    row = tables.row("cut_profiles", sizes.word("profile", kinds, "flat"))
    thickness = sizes.mm("thickness_mm")
    kind = row.text("section")
    if kind in ("round", "square"):
        width = sizes.mm("width_mm", thickness)
        require(
            abs(width - thickness) < 1e-9, sizes.field("width_mm"), width, f"{thickness:g}",
            f"A {kind} profile is as wide as it is thick; leave width_mm out.",
        )  # fmt: skip
        dims = {"diameter" if kind == "round" else "side": thickness}
        return Section.of(kind, dims), row.number("neutral_share")
    width = sizes.mm("width_mm")
    if kind == "flat":
        return Section.flat(thickness, width), row.number("neutral_share")
    return Section.of(kind, {"height": thickness, "width": width}), row.number("neutral_share")


def _strip_or_wire(section: Section, band_width_mm: float, tables: Tables) -> str:
    if section.kind != "flat":
        return "wire"
    return "strip" if band_width_mm <= allowance(tables, "strip_most_mm") else "sheet"


def _bands(
    line: OrderLine,
    sizes: _Sizes,
    tables: Tables,
    lengths: Callable[[float, float], list[tuple[float, float, tuple[Saying, ...]]]],
) -> list[Cutout]:
    """Rings and bangles; `lengths` gives (inside diameter, bent length, notes) by t and k."""
    section, neutral = _profile(sizes, tables)
    neutral = sizes.mm("neutral_share", neutral)
    joint = sizes.mm("joint_mm", allowance(tables, "joint_mm"), zero=True)
    opening = sizes.mm("opening_mm", 0.0, zero=True)
    thickness = sizes.mm("thickness_mm")
    width = sizes.mm("width_mm", thickness)
    stock = _strip_or_wire(section, width, tables)
    made = []
    for piece, (inside, length, said) in zip(
        _pieces(line), lengths(thickness, neutral), strict=True
    ):
        added = {"joint": joint} if opening == 0 else {"opening": -opening}
        if width > allowance(tables, "wide_from_mm"):
            added["wide"] = allowance(tables, "wide_extra_mm")
        thick = thickness / inside > allowance(tables, "thick_share")
        notes = (*said, _thick_note(line, inside, thickness, tables)) if thick else said
        whole = length + sum(added.values())
        require(
            whole > 0, sizes.field("opening_mm"), opening, f"less than {length:.1f}",
            "Leave some metal between the ends.",
        )  # fmt: skip
        outline = Outline("strip", whole, width)
        made.append(Cutout(piece, outline, section, stock, added, "along", notes=notes))
    return made


def _thick_note(line: OrderLine, inside: float, thickness: float, tables: Tables) -> Saying:
    shorter = math.pi * 2 * thickness * (0.5 - allowance(tables, "neutral_share_thick"))
    return Saying(
        "cut.blank.thick",
        {
            "line": line.id,
            "share": Quantity(100 * thickness / inside, "percent"),
            "shorter": Quantity(shorter, "mm"),
        },
    )


def _ring(line: OrderLine, sizes: _Sizes, _kerf: float, tables: Tables) -> list[Cutout]:
    text = sizes.text("size")
    names = _each_size(line, text, sizes)
    rings = [ring_size(name, tables=tables) for name in names]

    def lengths(t: float, k: float) -> list[tuple[float, float, tuple[Saying, ...]]]:
        return [
            (r.inside_diameter_mm, bent_length_mm(r.inside_diameter_mm, t, k), r.notes)
            for r in rings
        ]

    return _bands(line, sizes, tables, lengths)


def _each_size(line: OrderLine, text: str, sizes: _Sizes) -> list[str]:
    """ "ISO 50, 52, 54" names three rings; the scale is said once."""
    names = [part.strip() for part in text.replace(";", ",").split(",") if part.strip()]
    scale = names[0].split()[0] if names and " " in names[0] else ""
    full = [n if i == 0 or (n[0].isalpha() and " " in n) else f"{scale} {n}"
            for i, n in enumerate(names)]  # fmt: skip
    if len(full) == 1:
        return full * line.count
    require(
        len(full) == line.count, sizes.field("size"), text, f"one size, or {line.count} of them",
        "Name a size for each ring, or one for all.",
    )  # fmt: skip
    return full


def _bangle(line: OrderLine, sizes: _Sizes, _kerf: float, tables: Tables) -> list[Cutout]:
    if "inside_long_mm" in sizes or "inside_short_mm" in sizes:
        long, short = sizes.mm("inside_long_mm"), sizes.mm("inside_short_mm")
        inside = min(long, short)
    else:
        inside = long = short = sizes.mm("inside_diameter_mm")

    def lengths(t: float, k: float) -> list[tuple[float, float, tuple[Saying, ...]]]:
        around = (
            bent_length_mm(inside, t, k)
            if long == short
            else bent_oval_length_mm(long, short, t, k)
        )
        return [(inside, around, ())] * line.count

    return _bands(line, sizes, tables, lengths)


def _disc(line: OrderLine, sizes: _Sizes, _kerf: float, _tables: Tables) -> list[Cutout]:
    across, thickness = sizes.mm("diameter_mm"), sizes.mm("thickness_mm")
    added = {}
    if "dome_height_mm" in sizes or "dome_radius_mm" in sizes:
        if "dome_height_mm" in sizes:
            height = sizes.mm("dome_height_mm")
        else:
            radius = sizes.mm("dome_radius_mm")
            require(
                radius >= across / 2, sizes.field("dome_radius_mm"), radius,
                f"at least half the mouth, {across / 2:g} mm", "Use a larger hollow of the block.",
            )  # fmt: skip
            height = dome_height_mm(across, radius)
        added["dome"] = dome_blank_mm(across, height) - across
    size = across + sum(added.values())
    section = Section.flat(thickness, max(size, thickness))
    return [
        Cutout(piece, Outline("disc", size, size), section, "sheet", added)
        for piece in _pieces(line)
    ]


def _coils(
    line: OrderLine, ring: tuple[float, float], rings: int, kerf: float, tables: Tables
) -> list[Cutout]:
    """Coils for so many rings of (inside diameter, wire)."""
    inside, wire = ring
    each = jump_ring_wire_mm(inside, wire) + kerf
    most = max(1, math.floor(allowance(tables, "coil_most_mm") / each))
    coils = math.ceil(rings / most)
    counts = [rings // coils + (1 if n < rings % coils else 0) for n in range(coils)]
    names = [line.id] if coils == 1 else [f"{line.id}/{n}" for n in range(1, coils + 1)]
    return [
        Cutout(
            name, Outline("strip", count * each, wire), Section.round(wire), "wire",
            {"saw": count * kerf}, "along", count,
        )
        for name, count in zip(names, counts, strict=True)
    ]  # fmt: skip


def _jump_ring(line: OrderLine, sizes: _Sizes, kerf: float, tables: Tables) -> list[Cutout]:
    inside, wire = sizes.mm("inside_diameter_mm"), sizes.mm("wire_diameter_mm")
    return _coils(line, (inside, wire), line.count, kerf, tables)


def _chain(line: OrderLine, sizes: _Sizes, kerf: float, tables: Tables) -> list[Cutout]:
    inside, wire = sizes.mm("inside_diameter_mm"), sizes.mm("wire_diameter_mm")
    require(
        inside >= 2 * wire, sizes.field("inside_diameter_mm"), inside, f"{2 * wire:g} or more",
        "Two wires must pass through a link.",
    )  # fmt: skip
    links = chain_links(sizes.mm("length_mm"), inside, wire) * line.count
    return _coils(line, (inside, wire), links, kerf, tables)


def _outline(line: OrderLine, sizes: _Sizes, _kerf: float, _tables: Tables) -> list[Cutout]:
    thickness = sizes.mm("thickness_mm")
    grain = sizes.word("grain", ("along", "across", "any"), "any")
    if "path_mm" in sizes:
        shape = outline_of_path(sizes.text("path_mm"), field=sizes.field("path_mm"))
        for name, measured in (("length_mm", shape.length_mm), ("width_mm", shape.width_mm)):
            given = sizes.mm(name, measured)
            require(
                abs(given - measured) < 0.05, sizes.field(name), given, f"{measured:.2f}",
                "Leave it out where a path is given, or scale the path.",
            )  # fmt: skip
    else:
        shape = Outline("strip", sizes.mm("length_mm"), sizes.mm("width_mm"))
    section = Section.flat(thickness, max(shape.width_mm, thickness))
    return [Cutout(piece, shape, section, "sheet", {}, grain) for piece in _pieces(line)]


def _stock(line: OrderLine, sizes: _Sizes, _kerf: float, tables: Tables) -> list[Cutout]:
    kinds = {
        "round": ("diameter",), "square": ("side",), "flat": ("thickness", "width"),
        "half_round": ("height", "width"), "oval": ("height", "width"),
    }  # fmt: skip
    kind = sizes.word("section", tuple(kinds), "")
    section = Section.of(kind, {name: sizes.mm(f"{name}_mm") for name in kinds[kind]})
    length = sizes.mm("length_mm")
    lengths = max(1, round(sizes.mm("in_lengths", 1.0)))
    stock = _strip_or_wire(section, section.width_mm, tables)
    wide = section.width_mm
    if lengths == 1:
        return [
            Cutout(p, Outline("strip", length, wide), section, stock, {}, "along")
            for p in _pieces(line)
        ]
    names = [f"{line.id}/{n}" for n in range(1, lengths * line.count + 1)]
    part = Outline("strip", length / lengths, wide)
    return [Cutout(name, part, section, stock, {}, "along") for name in names]


_READERS: dict[str, Callable[[OrderLine, _Sizes, float, Tables], list[Cutout]]] = {
    "ring": _ring, "bangle": _bangle, "disc": _disc, "jump_ring": _jump_ring,
    "chain": _chain, "outline": _outline, "stock": _stock,
}  # fmt: skip
