"""A plate cut into square bars before it goes into the grooves."""

from __future__ import annotations

import math

from lemel.mill.graph import Finish, Graph, Link, Node
from lemel.mill.rules import Rules
from lemel.mill.yields import cut_of
from lemel.values import StockNeed

__all__ = ["NEAR_SQUARE", "add_bars", "cut_minutes"]

#: A flat wider than this times its height is a plate, not a bar.
NEAR_SQUARE = 1.35


def add_bars(graph: Graph, need: StockNeed, rules: Rules) -> int | None:
    """Cut as many square bars off the plate (node 0) as the need asks; the rest stays plate.

    The bars lie along the longer side. They are as wide as the plate is thick, or so much
    wider that one of them is long enough in the end, as far as a groove still takes it.
    Returns their node, None where none fits.
    """
    plate = graph.nodes[0]
    across, along = sorted((plate.width_mm, plate.length_mm))
    kerf = rules.saw_kerf_mm
    square = max(1, round((across + kerf) / (plate.height_mm + kerf)))
    fill = plate.area_mm2 / (plate.height_mm * plate.width_mm)

    def wide(room: int) -> float:
        return (across - (room - 1) * kerf) / room

    def enough(room: int) -> bool:
        area = wide(room) * plate.height_mm * fill
        return any(_serves(need, rules, area, along, n) >= 1 for n in range(1, room + 1))

    wider = (n for n in range(square, 0, -1) if wide(n) <= NEAR_SQUARE * plate.height_mm)
    room = next((n for n in wider if enough(n)), square)
    side = wide(room)
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
