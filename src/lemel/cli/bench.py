"""`lemel mill` and `lemel cut`: from bar to stock, from stock to blanks."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from lemel.cli.answer import INFEASIBLE, Told, plain
from lemel.cli.run import verb
from lemel.cut import CutNeed, Layout, line_of
from lemel.cut import do as lay_out
from lemel.cut import need as blanks_of
from lemel.files import read_cut, read_mill
from lemel.mill import Route, Step
from lemel.mill import do as find_route
from lemel.values import StockNeed

if TYPE_CHECKING:
    from lemel.cli.paper import Paper

__all__ = ["cut", "mill"]


@verb("mill")
@click.argument("file", metavar="FILE")
def mill(file: str) -> Told:
    """FILE holds a bar, the stock that is wanted and the tools; see docs/files.md."""
    found = find_route(read_mill(file))
    code = INFEASIBLE if found.status == "infeasible" else 0
    return Told(_mill_payload(found), lambda paper: _show_route(found, paper), code)


def _mill_payload(found: Route) -> dict[str, Any]:
    payload: dict[str, Any] = plain(found)
    payload["steps"] = [_step(one) for one in found.steps]
    payload["proven"] = found.proof.status == "optimal"
    payload["lower_bound"] = found.proof.bound
    payload["offcut_g"] = sum(one.mass_g for one in found.offcuts)
    payload["mass_g"] = sum(one.mass_g for one in found.stock)
    return payload


def _step(one: Step) -> dict[str, Any]:
    step: dict[str, Any] = plain(one)
    step["strain_since_soft"] = step.pop("strain")
    return step


def _show_route(found: Route, paper: Paper) -> None:
    if found.status == "infeasible":
        paper.line("This bar does not become that stock with these tools.")
    else:
        few = ""
        if found.fewest is not None and found.fewest < found.passes:
            few = f" At full force {found.fewest} passes would do."
        paper.line(
            f"{found.passes} passes, {found.anneals} anneals, about {found.minutes:.0f} min.{few}"
        )
        paper.table(
            ("", "tool", "size mm", "passes", "width", "length", "HV", "turn", "effort"),
            [_route_row(one) for one in found.steps],
            left=2,
            words_last=True,
        )
        _show_notes(found, paper)
        mass = sum(one.mass_g for one in found.stock)
        off = sum(one.mass_g for one in found.offcuts)
        paper.line(
            f"{mass:.2f} g of stock, {off:.2f} g of offcuts, {found.loss_g:.2f} g filed off."
        )
    paper.sayings("Why", (*found.objections, *found.explain))
    paper.sayings("Ways out", found.ways_out)
    paper.sayings("Mind", found.cautions)


def _show_notes(found: Route, paper: Paper) -> None:
    """What is to be done at a step, told once for all the steps that it is for."""
    from lemel.words import say

    steps: dict[str, list[str]] = {}
    for one in found.steps:
        if one.note:
            steps.setdefault(say(one.note), []).append(str(one.n))
    if steps:
        paper.head("How")
    for note, numbers in steps.items():
        paper.line(f"  {', '.join(numbers)}: {note}")


def _route_row(one: Step) -> tuple[str, ...]:
    return (
        str(one.n),
        one.tool,
        f"{one.size_mm:.2f}" if one.size_mm else "",
        str(one.passes) if one.passes else "",
        f"{one.width_mm:.1f}",
        f"{one.length_mm:.0f}",
        f"{one.hv:.0f}",
        f"{one.screw_turn:.2f}" if one.screw_turn else "",
        one.effort.replace("_", " "),
    )


@verb("cut")
@click.argument("file", metavar="FILE")
def cut(file: str) -> Told:
    """FILE holds pieces and, if there is any, the stock to cut them from; see docs/files.md."""
    given = read_cut(file)
    standards = {line.standard for line in given.lines}
    asked = blanks_of(given.lines, dict.fromkeys(standards, given.body), given.saw)
    laid = lay_out(given.problem(asked.blanks)) if given.stock and asked.blanks else None
    stopped = any(one.grade == "stop" for one in asked.objections)
    unplaced = laid is not None and bool(laid.unplaced)
    code = INFEASIBLE if stopped or unplaced else 0
    return Told(_cut_payload(asked, laid), lambda paper: _show_cut(asked, laid, paper), code)


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
        paper.head("Laid out")
        paper.table(
            ("bar", "blanks", "scrap g", "kerf g", "left over"),
            [
                (
                    sheet.bar,
                    str(len(sheet.placements)),
                    f"{sheet.scrap_g:.2f}",
                    f"{sheet.kerf_g:.2f}",
                    f"{sheet.remnant.mass_g:.2f} g" if sheet.remnant else "nothing usable",
                )
                for sheet in laid.sheets
            ],
        )
        paper.line(f"{100 * laid.use:.0f} % of the stock becomes blanks.")
        if laid.unplaced:
            paper.line(f"No room for {', '.join(laid.unplaced)}.")
    parts: list[CutNeed | Layout] = [asked] if laid is None else [asked, laid]
    paper.sayings("Why", [said for part in parts for said in (*part.objections, *part.explain)])
    paper.sayings("Ways out", [said for part in parts for said in part.ways_out])
    paper.sayings("Mind", laid.cautions if laid else ())


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
