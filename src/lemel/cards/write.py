"""From a plan to files: one PDF of everything, and one for each heat, bar and layout."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from lemel.cards.bar import bar_card
from lemel.cards.care import care_card
from lemel.cards.hand import Hand
from lemel.cards.heat import HeatSheet, heat_card, sheet_of
from lemel.cards.ids import file_name
from lemel.cards.layout import layout_cards
from lemel.cards.month import month_card
from lemel.cards.paper import labels
from lemel.cards.press import Card, press, snapshot
from lemel.plan import Plan
from lemel.quantities import AS_IT_COMES, Preference

__all__ = ["charge_card", "month_pdf", "picture", "write", "write_charges"]


@dataclass(frozen=True, slots=True)
class _Named:
    """A card with the name of its own file; "" for one that stands in the whole only."""

    name: str
    card: Card


def write(plan: Plan, folder: Path, *, units: Preference | None = None) -> tuple[Path, ...]:
    """Write the month's PDF and one for each heat, bar and layout; their paths, the month first.

    Each file is written beside its place and moved there whole, so that nobody ever finds
    half a card; a card of the same name is replaced. Raises OSError where the folder cannot
    be written.
    """
    folder.mkdir(parents=True, exist_ok=True)
    named = _cards(plan, Hand(units or AS_IT_COMES))
    paths = [_put(folder / f"{file_name(plan.id)}-month.pdf", _pressed(plan.id, named))]
    taken = {paths[0].name}
    for one in named:
        if one.name:
            name = _free(f"{file_name(plan.id)}-{file_name(one.name)}", taken)
            paths.append(_put(folder / name, _pressed(one.name, [one])))
    return tuple(paths)


def month_pdf(plan: Plan, *, units: Preference | None = None) -> bytes:
    """All cards of a plan as one PDF: month sheet, what to mind, heats with their bars and
    layouts, then what is made from the drawer. The same plan gives the same bytes."""
    return _pressed(plan.id, _cards(plan, Hand(units or AS_IT_COMES)))


def picture(plan: Plan, *, units: Preference | None = None, ppi: float = 100.0) -> bytes:
    """A look at the cards without a printer: the month, a heat, a bar and a layout, as PNG."""
    named = _cards(plan, Hand(units or AS_IT_COMES))
    kinds = {one.card["kind"]: one.card for one in reversed(named)}
    shown = [kinds[kind] for kind in ("month", "heat", "bar", "layout") if kind in kinds]
    return snapshot(shown, labels(), ppi)


def charge_card(sheet: HeatSheet, *, units: Preference | None = None) -> bytes:
    """One heat's card by itself, as PDF: a page for a charge that stands in no plan.

    Without a `melt` it is a list of tubs with its promise and room for notes.
    """
    card = _Named(sheet.charge.heat, heat_card(sheet, Hand(units or AS_IT_COMES)))
    return _pressed(sheet.charge.heat, [card])


def write_charges(
    sheets: Sequence[HeatSheet], folder: Path, *, units: Preference | None = None
) -> tuple[Path, ...]:
    """One file for each heat that stands in no plan, named after it, written whole."""
    folder.mkdir(parents=True, exist_ok=True)
    taken: set[str] = set()
    paths = []
    for sheet in sheets:
        name = _free(f"{file_name(sheet.charge.heat)}-charge", taken)
        paths.append(_put(folder / name, charge_card(sheet, units=units)))
    return tuple(paths)


def _cards(plan: Plan, hand: Hand) -> list[_Named]:
    foot = " \N{MIDDLE DOT} ".join(part for part in (plan.shop, plan.id) if part)
    cards = [_Named("", month_card(plan, hand, foot))]
    care = care_card(plan, hand, foot)
    if care is not None:
        cards.append(_Named("", care))
    for heat in plan.heats:
        cards.append(_Named(heat.id, heat_card(sheet_of(plan, heat, foot), hand)))
        cards += _made_from(plan, heat.id, hand, foot)
    return [*cards, *_made_from(plan, "", hand, foot)]


def _made_from(plan: Plan, heat: str, hand: Hand, foot: str) -> Iterator[_Named]:
    """The bars and layouts of one heat, or with "" those of the drawer."""
    for work in plan.stock:
        if work.heat != heat:
            continue
        layouts = layout_cards(plan, work, hand, foot)
        for one in work.bars:
            own = {made.id for made in one.route.stock}
            cuts = [cut for cut in layouts if cut["listed"] and cut["title"] in own]
            yield _Named(one.bar.id, bar_card(plan, work, one, hand, foot, cuts))
        for layout in layouts:
            if not layout["listed"]:
                yield _Named(f"{layout['title']}-layout", layout)


def _pressed(title: str, named: list[_Named]) -> bytes:
    return press([one.card for one in named], title, labels())


def _free(stem: str, taken: set[str]) -> str:
    """A name that no other card of this writing has."""
    name, number = f"{stem}.pdf", 2
    while name.lower() in {one.lower() for one in taken}:
        name, number = f"{stem}-{number}.pdf", number + 1
    taken.add(name)
    return name


def _put(path: Path, content: bytes) -> Path:
    handle, beside = tempfile.mkstemp(prefix=".card-", suffix=".pdf", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        Path(beside).chmod(0o644)
        Path(beside).replace(path)
    except BaseException:
        with suppress(OSError):
            Path(beside).unlink()
        raise
    return path
