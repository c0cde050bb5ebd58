"""Plots and drawings, black on white, as SVG text with its size in mm and words for the blind.

Comes in: a plan or one room's answer in it, and the reader's units. Goes out: `Drawing`s, the
same for the same answer. May ask: every room below it; matplotlib is loaded only when a
curve is asked for.
"""

from lemel.sketch.alloy import alloy_section, liquid_fraction
from lemel.sketch.ancestry import Kinsman, Link, ancestry
from lemel.sketch.cold_work import cold_work
from lemel.sketch.drawing import Drawing
from lemel.sketch.full_size import FullSize, full_size
from lemel.sketch.hardness import hardness
from lemel.sketch.melt_curve import melt_curve
from lemel.sketch.mould import fill_height_mm, mould_fill
from lemel.sketch.ruler import fineness_ruler
from lemel.sketch.section import silver_copper
from lemel.sketch.sheet import stacked
from lemel.sketch.way import Reach, reaches, way

__all__ = [
    "Drawing", "FullSize", "Kinsman", "Link", "Reach", "alloy_section", "ancestry", "cold_work",
    "fill_height_mm", "fineness_ruler", "full_size", "hardness", "liquid_fraction", "melt_curve",
    "mould_fill", "reaches", "silver_copper", "stacked", "way",
]  # fmt: skip
