"""Forwards: the blanks marked out on the bars, remnants kept, every milligram accounted for."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from lemel.cut.cautions import cautions_for
from lemel.cut.drawing import drawing_of, pages_of
from lemel.cut.faces import CutProblem, Layout, SheetLayout
from lemel.cut.need import kerf_of, part_of
from lemel.cut.rods import Length, Rod, cut_rods
from lemel.cut.share import share_of, uncut_end, wire_layout
from lemel.cut.sheets import Bench, lay_sheets
from lemel.cut.stockroom import Batch, batches, is_remnant, sound_span
from lemel.cut.wants import allowance, line_of
from lemel.errors import BadInput
from lemel.tables import Tables, shipped
from lemel.values import Bar, Blank, Objection, Proof, Quantity, Saying, Watch, quiet, stretch

__all__ = ["do"]


def do(problem: CutProblem, *, tables: Tables | None = None, watch: Watch = quiet) -> Layout:
    """Mark the blanks out on the bars.

    Wire and strip are cut exactly (see `rods`), sheets by a seeded search with a proven
    bound. Remnants come before new stock, and of those that do, the smallest; what is
    left in one piece comes back as a bar that keeps owner, metal, promise and origin.
    Bar by bar the mass is shared by volume, so that blanks + remnant + scrap + kerf is
    the bar's mass. Pieces that find no room are named with a way out, never an exception.

    Raises BadInput where a blank or bar is named twice or nothing is to be cut.
    """
    facts = tables or shipped()
    _check(problem)
    sheets: list[SheetLayout] = []
    unplaced: list[str] = []
    proofs: list[Proof] = []
    groups = batches(problem, facts)
    for number, batch in enumerate(groups):
        part = stretch(watch, number / len(groups), (number + 1) / len(groups))
        made, left, proof = _lay(batch, problem, facts, part)
        sheets += made
        unplaced += left
        proofs.append(_in_grams(proof, made, batch, problem.edge_mm))
    order = {bar.id: i for i, bar in enumerate(problem.stock)}
    sheets.sort(key=lambda sheet: order[sheet.bar])
    proof = _joined(proofs, bool(unplaced), problem.seed)
    if watch.cancelled():
        proof = replace(proof, stopped_by="user")
    return _answer(problem, sheets, groups, proof, facts)


def _unplaced(problem: CutProblem, sheets: Sequence[SheetLayout]) -> tuple[str, ...]:
    placed = {spot.piece for sheet in sheets for spot in sheet.placements}
    return tuple(blank.piece for blank in problem.blanks if blank.piece not in placed)


def _check(problem: CutProblem) -> None:
    if not problem.blanks:
        raise BadInput("blanks", (), "at least one blank", "Say what is to be cut.")
    for field, names in (
        ("blanks.piece", [blank.piece for blank in problem.blanks]),
        ("stock.id", [bar.id for bar in problem.stock]),
    ):
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            raise BadInput(field, twice[0], "each id once", "Rename one of the two.")


def _lay(
    batch: Batch, problem: CutProblem, facts: Tables, watch: Watch
) -> tuple[list[SheetLayout], list[str], Proof]:
    if not batch.bars:
        left = [blank.piece for blank in batch.blanks]
        return [], left, Proof("infeasible", None, None, None, seed=problem.seed)
    kerf = kerf_of(problem.saw, facts)
    if batch.one_row(problem.edge_mm):
        return _lay_rods(batch, problem, kerf, facts, watch)
    straight = problem.guillotine or (problem.saw is not None and problem.saw.straight_only)
    return lay_sheets(
        [part_of(blank.piece, blank.outline, blank.grain) for blank in batch.blanks],
        {blank.piece: blank for blank in batch.blanks},
        batch.bars,
        batch.serving,
        Bench(
            problem.edge_mm, kerf, straight, problem.seed, allowance(facts, "remnant_least_mm"),
            allowance(facts, "rest_least_mm2"), allowance(facts, "fault_margin_mm"), watch,
        ),
    )  # fmt: skip


def _lay_rods(
    batch: Batch, problem: CutProblem, kerf: float, facts: Tables, watch: Watch
) -> tuple[list[SheetLayout], list[str], Proof]:
    fit = allowance(facts, "fit_mm")
    by_bar = {bar.id: bar for bar in batch.bars}
    by_piece = {blank.piece: blank for blank in batch.blanks}
    pieces = [
        Length(
            blank.piece,
            blank.outline.length_mm,
            frozenset(
                key
                for key in batch.serving[blank.piece]
                if not batch.flat or blank.outline.width_mm <= by_bar[key].section.width_mm + fit
            ),
        )
        for blank in batch.blanks
    ]
    spans = {bar.id: _span(bar, problem, facts) for bar in batch.bars}
    rods = [Rod(b.id, spans[b.id][1] - spans[b.id][0], not is_remnant(b)) for b in batch.bars]
    plan = cut_rods(pieces, rods, kerf_mm=kerf, seed=problem.seed, watch=watch)
    aside = {bar.id: 0.0 if is_remnant(bar) else problem.edge_mm for bar in batch.bars}
    least = allowance(facts, "remnant_least_mm" if batch.flat else "remnant_least_wire_mm")
    sheets = [
        wire_layout(
            by_bar[key], [by_piece[name] for name in names], kerf, spans[key], least, aside[key]
        )
        for key, names in plan.cuts.items()
    ]
    return sheets, list(plan.left_out), plan.proof


def _span(bar: Bar, problem: CutProblem, facts: Tables) -> tuple[float, float]:
    """From where to where pieces may lie one after the other."""
    start, end = sound_span(bar, allowance(facts, "fault_margin_mm"))
    if is_remnant(bar):
        return start, end
    sheet = bar.section.kind == "flat" and bar.section.width_mm > allowance(facts, "strip_most_mm")
    crop = max(problem.crop_mm, problem.edge_mm) if sheet else problem.crop_mm
    point = 0.0 if bar.section.kind == "flat" else problem.point_mm
    return max(start, crop), min(end, bar.length_mm - crop - point)


def _answer(
    problem: CutProblem,
    sheets: list[SheetLayout],
    groups: list[Batch],
    proof: Proof,
    facts: Tables,
) -> Layout:
    unplaced = _unplaced(problem, sheets)
    bars = {bar.id: bar for bar in problem.stock}
    blanks = {blank.piece: blank for blank in problem.blanks}
    pieces_g = _piece_masses(sheets, bars, blanks)
    lines_g: dict[str, float] = {}
    for piece, mass in pieces_g.items():
        lines_g[line_of(piece)] = lines_g.get(line_of(piece), 0.0) + mass
    kept = sum(sheet.rests_g for sheet in sheets)
    taken = sum(bars[sheet.bar].mass_g for sheet in sheets) - kept
    kerf = sum(sheet.kerf_g for sheet in sheets)
    scrap = sum(sheet.scrap_g for sheet in sheets)
    objections, ways_out = _what_is_wrong(problem, unplaced, groups)
    return Layout(
        status=proof.status, sheets=tuple(sheets), unplaced=unplaced, pieces_g=pieces_g,
        use=sum(pieces_g.values()) / taken if taken > 0 else 0.0,
        offcut_g=scrap + kept, kerf_g=kerf, proof=proof,
        drawing={
            sheet.bar: drawing_of(sheet, bars[sheet.bar], blanks) for sheet in sheets
        },
        pages={sheet.bar: pages_of(sheet, bars[sheet.bar], blanks) for sheet in sheets},
        cautions=cautions_for(problem, sheets, bars, blanks, facts),
        objections=objections, explain=tuple(_explain(sheets, bars, proof)), lines_g=lines_g,
        ways_out=ways_out,
    )  # fmt: skip


def _in_grams(proof: Proof, made: Sequence[SheetLayout], batch: Batch, edge_mm: float) -> Proof:
    """The same proof in grams of stock, so that wire and sheet can be added up."""
    if proof.cost is None or proof.bound is None:
        return proof
    mass = {bar.id: bar.mass_g for bar in batch.bars}
    taken = sum(mass[sheet.bar] for sheet in made)
    if not batch.one_row(edge_mm):
        ends = [uncut_end(sheet) for sheet in made]
        taken -= sum(end.bar.mass_g for end in ends if end)
    return replace(proof, cost=taken, bound=taken * proof.bound / max(proof.cost, 1e-9))


def _piece_masses(
    sheets: Iterable[SheetLayout], bars: Mapping[str, Bar], blanks: Mapping[str, Blank]
) -> dict[str, float]:
    """Each blank's share of its bar's mass, by volume."""
    return {
        spot.piece: bars[sheet.bar].mass_g * share_of(bars[sheet.bar], blanks[spot.piece])
        for sheet in sheets
        for spot in sheet.placements
    }


def _joined(proofs: Sequence[Proof], left_out: bool, seed: int) -> Proof:
    """One proof of all batches: the sum of costs and bounds, as sure as the least sure."""
    found = [proof for proof in proofs if proof.cost is not None]
    if not found:
        return Proof("infeasible", None, None, None, seed=seed)
    cost = sum(proof.cost or 0.0 for proof in found)
    bound = sum(proof.bound or 0.0 for proof in found)
    sure = all(proof.status == "optimal" for proof in found)
    status = "infeasible" if left_out else "optimal" if sure else "feasible"
    stopped = "proof" if sure else "work"
    gap = (cost - bound) / max(abs(cost), 1e-9)
    return Proof(status, cost, bound, gap, sum(p.work for p in found), stopped, seed, "own")


def _what_is_wrong(
    problem: CutProblem, unplaced: Sequence[str], groups: Sequence[Batch]
) -> tuple[tuple[Objection, ...], tuple[Saying, ...]]:
    objections: list[Objection] = []
    ways: list[Saying] = []
    for batch in groups:
        lost = [blank for blank in batch.blanks if blank.piece in unplaced]
        for blank in lost:
            widest = max((bar.section.width_mm for bar in batch.bars), default=0.0)
            long, longest = _long_way_mm(blank, batch.bars)
            size = {
                "length": Quantity(blank.outline.length_mm, "mm"),
                "width": Quantity(blank.outline.width_mm, "mm"),
            }
            if not batch.bars:
                code = "cut.piece.no_stock"
            elif long > longest:
                code = "cut.piece.bar_too_short"
                size["longest"] = Quantity(longest, "mm")
            elif min(blank.outline.length_mm, blank.outline.width_mm) > widest:
                code = "cut.piece.sheet_too_narrow"
                size["widest"] = Quantity(widest, "mm")
            else:
                code = "cut.piece.no_room"
            way = Saying(f"{code}.way", {"piece": blank.piece, **size})
            objections.append(Objection(code, blank.piece, "stop", size, way))
            ways.append(way)
    for bar in problem.stock:
        if bar.suspect:
            objections.append(Objection("cut.bar.suspect", bar.id, "ask"))
        for fault in bar.faults:
            if fault.kind != "short" and fault.place_mm is None:
                objections.append(Objection("cut.bar.fault", bar.id, "ask", {"fault": fault.kind}))
    objections += _too_wide_for_the_shear(problem)
    return tuple(objections), tuple(ways)


def _long_way_mm(blank: Blank, bars: Sequence[Bar]) -> tuple[float, float]:
    """The blank's long way, and the longest way on any bar that it may lie in."""
    longest = max((bar.length_mm for bar in bars), default=0.0)
    if blank.section.kind != "flat" or blank.grain == "along":
        return blank.outline.length_mm, longest
    widest = max((bar.section.width_mm for bar in bars), default=0.0)
    return max(blank.outline.length_mm, blank.outline.width_mm), max(longest, widest)


def _too_wide_for_the_shear(problem: CutProblem) -> list[Objection]:
    saw = problem.saw
    if saw is None or not saw.straight_only:
        return []
    return [
        Objection(
            "cut.saw.short",
            bar.id,
            "ask",
            {
                "saw": saw.id,
                "width": Quantity(bar.section.width_mm, "mm"),
                "longest": Quantity(saw.longest_mm, "mm"),
            },
        )
        for bar in problem.stock
        if bar.section.kind == "flat" and bar.section.width_mm > saw.longest_mm
    ]


def _explain(
    sheets: Sequence[SheetLayout], bars: Mapping[str, Bar], proof: Proof
) -> Iterable[Saying]:
    if sheets and proof.cost is not None and proof.bound is not None:
        code = "cut.stock.least" if proof.status == "optimal" else "cut.stock.taken"
        values = {"mass": Quantity(proof.cost, "g"), "least": Quantity(proof.bound, "g")}
        yield Saying(code, values)
    for sheet in sheets:
        bar = bars[sheet.bar]
        code = "cut.bar.remnant_used" if is_remnant(bar) else "cut.bar.begun"
        yield Saying(code, {"bar": bar.id, "count": len(sheet.placements)})
        for rest in sheet.rests:
            yield Saying(
                "cut.remnant.kept" if rest.stamped else "cut.remnant.more",
                {
                    "remnant": rest.bar.id,
                    "length": Quantity(rest.bar.length_mm, "mm"),
                    "width": Quantity(rest.bar.section.width_mm, "mm"),
                    "mass": Quantity(rest.bar.mass_g, "g"),
                    "bar": bar.id,
                },
            )
