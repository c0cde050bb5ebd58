"""A plate cut into square bars before it goes into the grooves."""

from __future__ import annotations

import math

from lemel.mill.graph import Finish, Graph, Link, Node
from lemel.mill.rules import Rules
from lemel.mill.yields import cut_of
from lemel.values import StockNeed

__all__ = ["add_bars", "cut_minutes"]


def add_bars(graph: Graph, need: StockNeed, rules: Rules) -> int | None:
    """Cut as many square bars off the plate (node 0) as the need asks; the rest stays plate.

    The bars lie along the longer side. Returns their node, None where none fits.
    """
    plate = graph.nodes[0]
    across, along = sorted((plate.width_mm, plate.length_mm))
    kerf = rules.saw_kerf_mm
    room = max(1, round((across + kerf) / (plate.height_mm + kerf)))
    side = (across - (room - 1) * kerf) / room
    fill = plate.area_mm2 / (plate.height_mm * plate.width_mm)
    area = side * plate.height_mm * fill
    edge = math.sqrt(side * plate.height_mm)
    count = next((n for n in range(1, room) if _serves(need, rules, area, along, n) >= 1), room)
    if area <= 0:
        return None
    cuts = count if count < room else count - 1
    bars = graph.add(
        Node("square", edge, edge, area, 0.0, plate.height_mm, count * area * along, True, count)
    )
    minutes = cuts * cut_minutes(along, plate.height_mm, rules)
    graph.links.append(Link(0, bars[0], "slit", minutes))
    return bars[0]


def _serves(need: StockNeed, rules: Rules, area: float, length: float, count: int) -> float:
    """The share of the need that so many bars would serve."""
    final = need.section.area_mm2
    volume = count * area * length
    drawn = need.section.kind == "round"
    node = Node(need.section.kind, 1, 1, final, 0, 0, volume, True, count)
    return cut_of(node, Finish(), need, rules, worked=True, drawn=drawn).serves


def cut_minutes(length_mm: float, thickness_mm: float, rules: Rules) -> float:
    """Minutes of one straight cut: shears where they are strong enough, else the saw."""
    if thickness_mm <= rules.shear_mm:
        return length_mm / rules.shear_mm_min
    return length_mm * thickness_mm / rules.saw_mm2_min
