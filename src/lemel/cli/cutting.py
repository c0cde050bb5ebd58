"""`lemel cut`: pieces to blanks, and blanks laid out on stock."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Any

import click

from lemel.cli.answer import INFEASIBLE, Told, plain
from lemel.cli.faults import STOPPED
from lemel.cli.run import verb
from lemel.cli.stencils import put_stencils
from lemel.cli.stick import own_stick, stick_option
from lemel.cli.watching import watching
from lemel.cut import CutNeed, Layout, SheetLayout, line_of
from lemel.cut import do as lay_out
from lemel.cut import need as blanks_of
from lemel.files import read_cut
from lemel.values import StockNeed, stretch

if TYPE_CHECKING:
    from lemel.cli.paper import Paper

__all__ = ["cut"]


@verb("cut")
@click.argument("file", metavar="FILE")
@click.option("--draw", metavar="DIR", help="Write each bar at full size there, SVG and PDF.")
@stick_option
def cut(*, file: str, draw: str | None, stick: str | None) -> Told:
    """FILE holds pieces and, if there is any, the stock to cut them from; see docs/files.md."""
    given = read_cut(file)
    standards = {line.standard for line in given.lines}
    bodies = dict.fromkeys(standards, given.body)
    tables = own_stick(stick)
    with watching("cut") as watch:
        asked = blanks_of(
            given.lines, bodies, given.saw, tables=tables, watch=stretch(watch, 0.0, 0.5)
        )
        laid = None
        if given.stock and asked.blanks:
            laid = lay_out(
                given.problem(asked.blanks), tables=tables, watch=stretch(watch, 0.5, 1.0)
            )
        interrupted = watch.interrupted
    payload = _cut_payload(asked, laid)
    if draw is not None:
        payload["drawn"] = put_stencils(laid, draw) if laid else []
    stopped = any(one.grade == "stop" for one in asked.objections)
    unplaced = laid is not None and bool(laid.unplaced)
    code = INFEASIBLE if stopped or unplaced else 0
    code = STOPPED if interrupted else code

    def show(paper: Paper) -> None:
        _show_cut(asked, laid, paper)
        for path in payload.get("drawn", ()):
            paper.line(f"Drawn in {path}.")

    return Told(payload, show, code)


def _cut_payload(asked: CutNeed, laid: Layout | None) -> dict[str, Any]:
    payload: dict[str, Any] = {
        "status": laid.status if laid else "feasible",
        "blanks": [plain(one) for one in asked.blanks],
        "stock_needed": [plain(one) for one in asked.stock],
        "layout": [plain(one) for one in laid.sheets] if laid else [],
        "unplaced": list(laid.unplaced) if laid else [],
        "yield": laid.use if laid else None,
        "offcut_g": laid.offcut_g if laid else 0.0,
        "kerf_g": laid.kerf_g if laid else 0.0,
        "drawing": dict(laid.drawing) if laid else {},
        "proof": plain(laid.proof) if laid else None,
    }
    parts = [asked] if laid is None else [asked, laid]
    payload["cautions"] = [plain(one) for one in laid.cautions] if laid else []
    for name in ("objections", "ways_out", "explain"):
        payload[name] = [plain(said) for part in parts for said in getattr(part, name)]
    return payload


def _show_cut(asked: CutNeed, laid: Layout | None, paper: Paper) -> None:
    paper.table(
        ("blank", "length", "width", "thickness", "grams"),
        _blank_rows(asked),
    )
    paper.head("Stock that this asks for")
    for need in asked.stock:
        paper.line(f"  - {_stock_words(need)}")
    if laid is not None:
        _show_layout(laid, paper)
    parts: list[CutNeed | Layout] = [asked] if laid is None else [asked, laid]
    paper.sayings("Why", [said for part in parts for said in (*part.objections, *part.explain)])
    paper.sayings("Ways out", [said for part in parts for said in part.ways_out])
    paper.sayings("Mind", laid.cautions if laid else ())


def _show_layout(laid: Layout, paper: Paper) -> None:
    if not laid.sheets:
        paper.line(f"No room for {', '.join(laid.unplaced)}.")
        return
    paper.head("Laid out")
    paper.table(
        ("bar", "blanks", "scrap g", "kerf g", "left over"),
        [
            (
                sheet.bar,
                str(len(sheet.placements)),
                f"{sheet.scrap_g:.2f}",
                f"{sheet.kerf_g:.2f}",
                " + ".join(f"{rest.bar.mass_g:.2f} g" for rest in sheet.rests) or "nothing usable",
            )
            for sheet in laid.sheets
        ],
    )
    for sheet in laid.sheets:
        if _in_a_row(sheet):
            cuts = ", ".join(
                f"{spot.piece} {spot.x_mm:.1f} to {spot.x_mm + spot.outline.length_mm:.1f}"
                for spot in sheet.placements
            )
            paper.line(f"Along {sheet.bar}, mm from its end: {cuts}.")
    paper.line(f"{100 * laid.use:.0f} % of the stock becomes blanks.")
    if laid.unplaced:
        paper.line(f"No room for {', '.join(laid.unplaced)}.")


def _in_a_row(sheet: SheetLayout) -> bool:
    """Pieces one after the other: a list says it better than a drawing."""
    spots = sheet.placements
    return all(
        one.x_mm + one.outline.length_mm <= other.x_mm + 1e-6 and not one.turned
        for one, other in pairwise(spots)
    ) and all(spot.outline.kind == "strip" for spot in spots)


def _blank_rows(asked: CutNeed) -> list[tuple[str, ...]]:
    """One row for blanks that are alike, with how many there are of them."""
    alike: dict[tuple[str, ...], list[str]] = {}
    for one in asked.blanks:
        sizes = (
            f"{one.outline.length_mm:.1f}",
            f"{one.outline.width_mm:.1f}",
            f"{one.section.thickness_mm:.2f}",
            f"{one.mass_g:.2f}",
        )
        alike.setdefault((line_of(one.piece), *sizes), []).append(one.piece)
    return [
        (f"{line}, {len(pieces)} alike" if len(pieces) > 1 else pieces[0], *sizes)
        for (line, *sizes), pieces in alike.items()
    ]


def _stock_words(need: StockNeed) -> str:
    sizes = " x ".join(f"{need.section.dim(name):g}" for name, _ in need.section.dims_mm)
    if need.area_mm is not None:
        along, across = need.area_mm
        return (
            f"sheet {need.section.thickness_mm:g} mm, {along:.0f} mm along the rolling by "
            f"{across:.0f} mm"
        )
    times = f"{need.count} times " if need.count > 1 else ""
    kind = need.section.kind.replace("_", " ")
    return f"{times}{kind} {sizes} mm, {need.length_mm or 0:.0f} mm long"
