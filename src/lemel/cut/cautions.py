"""Dangers of parting metal, shown where the cut is made."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from lemel.cut.faces import CutProblem, SheetLayout
from lemel.cut.wants import allowance
from lemel.tables import Tables
from lemel.values import Bar, Blank, Caution, Quantity

__all__ = ["cautions_for"]


def cautions_for(
    problem: CutProblem,
    sheets: Iterable[SheetLayout],
    bars: Mapping[str, Bar],
    blanks: Mapping[str, Blank],
    tables: Tables,
) -> tuple[Caution, ...]:
    """Cautions for the tools and stock of this layout; the maker's manual comes first."""
    used = [bars[sheet.bar] for sheet in sheets]
    if not used:
        return ()
    cut = [blanks[spot.piece] for sheet in sheets for spot in sheet.placements]
    flat = [bar for bar in used if bar.section.kind == "flat"]
    wire = [bar for bar in used if bar.section.kind != "flat"]
    made = [Caution("cut.caution.eyes", "cut")]
    if problem.saw is not None and problem.saw.straight_only and flat:
        made.append(Caution("cut.caution.shears", "cut"))
        thickest = max(bar.section.dim("thickness") for bar in flat)
        most = allowance(tables, "shears_most_mm")
        if thickest > most:
            made.append(
                Caution(
                    "cut.caution.too_thick_for_shears", "cut",
                    values={"thickness": Quantity(thickest, "mm"), "most": Quantity(most, "mm")},
                )
            )  # fmt: skip
    elif flat:
        made.append(Caution("cut.caution.saw", "cut"))
    if flat:
        made.append(Caution("cut.caution.edges", "cut"))
    if wire:
        made.append(Caution("cut.caution.wire_ends", "cut"))
    if any(blank.count > 1 for blank in cut):
        made.append(Caution("cut.caution.coil", "cut"))
    if any(bar.soft_section is None for bar in used):
        made.append(Caution("cut.caution.not_soft", "cut"))
    made.append(Caution("cut.caution.keep_apart", "cut"))
    return tuple(made)
