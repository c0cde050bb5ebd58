"""How much of the metal becomes stock: crops, trims, points, filings; forwards and backwards."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lemel.mill.graph import Finish, Node
from lemel.mill.rules import Rules
from lemel.values import StockNeed

__all__ = ["Cut", "cut_of", "grams_least", "grams_net"]


@dataclass(frozen=True, slots=True)
class Cut:
    """What is cut where from the finished metal of a node.

    All in mm of the node's section (length) or mm of sheet (edges): `pieces` bars of
    `length_mm` x `width_mm` stay; `share` is the share of the volume that is stock,
    `filed_share` the share that is filed away, the rest is offcut. `serves` is the share
    of the need that the stock covers, 1 or more: all of it.
    """

    pieces: int
    length_mm: float
    width_mm: float
    share: float
    filed_share: float
    serves: float


def cut_of(
    node: Node, finish: Finish, need: StockNeed, rules: Rules, worked: bool, drawn: bool
) -> Cut:
    """Crop the ends, trim the edges of a sheet, slit, file; nothing of it on stock as it lies."""
    if need.area_mm is not None:
        return _sheet_cut(node, need, rules, worked)
    ends = 2 * rules.crop_mm + (rules.point_mm if drawn else 0.0) if worked else 0.0
    length = max(0.0, node.length_mm - ends)
    if finish.kind == "file" and need.length_mm is not None:
        # Only what is wanted is filed to shape; the rest stays strip.
        length = min(length, need.length_mm + ends)
    pieces = node.pieces * finish.pieces
    share = length / node.length_mm * finish.keep
    filed = share * finish.filed
    width = need.section.width_mm if finish.kind in ("slit", "file") else node.width_mm
    return Cut(pieces, length, width, share - filed, filed, _serves(length, pieces, need))


def _serves(length: float, pieces: int, need: StockNeed) -> float:
    """The share of the need in so many bars of this length, none below the longest piece."""
    if need.length_mm is None:
        return 1.0
    least = need.least_mm or need.length_mm / need.count
    if length < least * (1 - 1e-9):
        return 0.0 if pieces > 1 or need.count > 1 else length / max(need.length_mm, least)
    # Beside the first bar each further one may leave nearly one piece unused.
    return (pieces * length - (pieces - 1) * min(least, length - least)) / need.length_mm


def _sheet_cut(node: Node, need: StockNeed, rules: Rules, worked: bool) -> Cut:
    assert need.area_mm is not None
    if node.shape == "disc":
        serves = 1.0 if need.disc_mm and node.width_mm >= need.disc_mm else 0.0
        return Cut(1, node.width_mm, node.width_mm, 1.0, 0.0, serves)
    width, length = node.width_mm, node.length_mm
    if worked:
        width, length = width - 2 * rules.edge_trim_mm, length - 2 * rules.crop_mm
    width, length = max(width, 0.0), max(length, 0.0)
    lo, hi = sorted((width, length))
    need_lo, need_hi = sorted(need.area_mm)
    serves = min(lo / need_lo, hi / need_hi, 1.0)
    share = width * length / (node.width_mm * node.length_mm)
    return Cut(1, length, width, share, 0.0, serves)


def grams_net(need: StockNeed, density_g_cm3: float) -> float:
    """The mass of the wanted stock itself."""
    if need.area_mm is not None:
        volume = need.area_mm[0] * need.area_mm[1] * need.section.thickness_mm
    else:
        volume = need.section.area_mm2 * (need.length_mm or 0.0)
    return volume * density_g_cm3 / 1000


def grams_least(need: StockNeed, density_g_cm3: float, rules: Rules, ingot: bool) -> float:
    """Least mass of any bar for the need, with crops, trims, the point and the filed skin.

    Half rounds and ovals are counted as drawn, not filed; a single disc as beaten.
    """
    section = need.section
    if need.area_mm is not None:
        along, across = need.area_mm
        area = (along + 2 * rules.crop_mm) * (across + 2 * rules.edge_trim_mm)
        volume = min(area, (across + 2 * rules.crop_mm) * (along + 2 * rules.edge_trim_mm))
        volume *= section.thickness_mm
        if need.disc_mm is not None:
            beaten = math.pi / 4 * need.disc_mm**2 * (1 + rules.disc_trim_share)
            volume = min(volume, beaten * section.thickness_mm)
    else:
        ends = 2 * rules.crop_mm + (rules.point_mm if section.kind == "round" else 0.0)
        volume = section.area_mm2 * ((need.length_mm or 0.0) + ends)
    mass = volume * density_g_cm3 / 1000
    return mass / (1 - rules.file_share) if ingot else mass
