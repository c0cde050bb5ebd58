"""Which bar may serve which blank, and how much of the bar can be used."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from lemel.cut.faces import CutProblem
from lemel.cut.wants import allowance, line_of
from lemel.tables import Tables
from lemel.values import Bar, Blank, OrderLine, Section

__all__ = ["Batch", "batches", "is_remnant", "may_serve", "sound_span"]


@dataclass(frozen=True, slots=True)
class Batch:
    """Blanks and bars of one section (for flat stock: one thickness) and one allegiance.

    `serving` names the bars that may serve each piece.
    """

    blanks: tuple[Blank, ...]
    bars: tuple[Bar, ...]
    flat: bool
    serving: Mapping[str, frozenset[str]]

    def one_row(self, edge_mm: float) -> bool:
        """True where no bar can hold two blanks beside each other: a matter of lengths only."""
        if not self.flat:
            return True
        # A disc on a sheet much wider than itself gains by lying zigzag, a strip does not.
        return all(
            bar.section.width_mm - (0.0 if is_remnant(bar) else 2 * edge_mm) < _beside(blank)
            for bar in self.bars
            for blank in self.blanks
        )


def is_remnant(bar: Bar) -> bool:
    """Remnants are used up before new stock is begun."""
    return bar.kind == "offcut"


def sound_span(bar: Bar, margin_mm: float) -> tuple[float, float]:
    """From where to where the bar is longest without a fault whose place is known, mm."""
    places = sorted(fault.place_mm for fault in bar.faults if fault.place_mm is not None)
    marks = [-margin_mm, *places, bar.length_mm + margin_mm]
    spans = [
        (max(0.0, before + margin_mm), min(bar.length_mm, after - margin_mm))
        for before, after in pairwise(marks)
    ]
    return max(spans, key=lambda span: (span[1] - span[0], -span[0]))


def batches(problem: CutProblem, tables: Tables) -> list[Batch]:
    """Blanks with the bars that may serve them; blanks that compete for a bar stay together."""
    lines = {line.id: line for line in problem.lines}
    serves = [
        [
            j for j, bar in enumerate(problem.stock)
            if may_serve(bar, blank, lines, tables, any_owner=problem.any_owner)
        ]
        for blank in problem.blanks
    ]  # fmt: skip
    families = _families(serves, [_sort(blank) for blank in problem.blanks])
    made = []
    for members in families:
        blanks = tuple(problem.blanks[i] for i in members)
        bars = sorted({j for i in members for j in serves[i]})
        serving = {
            problem.blanks[i].piece: frozenset(problem.stock[j].id for j in serves[i])
            for i in members
        }
        flat = blanks[0].section.kind == "flat"
        made.append(Batch(blanks, tuple(problem.stock[j] for j in bars), flat, serving))
    return made


def may_serve(
    bar: Bar,
    blank: Blank,
    lines: Mapping[str, OrderLine],
    tables: Tables,
    *,
    any_owner: bool = False,
) -> bool:
    """Owner, standard and section agree; a suspect bar serves nobody."""
    line = lines.get(line_of(blank.piece)) or lines.get(blank.piece)
    if bar.suspect:
        return False
    if line is not None:
        if not any_owner and bar.owner != line.owner:
            return False
        if bar.promise_met is not None and bar.promise_met != line.standard:
            return False
    return _section_fits(bar.section, blank.section, tables)


def _section_fits(have: Section, want: Section, tables: Tables) -> bool:
    if have.kind != want.kind:
        return False
    if want.kind == "flat":
        off = abs(have.dim("thickness") - want.dim("thickness"))
        return off <= allowance(tables, "fit_mm") + 1e-9
    close = allowance(tables, "wire_fit_mm" if want.kind == "round" else "fit_mm")
    return all(abs(have.dim(name) - size) <= close + 1e-9 for name, size in want.dims_mm)


def _sort(blank: Blank) -> tuple[object, ...]:
    if blank.section.kind == "flat":
        return ("flat", blank.section.dim("thickness"))
    return (blank.section,)


def _families(serves: Sequence[Sequence[int]], sorts: Sequence[object]) -> list[list[int]]:
    """Indices of blanks joined where they share a bar or, without any, their section."""
    leader = list(range(len(serves)))

    def head(i: int) -> int:
        while leader[i] != i:
            i = leader[i]
        return i

    first: dict[object, int] = {}
    for i, bars in enumerate(serves):
        marks: list[object] = [("bar", j) for j in bars]
        for mark in marks or [("none", sorts[i])]:
            if mark in first:
                leader[head(i)] = head(first[mark])
            else:
                first[mark] = i
    groups: dict[int, list[int]] = {}
    for i in range(len(serves)):
        groups.setdefault(head(i), []).append(i)
    return list(groups.values())


def _beside(blank: Blank) -> float:
    """Width of sheet from which on a second one of these could be beside the first."""
    outline = blank.outline
    if outline.kind == "disc":
        return 1.1 * outline.width_mm
    if outline.kind == "strip" and blank.grain == "along":
        return 2 * outline.width_mm
    return 0.0
