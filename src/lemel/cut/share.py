"""One bar's metal shared out: blanks, remnant, kerf, and scrap as what is left."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from lemel.cut.faces import Placement, Rest, SheetLayout
from lemel.cut.need import outline_area_mm2
from lemel.cut.parts import EPS
from lemel.errors import Broken
from lemel.values import Bar, Blank, Section

__all__ = ["closed_sheet", "remnant_bar", "share_of", "uncut_end", "wire_layout"]


def share_of(bar: Bar, blank: Blank) -> float:
    """The share of a bar's volume, and so of its mass, that a blank takes."""
    if bar.section.kind == "flat":
        outline = blank.outline
        if outline.kind == "strip" and min(outline.length_mm, outline.width_mm) > (
            bar.section.width_mm
        ):
            # Strip rolled a hair narrower than the blank: the piece is as wide as the strip.
            return max(outline.length_mm, outline.width_mm) / bar.length_mm
        return outline_area_mm2(outline) / (bar.section.width_mm * bar.length_mm)
    return blank.outline.length_mm / bar.length_mm


def remnant_bar(
    bar: Bar, length_mm: float, width_mm: float | None, from_mm: float, number: int = 1
) -> Bar:
    """What stays of a bar in one piece: its metal, owner, promise, origin and stamp.

    `from_mm` is where along the old bar it begins; faults further on stay with it. `number`
    counts the pieces that are kept of one bar.
    """
    section = bar.section
    if width_mm is not None and width_mm < section.width_mm:
        section = Section.flat(section.dim("thickness"), width_mm)
    share = length_mm / bar.length_mm * (section.area_mm2 / bar.section.area_mm2)
    faults = tuple(
        fault if fault.place_mm is None else replace(fault, place_mm=fault.place_mm - from_mm)
        for fault in bar.faults
        if fault.place_mm is None or from_mm <= fault.place_mm <= from_mm + length_mm
    )
    name = f"{bar.id}-rest" if number == 1 else f"{bar.id}-rest{number}"
    return replace(
        bar, id=name, kind="offcut", section=section, length_mm=length_mm,
        mass_g=bar.mass_g * share, parents=(bar.id,), faults=faults,
    )  # fmt: skip


def uncut_end(sheet: SheetLayout) -> Rest | None:
    """The remnant that one cut across or along leaves: the far end or one side, stamp and all."""
    for rest in sheet.rests[:1]:
        long, wide = rest.bar.length_mm, rest.bar.section.width_mm
        if rest.stamped and (long >= sheet.length_mm - EPS or wide >= sheet.width_mm - EPS):
            return rest
    return None


def wire_layout(
    bar: Bar,
    blanks: Sequence[Blank],
    kerf_mm: float,
    span: tuple[float, float],
    least_mm: float,
    aside_mm: float = 0.0,
) -> SheetLayout:
    """Pieces one after the other from the start of the span; the far end, with the stamp, stays.

    `aside_mm` is kept from the side of flat stock where its width allows.
    """
    x, end = span
    spots = []
    dust = 0.0
    for blank in sorted(blanks, key=lambda b: (-b.outline.length_mm, b.piece)):
        spare = bar.section.width_mm - blank.outline.width_mm
        y = max(0.0, min(aside_mm, spare / 2)) if bar.section.kind == "flat" else 0.0
        spots.append(Placement(blank.piece, bar.id, x, y, False, blank.outline))
        x += blank.outline.length_mm
        cut = min(kerf_mm, max(0.0, bar.length_mm - x))
        dust += cut
        x += cut
    rest = bar.length_mm - x
    rests: tuple[Rest, ...] = ()
    if rest >= least_mm + (bar.length_mm - end):
        rests = (Rest(remnant_bar(bar, rest, None, x), x, 0.0, stamped=True),)
    by_piece = {blank.piece: blank for blank in blanks}
    return closed_sheet(bar, spots, by_piece, rests, dust / bar.length_mm)


def closed_sheet(
    bar: Bar,
    spots: Sequence[Placement],
    blanks: Mapping[str, Blank],
    rests: tuple[Rest, ...],
    kerf_share: float,
) -> SheetLayout:
    """The masses of one bar, with scrap as the balance so that they close."""
    pieces = bar.mass_g * sum(share_of(bar, blanks[spot.piece]) for spot in spots)
    kept = sum(one.bar.mass_g for one in rests)
    if pieces + kept > bar.mass_g * (1 + 1e-9):
        raise Broken(f"{bar.id}: {pieces + kept} g marked out of {bar.mass_g} g")
    dust = min(bar.mass_g * kerf_share, max(0.0, bar.mass_g - pieces - kept))
    scrap = max(0.0, bar.mass_g - pieces - kept - dust)
    remnant = rests[0].bar if rests else None
    return SheetLayout(
        bar.id, bar.length_mm, bar.section.width_mm, tuple(spots), remnant, scrap, dust, pieces,
        rests=rests,
    )  # fmt: skip
