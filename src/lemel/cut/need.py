"""Backwards: which blanks the orders ask for, and the least stock that gives them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

from lemel.cut.faces import CutNeed
from lemel.cut.packing import pack
from lemel.cut.parts import Part
from lemel.cut.wants import Cutout, allowance, cutouts, line_of
from lemel.errors import BadInput, gather
from lemel.metal import density_g_cm3
from lemel.tables import Tables, shipped
from lemel.values import (
    Blank,
    Composition,
    Objection,
    OrderLine,
    Outline,
    Quantity,
    Saw,
    Saying,
    Section,
    StockNeed,
    Watch,
    quiet,
    stretch,
)

__all__ = ["blank_mass_g", "kerf_of", "need", "outline_area_mm2", "part_of", "shape_volume_mm3"]


#: So many of the quickly found widths are looked at more closely.
_CLOSER = 2
#: Layouts of outlines tried for each width at first.
_FEW_TRIES = 3


@dataclass(frozen=True, slots=True)
class _Bench:
    kerf: float
    straight: bool
    widest: float
    facts: Tables
    watch: Watch


@dataclass(frozen=True, slots=True)
class _Wanted:
    line: OrderLine
    cutout: Cutout


def kerf_of(saw: Saw | None, tables: Tables) -> float:
    """What the saw eats, mm; without one, a piercing saw's."""
    return saw.kerf_mm if saw is not None else allowance(tables, "kerf_mm")


def need(
    lines: Sequence[OrderLine],
    body_by_standard: Mapping[str, Composition],
    saw: Saw | None = None,
    *,
    across_most_mm: float | None = None,
    tables: Tables | None = None,
    watch: Watch = quiet,
) -> CutNeed:
    """The blanks of these lines and the stock to cut them from.

    Wire is asked for by length, flat blanks up to `strip_most_mm` wide as strip of their
    width, wider ones and discs and outlines as one sheet whose size a quick layout finds,
    grain along the rolling. Blanks share one stock where section, owner, standard and
    temper agree (and the only lots, colour and origin claim that a line may insist on);
    strip of a thickness that is wanted as sheet too is cut from that sheet. Length and
    area include the saw's kerf and the ends and edges that are cut away, so that the mill
    has only its own crops to add.

    Args:
        lines: order lines; sizes are checked here and refused by name.
        body_by_standard: the metal of each standard, for the masses.
        saw: what parts the blanks (None: a piercing saw).
        across_most_mm: widest sheet to ask for, unless a piece is wider.

    Raises BadInput for sizes that are missing, unknown or impossible (all faults at once).
    """
    facts = tables or shipped()
    kerf = kerf_of(saw, facts)
    read = gather(partial(cutouts, line, kerf, facts) for line in lines)
    wanted = [_Wanted(line, c) for line, made in zip(lines, read, strict=True) for c in made]
    straight = saw is not None and saw.straight_only
    bench = _Bench(
        kerf, straight, across_most_mm or allowance(facts, "across_most_mm"), facts, watch
    )
    stock: list[StockNeed] = []
    explain: list[Saying] = []
    groups = _groups(wanted)
    for number, group in enumerate(groups):
        part = stretch(watch, number / len(groups), (number + 1) / len(groups))
        here = replace(bench, watch=part)
        asked, said = _stock_need(group, _body(group[0].line, body_by_standard), here)
        stock.append(asked)
        explain.append(said)
    explain += [note for want in wanted for note in want.cutout.notes]
    return CutNeed(
        blanks=tuple(_blank(want, _body(want.line, body_by_standard)) for want in wanted),
        stock=tuple(stock),
        objections=tuple(
            objection
            for line, made in zip(lines, read, strict=True)
            for objection in _asides(line, made, facts)
        ),
        explain=_once(explain),
    )


def outline_area_mm2(outline: Outline) -> float:
    """Area inside an outline."""
    return part_of("area", outline, "any").area_mm2


def shape_volume_mm3(outline: Outline, section: Section) -> float:
    """Volume of a blank: flat stock by its outline, wire by its section and length."""
    if section.kind == "flat":
        return outline_area_mm2(outline) * section.dim("thickness")
    return section.area_mm2 * outline.length_mm


def blank_mass_g(outline: Outline, section: Section, body: Composition) -> float:
    """Mass of a blank of this metal, g."""
    return shape_volume_mm3(outline, section) * density_g_cm3(body) / 1000


def part_of(key: str, outline: Outline, grain: str) -> Part:
    """A blank as the layout sees it, with the turns that its grain leaves it."""
    if outline.kind == "disc":
        return Part(key, "disc", outline.length_mm, outline.width_mm, (0,))
    kind = "path" if outline.kind == "path" else "rect"
    turns = {"along": (0, 180), "across": (90, 270), "any": (0, 90, 180, 270)}[grain]
    if kind == "rect":
        turns = turns[: len(turns) // 2]
    return Part(key, kind, outline.length_mm, outline.width_mm, turns, outline.points_mm)


def _body(line: OrderLine, bodies: Mapping[str, Composition]) -> Composition:
    if line.standard not in bodies:
        raise BadInput(
            f"orders.{line.id}.standard", line.standard, ", ".join(sorted(bodies)) or "none given",
            "Give the metal of this standard.",
        )  # fmt: skip
    return bodies[line.standard]


def _blank(want: _Wanted, body: Composition) -> Blank:
    made = want.cutout
    return Blank(
        made.piece, made.outline, made.section,
        blank_mass_g(made.outline, made.section, body), made.allowance_mm, made.grain, made.pieces,
    )  # fmt: skip


def _groups(wanted: Iterable[_Wanted]) -> list[list[_Wanted]]:
    """Blanks that share one stock, in the order in which they are first named."""
    wanted = list(wanted)
    sheets = {
        (_kinship(want), want.cutout.section.dim("thickness"))
        for want in wanted
        if want.cutout.stock == "sheet"
    }
    groups: dict[tuple[object, ...], list[_Wanted]] = {}
    for want in wanted:
        section = want.cutout.section
        if section.kind == "flat":
            thickness = section.dim("thickness")
            sheet = want.cutout.stock == "sheet" or (_kinship(want), thickness) in sheets
            shape: tuple[object, ...] = (
                ("sheet", thickness) if sheet else ("strip", thickness, section.dim("width"))
            )
        else:
            shape = ("wire", section)
        groups.setdefault((*_kinship(want), *shape), []).append(want)
    return list(groups.values())


def _kinship(want: _Wanted) -> tuple[object, ...]:
    line = want.line
    return (line.owner, line.standard, line.temper, line.use_lots, line.claim, line.colour)


def _stock_need(group: list[_Wanted], body: Composition, bench: _Bench) -> tuple[StockNeed, Saying]:
    first = group[0].cutout
    sheet = first.section.kind == "flat" and any(
        want.cutout.stock == "sheet" or want.cutout.section != first.section for want in group
    )
    return _sheet_need(group, body, bench) if sheet else _rod_need(group, body, bench)


def _rod_need(group: list[_Wanted], body: Composition, bench: _Bench) -> tuple[StockNeed, Saying]:
    """Wire or strip by length."""
    section = group[0].cutout.section
    lengths = [want.cutout.outline.length_mm for want in group]
    ends = _ends_mm(section, bench.facts)
    total = _tenth(sum(lengths) + bench.kerf * (len(lengths) - 1) + ends)
    gross = section.area_mm2 * total * density_g_cm3(body) / 1000
    made = _asked(group, body, section, gross)
    made = replace(made, length_mm=total, least_mm=max(lengths))
    return made, Saying(
        "cut.need.strip" if section.kind == "flat" else "cut.need.wire",
        {
            "lines": ", ".join(made.pieces),
            "length": Quantity(total, "mm"),
            "ends": Quantity(ends, "mm"),
            "mass": Quantity(gross, "g"),
        },
    )


def _sheet_need(group: list[_Wanted], body: Composition, bench: _Bench) -> tuple[StockNeed, Saying]:
    """Sheet by along and across."""
    along, across = _sheet_size(group, bench)
    thickness = group[0].cutout.section.dim("thickness")
    gross = along * across * thickness * density_g_cm3(body) / 1000
    made = _asked(group, body, Section.flat(thickness, across), gross)
    shapes = [want.cutout.outline for want in group]
    disc = shapes[0].length_mm if len(group) == 1 and shapes[0].kind == "disc" else None
    made = replace(made, area_mm=(along, across), disc_mm=disc)
    return made, Saying(
        "cut.need.sheet",
        {
            "lines": ", ".join(made.pieces),
            "along": Quantity(along, "mm"),
            "across": Quantity(across, "mm"),
            "mass": Quantity(gross, "g"),
            "share": Quantity(100 * (made.net_g or 0.0) / gross, "percent"),
        },
    )


def _asked(group: list[_Wanted], body: Composition, section: Section, gross_g: float) -> StockNeed:
    line = group[0].line
    return StockNeed(
        id=f"stock-{line.id}",
        section=section,
        owner=line.owner,
        standard=line.standard,
        pieces=tuple(dict.fromkeys(want.line.id for want in group)),
        temper=line.temper,
        net_g=sum(blank_mass_g(w.cutout.outline, w.cutout.section, body) for w in group),
        gross_g=gross_g,
    )


def _ends_mm(section: Section, facts: Tables) -> float:
    """What is cut away at the ends: squared ends of strip, the pointed end of drawn wire."""
    crop = allowance(facts, "end_crop_mm")
    return 2 * crop if section.kind == "flat" else crop + allowance(facts, "wire_end_mm")


def _sheet_size(group: list[_Wanted], bench: _Bench) -> tuple[float, float]:
    """(along, across) of the least sheet that a quick layout finds, edges included."""
    edge = allowance(bench.facts, "sheet_edge_mm")
    narrow = allowance(bench.facts, "narrow_worth_per_mm")
    kerf = bench.kerf
    parts = [part_of(want.cutout.piece, want.cutout.outline, want.cutout.grain) for want in group]
    least = max(min(across for _, across, _ in part.boxes()) for part in parts)
    widths = _widths(parts, kerf, least, max(least, bench.widest - 2 * edge))

    # Outlines take hundreds of times as long to lay as boxes.
    slow = any(part.kind == "path" for part in parts)
    few, closer = (_FEW_TRIES, 1) if slow else (_quick(len(parts)), _CLOSER)

    def sheet(inside: float, rounds: int | None, at: float) -> tuple[float, float, float]:
        each = 1 / (len(widths) + closer)
        found = pack(
            parts,
            math.inf,
            inside,
            kerf_mm=kerf,
            guillotine=bench.straight,
            rounds=rounds,
            watch=stretch(bench.watch, at * each, (at + 1) * each),
        )
        along, across = found.used_mm + 2 * edge, inside + 2 * edge
        # Wide sheet takes far more passes than its area says.
        return (round(along * across * (1 + narrow * across), 3), across, along)

    quick = sorted(sheet(inside, few, at) for at, inside in enumerate(widths))
    # The size is kept to a tenth of a millimetre, upwards: nobody rolls closer.
    found = [
        sheet(across - 2 * edge, None, len(quick) + at)
        for at, (_, across, _) in enumerate(quick[:closer])
    ]
    best = min([quick[0], *found])
    return _tenth(best[2]), _tenth(best[1])


def _tenth(size_mm: float) -> float:
    return math.ceil(size_mm * 10 - 1e-6) / 10


def _quick(count: int) -> int:
    return max(4, min(40, 1_000 // count))


def _widths(parts: Sequence[Part], kerf: float, least: float, most: float) -> list[float]:
    """Inside widths worth trying: whole numbers of parts beside each other."""
    sides = {across for part in parts for _, across, _ in part.boxes()}
    tries = {least, most}
    for side in sides:
        for count in range(1, 9):
            width = count * side + (count - 1) * kerf
            if least - 1e-9 <= width <= most + 1e-9:
                tries.add(width)
    if all(part.kind == "disc" for part in parts):
        for side in sides:
            rise = (side + kerf) * math.sqrt(3) / 2
            tries |= {
                side + rise * rows for rows in range(1, 9) if least <= side + rise * rows <= most
            }
    return sorted(tries)[:24]


def _asides(line: OrderLine, made: Sequence[Cutout], facts: Tables) -> list[Objection]:
    """What the bench should be asked before cutting."""
    said = []
    width = made[0].outline.width_mm
    feels = [row for row in facts.rows("cut_wide_feel") if width >= row.number("from_mm")]
    if line.what == "ring" and feels:
        sizes = feels[0].number("us_sizes")
        said.append(
            Objection(
                "cut.ring.wide_feels_small", line.id, "note",
                {"width": Quantity(width, "mm"), "sizes": sizes},
            )
        )  # fmt: skip
    coil = [cut for cut in made if line_of(cut.piece) == line.id and cut.pieces > 1]
    if coil and line.what in ("jump_ring", "chain"):
        ratio = float(line.sizes["inside_diameter_mm"]) / float(line.sizes["wire_diameter_mm"])
        if ratio < allowance(facts, "tight_ratio"):
            said.append(Objection("cut.jump_ring.tight", line.id, "note", {"ratio": ratio}))
    return said


def _once(said: Iterable[Saying]) -> tuple[Saying, ...]:
    """Each saying once, in order."""
    kept: list[Saying] = []
    for one in said:
        if one not in kept:
            kept.append(one)
    return tuple(kept)
