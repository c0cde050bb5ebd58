"""A disc wider than the rolls: rolled as far as they go, cut round, and beaten out."""

from __future__ import annotations

import math

from lemel.mill.flats import Flat, add_sheet_ways
from lemel.mill.graph import Finish, Graph, Link, Node, Terminal
from lemel.mill.plates import cut_minutes

__all__ = ["add_discs", "disc_volume_mm3"]

#: Thicknesses, as multiples of the disc's, at which the blank may leave the rolls.
_BLANKS = (1.15, 1.4, 1.7, 2.1, 2.6, 3.3)
#: Steps of the hammer, as a ratio of thickness.
_STEP = 1.06


def disc_volume_mm3(disc_mm: float, thickness_mm: float, trim_share: float) -> float:
    """Volume of a beaten disc with the ragged edge that is cut away at the end."""
    return math.pi / 4 * disc_mm**2 * thickness_mm * (1 + trim_share)


def add_discs(
    graph: Graph, flat: Flat, disc_mm: float, thickness_mm: float, entry: int | None
) -> None:
    """Ways to a beaten disc: from a button as it lies, or from a blank cut out of sheet.

    The sheet is rolled from the node `entry` (None: there is none).
    """
    volume = disc_volume_mm3(disc_mm, thickness_mm, flat.rules.disc_trim_share)
    start = graph.nodes[0]
    if start.volume_mm3 < volume * (1 - 1e-9):
        return
    if start.shape == "disc":
        family = _discs(graph, start.volume_mm3, start.height_mm, thickness_mm, 0.0)
        graph.links.append(Link(0, family[0], "enter"))
        _beat(graph, family)
    for times in _BLANKS if entry is not None else ():
        height = thickness_mm * times
        wide = 2 * math.sqrt(volume / math.pi / height)
        side = wide + 2 * flat.rules.edge_trim_mm
        if height >= start.height_mm or side > flat.widest_mm:
            continue
        for sheet in add_sheet_ways(graph, flat, height, (side, side), entry or 0):
            family = _discs(graph, volume, height, thickness_mm, graph.nodes[sheet].depth)
            minutes = cut_minutes(math.pi * wide, height, flat.rules)
            graph.links.append(Link(sheet, family[0], "disc", minutes))
            _beat(graph, family)


def _discs(graph: Graph, volume: float, top: float, end: float, depth: float) -> range:
    steps = max(1, math.ceil(math.log(top / end) / math.log(_STEP)))
    nodes = []
    cell = math.log(top / end) / steps
    for i in range(steps + 1):
        height = end * (top / end) ** (1 - i / steps)
        wide = 2 * math.sqrt(volume / math.pi / height)
        deep = depth + math.log(top / height)
        fuzzy = cell if 0 < i < steps else 0.0
        nodes.append(Node("disc", height, wide, volume / wide, deep, height, volume, cell=fuzzy))
    return graph.add(*nodes)


def _beat(graph: Graph, family: range) -> None:
    graph.run("hammer", None, family, family)
    graph.terminals.append(Terminal(family[-1], Finish()))
