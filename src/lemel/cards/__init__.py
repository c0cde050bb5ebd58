"""Printed bench cards: a plan's month, heats, bars and layouts as PDF, black on white, for A4.

Comes in: a `Plan`, or one heat as a `HeatSheet`, and the reader's units. Goes out: PDF bytes or
files, the same bytes for the same plan. May ask: every room below it; the typesetter is loaded
only when a card is set.
"""

from lemel.cards.heat import HeatSheet
from lemel.cards.label import LABEL_SIZES, Label, label_pdf
from lemel.cards.paper import (
    Block,
    Column,
    Facts,
    Leaf,
    Ruled,
    Sheet,
    Signed,
    Ticks,
    Tree,
    Words,
    paper_pdf,
)
from lemel.cards.stencil import stencil_pdf
from lemel.cards.write import charge_card, month_pdf, picture, write, write_charges

__all__ = [
    "Block", "Column", "Facts", "HeatSheet", "LABEL_SIZES", "Label", "Leaf", "Ruled", "Sheet",
    "Signed", "Ticks", "Tree", "Words", "charge_card", "label_pdf", "month_pdf", "paper_pdf",
    "picture", "stencil_pdf", "write", "write_charges",
]  # fmt: skip
