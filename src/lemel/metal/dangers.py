"""What can hurt in a composition and a form: cautions to show, and what must not be melted.

The words always defer to local codes, the equipment maker's manual and licensed practice.
"""

from __future__ import annotations

from lemel.tables import Row, Tables, shipped
from lemel.values import Caution, Composition, Objection, Quantity, Saying, SayingValue

__all__ = ["barred", "contaminants", "hazards"]


def hazards(
    body: Composition, form: str = "grain", *, tables: Tables | None = None
) -> tuple[Caution, ...]:
    """Cautions for melting this body in this form, the gravest first."""
    tables = tables or shipped()
    found = [
        Caution(row.key, row.text("at"), row.trust, row.source, _values(row, body))
        for row in sorted(tables.rows("metal_hazard"), key=lambda row: _GRAVITY[row.text("grade")])
        if _applies(row, body, form)
    ]
    return (*found, *contaminants(body, tables=tables))


_GRAVITY = {"stop": 0, "ask": 1, "note": 2}


def barred(
    body: Composition, form: str = "grain", about: str = "", *, tables: Tables | None = None
) -> tuple[Objection, ...]:
    """Why this body must not be melted (grade stop) or wants an answer first (grade ask).

    Cadmium, mercury, beryllium and lead are stops at any skill: send the metal to a refiner.
    """
    tables = tables or shipped()
    return tuple(
        Objection(
            row.key, about, row.text("grade"), _values(row, body),
            Saying("metal.remedy.refiner" if row.text("elements") else "metal.remedy.look"),
        )
        for row in tables.rows("metal_hazard")
        if row.text("grade") != "note" and _applies(row, body, form)
    )  # fmt: skip


def _applies(row: Row, body: Composition, form: str) -> bool:
    elements = row.text("elements").split()
    if elements:
        return any(body.share(e) > row.number("above_percent") / 100 for e in elements)
    return form in row.text("forms").split()


def _values(row: Row, body: Composition) -> dict[str, SayingValue]:
    values: dict[str, SayingValue] = {}
    for element in row.text("elements").split():
        values["element"] = element
        values["share"] = Quantity(1000 * body.share(element), "millesimal")
        values["most"] = Quantity(10 * row.number("above_percent"), "millesimal")
    return values


def contaminants(body: Composition, *, tables: Tables | None = None) -> tuple[Caution, ...]:
    """Elements above the level at which the metal turns short or the model loses its hold."""
    tables = tables or shipped()
    main = body.main()
    host = "film_au_c" if main == "Au" else "film_ag_c"
    found = []
    for row in tables.rows("metal_contaminant"):
        share = body.share(row.key)
        if share <= row.number("warn_percent") / 100 or row.key == main:
            continue
        if main not in ("Ag", "Au"):
            continue
        values: dict[str, SayingValue] = {
            "element": row.key,
            "share": Quantity(1000 * share, "millesimal"),
            "warn": Quantity(10 * row.number("warn_percent"), "millesimal"),
        }
        film = row.number_or(host, 0)
        kind = "present"
        if row.text("embrittles") == "yes":
            kind = "film" if film else "brittle"
        if film:
            values["film"] = Quantity(film, "degC")
        if kind == "present" and _belongs(row.key, body):
            continue
        found.append(
            Caution(f"metal.contaminant.{kind}", row.text("at"), row.trust, row.source, values)
        )
    return tuple(found)


def _belongs(element: str, body: Composition) -> bool:
    """Whether the element is an alloying metal here and no stranger."""
    if element == "Ni":
        return body.main() == "Au"
    if element == "Ge":
        return body.main() == "Ag" and body.share("Ge") < 0.03
    return element == "Zn"
