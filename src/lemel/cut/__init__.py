"""Pieces to blanks to stock, and blanks marked out on bars.

Comes in: order lines (`need`), or blanks with bars (`do`). Goes out: `CutNeed` with blanks
and `StockNeed`s; `Layout` with placements, remnants, masses that close and drawings at full
size. May ask: metal for density, solve for exact cutting, tables, values.
"""

from lemel.cut.bend import (
    around_oval_mm,
    bent_length_mm,
    bent_oval_length_mm,
    chain_links,
    dome_blank_mm,
    dome_height_mm,
    jump_ring_wire_mm,
)
from lemel.cut.bounds import equal_discs_length_mm, shortest_length_mm
from lemel.cut.faces import (
    BlankReport,
    CutNeed,
    CutProblem,
    Layout,
    Placement,
    Rest,
    SheetLayout,
    SizeReport,
)
from lemel.cut.layout import do
from lemel.cut.need import blank_mass_g, need, outline_area_mm2
from lemel.cut.outlines import outline_of_dxf, outline_of_path, outline_of_points
from lemel.cut.packing import pack
from lemel.cut.parts import Packing, Part, Spot
from lemel.cut.report import blank_report, size_report
from lemel.cut.rods import Length, Rod, RodPlan, cut_rods
from lemel.cut.sizes import RingSize, ring_mark, ring_size, ring_size_of_diameter, ring_sizes
from lemel.cut.svg_file import outline_of_svg
from lemel.cut.wants import line_of

__all__ = [
    "BlankReport", "CutNeed", "CutProblem", "Layout", "Length", "Packing", "Part", "Placement",
    "Rest", "RingSize", "Rod", "RodPlan", "SheetLayout", "SizeReport", "Spot", "around_oval_mm",
    "bent_length_mm", "bent_oval_length_mm", "blank_mass_g", "blank_report", "chain_links",
    "cut_rods", "do", "dome_blank_mm", "dome_height_mm", "equal_discs_length_mm",
    "jump_ring_wire_mm", "line_of", "need", "outline_area_mm2", "outline_of_dxf",
    "outline_of_path", "outline_of_points", "outline_of_svg", "pack", "ring_mark", "ring_size",
    "ring_size_of_diameter", "ring_sizes", "shortest_length_mm", "size_report",
]  # fmt: skip
