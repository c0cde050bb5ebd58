"""Hardening in the fire: a temper met by a solution anneal, a quench and an age."""

from __future__ import annotations

from dataclasses import replace

from lemel.mill.faces import Route, Step
from lemel.mill.matter import matter_of
from lemel.tables import Row, Tables, shipped
from lemel.values import Bar, Quantity, Saying, Temper

__all__ = ["aged", "hardening_row"]


def hardening_row(bar: Bar, temper: Temper | None, tables: Tables | None = None) -> Row | None:
    """The row of the table by which this alloy reaches a hardness band; None: it does not."""
    if temper is None or temper.kind != "hv":
        return None
    working = matter_of(bar.body, tables).working
    fineness = bar.body.fineness(bar.body.main())
    for row in (tables or shipped()).rows("mill_hardens"):
        fits = row.text("family") == working.family
        fits = fits and row.number("fineness_lo") <= fineness <= row.number("fineness_hi")
        if fits and row.number("hv_lo") <= temper.hi and row.number("hv_hi") >= temper.lo:
            return row
    return None


def aged(route: Route, row: Row, temper: Temper, anneal_min: float) -> Route:
    """A route to soft stock with the age hardening put after it."""
    hv = (max(row.number("hv_lo"), temper.lo) + min(row.number("hv_hi"), temper.hi)) / 2
    minutes = row.number("solution_min") + row.number("age_min") + anneal_min
    note = Saying(
        "mill.note.age",
        {
            "lo": Quantity(row.number("solution_lo_c"), "degC"),
            "hi": Quantity(row.number("solution_hi_c"), "degC"),
            "hold": Quantity(row.number("solution_min"), "min"),
            "age": Quantity(row.number("age_c"), "degC"),
            "time": Quantity(row.number("age_min"), "min"),
        },
    )
    made = route.stock[0]
    step = Step(
        n=len(route.steps) + 1,
        tool="age",
        size_mm=made.section.thickness_mm,
        section=made.section,
        width_mm=made.section.width_mm,
        length_mm=made.length_mm,
        strain=0.0,
        hv=hv,
        force_n=0.0,
        torque_nm=0.0,
        limit="none",
        effort="easy",
        passes=0,
        minutes=minutes,
        note=note,
    )
    said = Saying(
        "mill.explain.aged",
        {"lo": Quantity(row.number("hv_lo"), "HV"), "hi": Quantity(row.number("hv_hi"), "HV")},
    )
    stock = tuple(replace(one, note="aged") for one in route.stock)
    steps: tuple[Step, ...] = (*route.steps, step)
    return replace(
        route, steps=steps, minutes=route.minutes + minutes, stock=stock,
        explain=(*route.explain, said),
    )  # fmt: skip
