"""Which sheet gets which part: remnants first, the smallest that does, then new stock."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from lemel.cut.bounds import shortest_length_mm
from lemel.cut.faces import Placement, Rest, SheetLayout
from lemel.cut.need import part_of
from lemel.cut.packing import pack
from lemel.cut.parts import EPS, Packing, Part
from lemel.cut.rests import Box, free_boxes
from lemel.cut.shapes import part_polygon
from lemel.cut.share import closed_sheet, remnant_bar, uncut_end
from lemel.cut.stockroom import is_remnant, sound_span
from lemel.values import Bar, Blank, Proof, Watch, quiet, stretch

__all__ = ["Bench", "lay_sheets"]

_TRIES = 60


@dataclass(slots=True)
class Bench:
    """The settings of sheet work: margins, kerf, straight cuts only, what is worth keeping."""

    edge: float
    kerf: float
    guillotine: bool
    seed: int
    least: float
    least_mm2: float
    margin: float
    watch: Watch = quiet
    work: int = 0

    def inside(self, bar: Bar) -> tuple[float, float]:
        """Usable length and width; what was sawn or sheared before has no rolled edge to lose."""
        edge = self.edge_of(bar)
        start, end = sound_span(bar, self.margin)
        return end - start - 2 * edge, bar.section.width_mm - 2 * edge

    def start(self, bar: Bar) -> float:
        """Where along the bar the first part may begin."""
        return sound_span(bar, self.margin)[0] + self.edge_of(bar)

    def edge_of(self, bar: Bar) -> float:
        """Margin kept on this bar."""
        return 0.0 if is_remnant(bar) else self.edge

    def area(self, bar: Bar) -> float:
        """Usable area."""
        length, width = self.inside(bar)
        return max(0.0, length) * max(0.0, width)


@dataclass(slots=True)
class _Try:
    """Lays parts on bars, each bar only what it may serve."""

    bench: Bench
    serving: Mapping[str, frozenset[str]]
    laid: int = 0

    def lay(self, parts: Sequence[Part], bar: Bar) -> Packing:
        """The parts on one bar, as far as they go."""
        own = [part for part in parts if bar.id in self.serving[part.key]]
        length, width = self.bench.inside(bar)
        if not own or length <= 0 or width <= 0:
            return Packing((), tuple(part.key for part in own), 0.0)
        # Nobody knows how many tries there will be: each takes half of what is left to tell.
        begin, end = (1 - 0.5 ** (self.laid + more) for more in (0, 1))
        self.laid += 1
        found = pack(
            own,
            length,
            width,
            kerf_mm=self.bench.kerf,
            guillotine=self.bench.guillotine,
            seed=self.bench.seed,
            watch=stretch(self.bench.watch, begin, end),
        )
        self.bench.work += found.rounds
        return found


def lay_sheets(
    parts: Sequence[Part],
    blanks: Mapping[str, Blank],
    bars: Sequence[Bar],
    serving: Mapping[str, frozenset[str]],
    bench: Bench,
) -> tuple[list[SheetLayout], list[str], Proof]:
    """Layouts, what found no room, and the proof; its cost is the area cut into, mm2.

    `serving` names the bars that may serve each part.
    """
    chosen = _choose(list(parts), bars, _Try(bench, serving))
    by_bar = {bar.id: bar for bar in bars}
    placed = {spot.key for packing in chosen.values() for spot in packing.spots}
    left = [part.key for part in parts if part.key not in placed]
    sheets = []
    cut_into = 0.0
    for key, packing in chosen.items():
        sheet, area = _marked(by_bar[key], packing, blanks, bench)
        sheets.append(sheet)
        cut_into += area
    laid = [part for part in parts if part.key in placed]
    least = [packing.least_mm for packing in chosen.values()]
    return sheets, left, _proof(laid, [by_bar[key] for key in chosen], cut_into, least, bench)


def _choose(parts: list[Part], bars: Sequence[Bar], tries: _Try) -> dict[str, Packing]:
    """Bars by id with their packing."""
    remnants = [bar for bar in bars if is_remnant(bar)]
    new = [bar for bar in bars if not is_remnant(bar)]
    whole = _cheapest(parts, remnants, tries)
    if whole is not None:
        return whole
    taken, rest = _fill(parts, remnants, tries)
    whole = _cheapest(rest, new, tries) if rest else {}
    if whole is None:
        whole, rest = _fill(rest, new, tries)
    return {**taken, **whole}


def _cheapest(parts: list[Part], bars: Sequence[Bar], tries: _Try) -> dict[str, Packing] | None:
    """All parts on the least area of bars; None if no choice tried holds them all."""
    wanted = sum(part.area_mm2 for part in parts)
    for tried, choice in enumerate(_choices(bars, tries, wanted)):
        if tried >= _TRIES or tries.bench.watch.cancelled():
            return None
        taken, rest = _fill(parts, choice, tries)
        if not rest:
            return taken
    return None


def _choices(bars: Sequence[Bar], tries: _Try, wanted: float) -> Iterable[tuple[Bar, ...]]:
    """Sets of bars with enough area, least area first; at most three at a time, then all."""
    sets = [
        choice
        for count in range(1, min(3, len(bars)) + 1)
        for choice in combinations(bars, count)
        if sum(tries.bench.area(bar) for bar in choice) >= wanted - 1e-6
    ]
    sets.sort(key=lambda choice: sum(bar.length_mm * bar.section.width_mm for bar in choice))
    if len(bars) > 3:
        sets.append(tuple(bars))
    return sets


def _fill(
    parts: list[Part], bars: Sequence[Bar], tries: _Try
) -> tuple[dict[str, Packing], list[Part]]:
    """Bar after bar, smallest first, each as full as it goes."""
    taken: dict[str, Packing] = {}
    rest = list(parts)
    for bar in sorted(bars, key=lambda b: (tries.bench.area(b), b.id)):
        if not rest:
            break
        packing = tries.lay(rest, bar)
        if packing.spots:
            taken[bar.id] = packing
            placed = {spot.key for spot in packing.spots}
            rest = [part for part in rest if part.key not in placed]
    return taken, rest


def _marked(
    bar: Bar, packing: Packing, blanks: Mapping[str, Blank], bench: Bench
) -> tuple[SheetLayout, float]:
    """The layout of one bar with its remnant, and the area that is cut into."""
    edge, start = bench.edge_of(bar), bench.start(bar)
    spots = [
        Placement(
            spot.key, bar.id, spot.x_mm + start, spot.y_mm + edge, spot.turn % 180 == 90,
            blanks[spot.key].outline, spot.turn,
        )
        for spot in packing.spots
    ]  # fmt: skip
    rests = _rests(bar, spots, start + packing.used_mm, bench)
    whole = bar.length_mm * bar.section.width_mm
    dust = _kerf_area(spots, rests, bench.kerf, bar) / whole
    sheet = replace(closed_sheet(bar, spots, blanks, rests, dust), edge_mm=edge)
    end = uncut_end(sheet)
    return sheet, whole - (end.bar.length_mm * end.bar.section.width_mm if end else 0.0)


def _rests(bar: Bar, spots: Sequence[Placement], used_x: float, bench: Bench) -> tuple[Rest, ...]:
    """The remnant, the far end or one side, then the largest rectangles of what is left."""
    length, width = bar.length_mm, bar.section.width_mm
    used_y = max(spot.y_mm + _across_mm(spot) for spot in spots)
    end, side = length - used_x - bench.kerf, width - used_y - bench.kerf
    room: Box = (0.0, 0.0, length, width)
    boxes: list[Box] = []
    if max(0.0, end) * width >= max(0.0, side) * length:
        if min(end, width) >= bench.least:
            boxes, room = [(length - end, 0.0, length, width)], (0.0, 0.0, used_x, width)
    elif min(side, length) >= bench.least:
        boxes, room = [(0.0, width - side, length, width)], (0.0, 0.0, length, used_y)
    pieces = [_box(spot) for spot in spots]
    boxes += free_boxes(
        room, pieces, bench.kerf, bench.least, bench.least_mm2, by_straight_cuts=bench.guillotine
    )
    return tuple(
        Rest(
            remnant_bar(bar, x1 - x0, y1 - y0, x0, number),
            x0,
            y0,
            stamped=x1 >= length - EPS and y1 >= width - EPS,
        )
        for number, (x0, y0, x1, y1) in enumerate(boxes, 1)
    )


def _box(spot: Placement) -> Box:
    along, across = spot.outline.length_mm, spot.outline.width_mm
    if spot.turned:
        along, across = across, along
    return spot.x_mm, spot.y_mm, spot.x_mm + along, spot.y_mm + across


def _across_mm(spot: Placement) -> float:
    return spot.outline.length_mm if spot.turned else spot.outline.width_mm


def _kerf_area(spots: Sequence[Placement], rests: Sequence[Rest], kerf: float, bar: Bar) -> float:
    """Area that the saw turns to dust when it follows each outline on its outer side."""
    if kerf <= 0 or not spots:
        return 0.0
    from shapely import union_all
    from shapely.affinity import translate
    from shapely.geometry import box

    shapes = [
        translate(part_polygon(part_of(s.piece, s.outline, "any"), s.turn_deg), s.x_mm, s.y_mm)
        for s in spots
    ]
    shapes += [
        box(r.x_mm, r.y_mm, r.x_mm + r.bar.length_mm, r.y_mm + r.bar.section.width_mm)
        for r in rests
    ]
    sheet = box(0, 0, bar.length_mm, bar.section.width_mm)
    ringed = union_all([shape.buffer(kerf, join_style="mitre") for shape in shapes])
    return float(ringed.intersection(sheet).difference(union_all(shapes)).area)


def _proof(
    laid: Sequence[Part],
    bars: Sequence[Bar],
    cut_into: float,
    least: Sequence[float],
    bench: Bench,
) -> Proof:
    """Area cut into against the least that any layout of the same parts must cut into."""
    if not laid:
        return Proof("infeasible", None, None, None, bench.work, seed=bench.seed)
    bound = sum(part.area_mm2 for part in laid)
    if len(bars) == 1:
        bound = max(bound, _least_area(laid, bars[0], least[0], bench))
    bound = min(bound, cut_into)
    gap = (cut_into - bound) / max(cut_into, 1e-9)
    status = "optimal" if gap <= 1e-6 else "feasible"
    stopped = "proof" if status == "optimal" else "work"
    return Proof(status, cut_into, bound, gap, bench.work, stopped, bench.seed)


def _least_area(laid: Sequence[Part], bar: Bar, least: float, bench: Bench) -> float:
    """What one bar loses at least, whether its end or its side is kept as the remnant."""
    length, width = bench.inside(bar)
    start, edge = bench.start(bar), bench.edge_of(bar)
    along = start + max(least, shortest_length_mm(laid, width))
    narrowest = max(min(box[1] for box in part.boxes()) for part in laid)
    across = edge + max(narrowest, sum(part.area_mm2 for part in laid) / length)
    whole = bar.length_mm * bar.section.width_mm
    kept = [
        bar.section.width_mm * (bar.length_mm - along - bench.kerf),
        bar.length_mm * (bar.section.width_mm - across - bench.kerf),
    ]
    ends = [bar.length_mm - along - bench.kerf, bar.section.width_mm - across - bench.kerf]
    # An end that is too small to keep is lost whole.
    return whole - max(
        area if end >= bench.least else 0.0 for area, end in zip(kept, ends, strict=True)
    )
