"""Which model answers for a composition, and how well.

Comes in: any composition. Goes out: a `Model`: a system of elements with parameters, the
mole fractions in it, and what had to be bent to get there. A missing model never stops:
elements without parameters are put down as their nearest relative or left out, the
melting range is moved by an estimate per percent, the grade falls to C and the band
widens; a supplier's sheet close to the composition overrules that range.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import NamedTuple

from lemel.errors import BadInput
from lemel.metal.gibbs import System, system_of
from lemel.metal.kelvin import to_k
from lemel.tables import Row, Tables
from lemel.values import REST, Composition, Quantity, Saying, SayingValue

__all__ = ["Model", "Sheet", "model_of", "sheet_for"]

#: Shares below this (mass) neither choose the model nor spoil its grade.
_TRACE = 5e-4
#: A pair of elements counts with its full band from this share (mass) of the lesser upwards.
_FULL_BAND = 0.05
_GRADES = "ABC"


class Sheet(NamedTuple):
    """A melting range from a supplier's sheet or a published table, used as evidence."""

    key: str
    solidus_c: float
    liquidus_c: float
    density_g_cm3: float | None
    band_k: float
    source: str
    own: bool


class Model(NamedTuple):
    """What stands for a composition in the calculations.

    `x` are mole fractions in the order of `system.elements`; `grams_per_mole` is the
    mass of the real body per mole of atoms. `liquidus_shift_k`, `solidus_shift_k` move the
    computed range where elements were left out; `sheet` replaces it; no estimate goes below
    `floor_k`. `exact` is True if every element of the body is in the model. `towards`: beyond
    the model's limit of an element the range goes over from the limit's to that element's
    melting point (degC), by the share given.
    """

    name: str
    system: System
    x: tuple[float, ...]
    grams_per_mole: float
    grade: str
    band_k: float
    solidus_margin_k: float
    floor_k: float
    liquidus_shift_k: float
    solidus_shift_k: float
    sheet: Sheet | None
    sources: tuple[str, ...]
    notes: tuple[Saying, ...]
    exact: bool
    towards: tuple[float, float] | None = None


@lru_cache(maxsize=4096)
def model_of(body: Composition, tables: Tables) -> Model:
    """The model that answers for `body`."""
    parts = _declared(body, tables)
    key = _system_key(parts, tables)
    row = tables.row("metal_system", key)
    inside = set(row.cells["elements"])
    modelled, excess = _within_limits({e: w for e, w in parts.items() if e in inside}, row)
    moles = _moles(modelled, tables)
    strangers = {e: w for e, w in parts.items() if e not in inside}
    bend = _bend(strangers, moles, tables)
    rest_band = 100 * body.rest * _rest(tables).number("band_k_per_percent")
    elements = tuple(sorted(moles))
    smaller = tables.row("metal_system", "-".join(elements))
    system = system_of(elements, tuple(smaller.cells["phases"]), tables)
    total = sum(moles.values())
    limit_band = 300 * excess[1] if excess else 0.0
    left_out = sum(strangers.values())
    spoilt = left_out > _TRACE or body.rest > 0.02 or limit_band > 0
    pair_band, pair_grade, pair_sources = _pair_quality(elements, parts, tables)
    sheet = sheet_for(body, tables) if left_out > _TRACE else _house_sheet(body, tables)
    return Model(
        name=sheet.key if sheet else smaller.key,
        system=system,
        x=tuple(moles[e] / total for e in elements),
        grams_per_mole=1 / sum(_moles(parts, tables).values()),
        grade="B" if sheet else ("C" if spoilt else pair_grade),
        band_k=sheet.band_k if sheet else pair_band + bend.band_k + limit_band + rest_band,
        solidus_margin_k=0.0 if sheet else float(smaller.cells["solidus_margin_k"]),
        floor_k=to_k(float(smaller.cells["floor_c"])),
        liquidus_shift_k=bend.liquidus_k,
        solidus_shift_k=bend.solidus_k,
        sheet=sheet,
        sources=(sheet.source, *pair_sources) if sheet else pair_sources,
        notes=_notes(body, strangers, sheet, smaller) + _limit_notes(parts, row, excess),
        exact=not strangers and not excess,
        towards=(tables.row("metal_element", excess[0]).number("melts_c"), excess[1])
        if excess
        else None,
    )


def _rest(tables: Tables) -> Row:
    return tables.row("metal_stranger", REST)


def _declared(body: Composition, tables: Tables) -> dict[str, float]:
    """Mass fractions with the undeclared rest put down as the element it most likely is."""
    parts = body.as_dict()
    if body.rest > 0:
        likely = _rest(tables).text("stands_for")
        parts[likely] = parts.get(likely, 0.0) + body.rest
    return parts


def _system_key(parts: Mapping[str, float], tables: Tables) -> str:
    """The system that covers the most mass; pure copper if none covers any."""
    best, covered = "Cu", 0.0
    for row in tables.rows("metal_system"):
        elements = row.cells["elements"]
        if any(e not in parts for e in elements):
            continue
        mass = sum(parts[e] for e in elements)
        if mass > covered + 1e-15:
            best, covered = row.key, mass
    return best


def _moles(parts: Mapping[str, float], tables: Tables) -> dict[str, float]:
    """Moles per gram of body."""
    rows = tables.table("metal_element")
    return {e: share / rows[e].number("molar_mass_g") for e, share in parts.items()}


class _Bend(NamedTuple):
    liquidus_k: float
    solidus_k: float
    band_k: float


def _bend(strangers: Mapping[str, float], moles: dict[str, float], tables: Tables) -> _Bend:
    """Lay elements without parameters onto their relatives in `moles`; sum up the shifts."""
    liquidus = solidus = band = 0.0
    outside = _moles(strangers, tables)
    for element, share in strangers.items():
        row = tables.row("metal_stranger", element)
        relative = row.text("stands_for")
        if relative in moles:
            moles[relative] += outside[element]
        percent = 100 * share
        liquidus += percent * row.number("liquidus_k_per_percent")
        solidus += percent * row.number("solidus_k_per_percent")
        band += percent * row.number("band_k_per_percent")
    if not moles:
        moles["Cu"] = 1.0
        band += 200
    most = 350.0
    return _Bend(max(-most, min(most, liquidus)), max(-most, min(most, solidus)), min(band, most))


def _within_limits(
    parts: Mapping[str, float], row: Row
) -> tuple[dict[str, float], tuple[str, float] | None]:
    """The nearest composition inside the system's limits.

    Also the element that had too much, and how far the body lies on the way from the limit to
    that element alone (0 to 1); None if nothing had.
    """
    total = sum(parts.values())
    for element, most in row.cells["limits"].items():
        share = parts.get(element, 0.0) / total if total else 0.0
        if share > most and len(parts) > 1:
            others = total - parts[element]
            kept = {e: w * (1 - most) / others for e, w in parts.items() if e != element}
            return {**kept, element: most}, (element, (share - most) / (1 - most))
    return dict(parts), None


def _limit_notes(
    parts: Mapping[str, float], row: Row, excess: tuple[str, float] | None
) -> tuple[Saying, ...]:
    if excess is None:
        return ()
    element = excess[0]
    values: dict[str, SayingValue] = {
        "element": element,
        "share": Quantity(1000 * parts[element], "millesimal"),
        "most": Quantity(1000 * row.cells["limits"][element], "millesimal"),
    }
    return (Saying("metal.model.beyond", values),)


def _pair_quality(
    elements: tuple[str, ...], parts: Mapping[str, float], tables: Tables
) -> tuple[float, str, tuple[str, ...]]:
    """Band, grade and sources from the parameter rows in use; a trace counts for little."""
    base = max(float(tables.row("metal_system", e).cells["band_k"]) for e in elements)
    full = float(tables.row("metal_system", "-".join(elements)).cells["band_k"])
    band, grade = base, "A"
    sources = ["sgte_unary"]
    excess = tables.table("metal_excess")
    for i, first in enumerate(elements):
        for second in elements[i + 1 :]:
            lesser = min(parts.get(first, 0.0), parts.get(second, 0.0))
            weight = min(1.0, lesser / _FULL_BAND)
            pair = float(tables.row("metal_system", f"{first}-{second}").cells["band_k"])
            band = max(band, base + weight * (pair - base))
            if len(elements) > 2 and weight > 0:
                least = min(parts.get(e, 0.0) for e in elements)
                band = max(band, base + min(1.0, least / _FULL_BAND) * (full - base))
            for row in excess.values():
                if row.cells["elements"] == [first, second]:
                    if row.source not in sources:
                        sources.append(row.source)
                    if lesser > _TRACE:
                        grade = max(grade, row.text("grade"), key=_GRADES.index)
    return band, grade, tuple(sources)


def _notes(
    body: Composition, strangers: Mapping[str, float], sheet: Sheet | None, row: Row
) -> tuple[Saying, ...]:
    notes: list[Saying] = []
    if sheet:
        notes.append(Saying("metal.model.sheet", {"sheet": sheet.key}))
    for element, share in sorted(strangers.items(), key=lambda pair: -pair[1]):
        if share > _TRACE:
            amount = Quantity(1000 * share, "millesimal")
            values: dict[str, SayingValue] = {"element": element, "share": amount, "model": row.key}
            notes.append(Saying("metal.model.neighbour", values))
    if body.rest > _TRACE:
        notes.append(
            Saying("metal.model.rest", {"share": Quantity(1000 * body.rest, "millesimal")})
        )
    return tuple(notes)


def sheet_for(body: Composition, tables: Tables) -> Sheet | None:
    """The nearest sheet within its own window; the house's own rows first."""
    best: tuple[bool, float, Row] | None = None
    for row in tables.rows("metal_sheet"):
        given = _written(row.text("composition"), row.key)
        names = set(given) | set(body.elements)
        apart = max(abs(given.get(e, 0.0) - 1000 * body.share(e)) for e in names)
        if apart > row.number_or("within_millesimal", 5):
            continue
        rank = (row.trust != "house", apart, row)
        if best is None or rank[:2] < best[:2]:
            best = rank
    if best is None:
        return None
    row = best[2]
    density = row.number_or("density_g_cm3", 0.0)
    return Sheet(
        row.key,
        row.number("solidus_c"),
        row.number("liquidus_c"),
        density or None,
        row.number_or("band_k", 20),
        row.source,
        row.trust == "house",
    )


def _house_sheet(body: Composition, tables: Tables) -> Sheet | None:
    """The house's own sheet overrules a model too; a shipped row does not."""
    sheet = sheet_for(body, tables)
    return sheet if sheet and sheet.own else None


def _written(text: str, key: str) -> dict[str, float]:
    """'Au=585 Ag=255 Pd=160' as millesimal parts."""
    try:
        pairs = [piece.split("=") for piece in text.split()]
        return {element: float(value) for element, value in pairs}
    except ValueError:
        raise BadInput(
            f"metal_sheet.{key}.composition", text, "Au=585 Ag=255 Pd=160", "Write parts so."
        ) from None
