"""Finenesses that law and trade know, by place and date; no minus tolerance unless asked."""

from __future__ import annotations

import re
from datetime import date
from functools import lru_cache

from lemel.errors import BadInput
from lemel.tables import Row, Tables, shipped
from lemel.values import METALS, Standard

__all__ = [
    "fineness_of", "highest_mark", "solder_least", "standard", "standards", "standards_met",
    "whole_article_least",
]  # fmt: skip

_SHORT = re.compile(r"^(Ag|Au|Pt|Pd)\s+(\d+(?:\.\d+)?)$")


@lru_cache(maxsize=16)
def _all(tables: Tables) -> tuple[Standard, ...]:
    return tuple(_made(row) for row in tables.rows("metal_standard"))


def _made(row: Row) -> Standard:
    return Standard(
        id=row.key,
        jurisdiction=row.text("jurisdiction"),
        main=row.text("main"),
        least=row.number("least_millesimal") / 1000,
        source=row.source,
        minus_tolerance=row.number_or("minus_tolerance_millesimal", 0) / 1000,
        valid_from=_day(row.text("valid_from")),
        valid_to=_day(row.text("valid_to")),
        trust=row.trust,
    )


def _day(text: str) -> date | None:
    return date.fromisoformat(text) if text else None


def standard(id: str, jurisdiction: str | None = None, *, tables: Tables | None = None) -> Standard:
    """A standard by id ("UK Ag 925"), or in short ("Ag 925") with its jurisdiction.

    Raises BadInput with the ids of the same metal.

    >>> standard("UK Ag 925").least, standard("Ag 925", "UK").id
    (0.925, 'UK Ag 925')
    """
    known = _all(tables or shipped())
    wanted = " ".join(id.split())
    short = _SHORT.match(wanted)
    if short and jurisdiction:
        wanted = f"{jurisdiction} {short.group(1)} {float(short.group(2)):g}"
    for one in known:
        if one.id == wanted:
            return one
    metal = next((m for m in METALS if m in wanted.split()), None)
    near = [s.id for s in known if metal is None or s.main == metal]
    here = [i for i in near if jurisdiction and i.startswith(jurisdiction + " ")]
    raise BadInput(
        "standard", id, ", ".join((here or near)[:16]),
        "Write the place, the metal and the millesimal fineness, as in UK Ag 925.",
    )  # fmt: skip


def standards(
    jurisdiction: str | None = None, on: date | None = None, *, tables: Tables | None = None
) -> tuple[Standard, ...]:
    """All standards of a jurisdiction (None: of all) in force on a day (None: any day)."""
    return tuple(
        one
        for one in _all(tables or shipped())
        if (jurisdiction is None or one.jurisdiction == jurisdiction) and _in_force(one, on)
    )


def _in_force(one: Standard, on: date | None) -> bool:
    if on is None:
        return one.valid_to is None
    return (one.valid_from is None or one.valid_from <= on) and (
        one.valid_to is None or on <= one.valid_to
    )


def standards_met(
    main: str,
    proven_fraction: float,
    on: date | None = None,
    *,
    margin: float = 0.0,
    tolerate: bool = False,
    tables: Tables | None = None,
) -> tuple[Standard, ...]:
    """The highest standard that a proven fineness keeps, in each jurisdiction.

    `margin` (fraction) is kept in hand below the proven value; `tolerate` allows the
    jurisdiction's minus tolerance (off: a 925 article that proves 924.9 is not 925).
    """
    best: dict[str, Standard] = {}
    for one in standards(None, on, tables=tables):
        least = one.least - (one.minus_tolerance if tolerate else 0.0)
        if one.main != main or proven_fraction - margin < least - 1e-9:
            continue
        held = best.get(one.jurisdiction)
        if held is None or one.least > held.least:
            best[one.jurisdiction] = one
    return tuple(best.values())


def highest_mark(
    jurisdiction: str,
    main: str,
    proven_fraction: float,
    on: date | None = None,
    *,
    margin: float = 0.0,
    tables: Tables | None = None,
) -> Standard | None:
    """The mark that a proven fineness allows in one jurisdiction; None if it allows none."""
    met = standards_met(main, proven_fraction, on, margin=margin, tables=tables)
    return next((one for one in met if one.jurisdiction == jurisdiction), None)


def solder_least(
    one: Standard, kind: str = "any", *, tables: Tables | None = None
) -> tuple[float, str] | None:
    """Least fineness of solder for a standard (fraction) and the trust of the rule; None: no rule.

    `kind` is any, white or filigree.
    """
    found = None
    for row in (tables or shipped()).rows("metal_solder_rule"):
        fits = (
            row.text("jurisdiction") == one.jurisdiction
            and row.text("main") == one.main
            and row.number("from_millesimal") <= 1000 * one.least <= row.number("to_millesimal")
        )
        if (
            fits
            and row.text("kind") in ("any", kind)
            and (found is None or row.text("kind") == kind)
        ):
            found = (row.number("least_millesimal") / 1000, row.trust)
    return found


def whole_article_least(
    one: Standard, kind: str = "whole article", *, tables: Tables | None = None
) -> tuple[float, str] | None:
    """How low a whole soldered article may assay when it is melted, with the rule's trust.

    It bounds what the mark on soldered scrap says of its melt. None: no rule is listed. `kind`
    "watch" asks for watch cases and flatware.
    """
    best: tuple[int, float, str] | None = None
    for row in (tables or shipped()).rows("metal_whole_article"):
        if row.text("jurisdiction") != one.jurisdiction or row.text("main") not in (
            "any",
            one.main,
        ):
            continue
        special = "watch" in row.text("kind")
        if special and kind != "watch":
            continue
        least = one.least - row.number("below_millesimal") / 1000
        if best is None or special > best[0]:
            best = (int(special), least, row.trust)
    return None if best is None else (best[1], best[2])


def fineness_of(expression: str, *, tables: Tables | None = None) -> float:
    """Mass fraction that a written fineness means: carats, loth, zolotniks, names, millesimal.

    14 carat is 583.3 millesimal and stays apart from the standard 585.

    >>> round(1000 * fineness_of("14 ct"), 2), fineness_of("sterling"), fineness_of("925")
    (583.33, 0.925, 0.925)
    """
    rows = (tables or shipped()).table("metal_expression")
    text = " ".join(expression.lower().replace("/", " ").split())
    if text in rows and rows[text].text("value"):
        return rows[text].number("value") / rows[text].number("of")
    found = re.match(r"^(\d+(?:[.,]\d+)?)\s*([a-zö]*)\.?$", text)
    if found:
        value, unit = float(found.group(1).replace(",", ".")), found.group(2)
        scale = _SCALES.get(unit)
        if scale and value <= rows[scale].number("of"):
            return value / rows[scale].number("of")
        if not unit and 100 <= value <= 1000:
            return value / 1000
    raise BadInput(
        "fineness", expression, "925, 14 ct, 18 k, 13 loth, 84 zolotnik, sterling, britannia",
        "Write the fineness in one of these ways.",
    )  # fmt: skip


_SCALES = {
    "k": "carat", "kt": "carat", "ct": "carat", "carat": "carat", "karat": "carat",
    "loth": "loth", "lot": "loth", "löthig": "loth", "lötig": "loth",
    "zol": "zolotnik", "zolotnik": "zolotnik",
}  # fmt: skip
