"""The section that a node stands for."""

from __future__ import annotations

from lemel.mill.graph import Node
from lemel.values import Section

__all__ = ["section_of"]


def section_of(node: Node) -> Section:
    """The section of a node; rounded corners are kept as the share of the sharp section."""
    fill = min(1.0, node.area_mm2 / (node.height_mm * node.width_mm))
    if node.shape == "round":
        return Section.round(node.height_mm)
    if node.shape in ("half_round", "oval"):
        return Section.of(node.shape, {"height": node.height_mm, "width": node.width_mm})
    if node.shape in ("square", "corner"):
        return Section.square(node.height_mm, fill)
    return Section.of("flat", {"thickness": node.height_mm, "width": node.width_mm}, fill)
