"""Named cases: plate, wire and strip, reproduced or beaten, with what is proven of them.

The figures to beat come from a prototype of the same rules (R 30, mu 0.13, 268 N m, 60 kN,
80 kN/mm, bearings 0.03 x 30 mm): plate 13 passes and 2 anneals, wire 27 groove passages and
3 draws with 3 anneals, strip 14 to 15 passes with 2 anneals (3 for a cautious hand).
"""

from __future__ import annotations

import time
from dataclasses import replace

import pytest

from lemel.mill import MillProblem, Route, do
from lemel.tables import Tables, shipped
from lemel.values import Bar, Grooves, Section, StockNeed
from tests.mill.metals import GROOVES, HALF_HARD, YELLOW_750, ingot, kit, sheet, strip, wire

#: A confident worker on sound metal, as the prototype assumed.
STERLING = {"sterling": {"strain_most": 1.2, "cast_strain_most": 0.6}}


def tables(metal: dict[str, dict[str, object]], rules: dict[str, float] | None = None) -> Tables:
    over: dict[str, dict[str, dict[str, object]]] = {"metal_working": metal}
    if rules:
        over["mill_rules"] = {name: {"value": value} for name, value in rules.items()}
    return shipped().with_overrides(over)


def fewest(bar: Bar, need: StockNeed, facts: Tables, **options: object) -> Route:
    tools = options.pop("tools", None) or kit(opening_mm=8)
    problem = MillProblem(bar, need, tools, variant="fewest", **options)  # type: ignore[arg-type]
    return do(problem, tables=facts)


def passes_by(route: Route, tool: str) -> int:
    return sum(step.passes for step in route.steps if step.tool == tool)


PLATE = ingot(Section.flat(4, 50), 80, 165.8)
PLATE_NEED = sheet(0.8, 300, 46, HALF_HARD)
WIRE = ingot(Section.square(6, 0.97), 110, 39.8)
STRIP = ingot(Section.square(8, 0.97), 50, 47.2, YELLOW_750)


def test_plate_to_half_hard_sheet_in_13_passes_and_2_anneals_with_a_closed_certificate():
    found = fewest(PLATE, PLATE_NEED, tables(STERLING | {}))
    assert (found.passes, found.anneals) == (13, 2)
    assert found.fewest_over == "all_sizes"
    assert found.fewest_bound == pytest.approx(found.fewest_cost)
    assert 0.20 <= found.steps[-1].strain <= 0.27 + 1e-6
    # From the second pass on a plate of 50 mm the frame binds rather than the crank.
    assert sum(s.limit == "frame" for s in found.steps) >= 4


@pytest.mark.parametrize("ratio", [1.03, 1.02, 1.01, 1.005])
def test_the_plate_needs_13_passes_on_every_mesh(ratio):
    found = fewest(PLATE, PLATE_NEED, tables(STERLING), mesh=ratio)
    assert (found.passes, found.anneals) == (13, 2)


def test_plate_at_less_than_full_load_takes_as_many_passes_as_was_found_before():
    """13 at the full crank, 15 at 70 %, 23 at 50 %, 31 at 40 %, at most."""
    for comfort, known in ((0.7, 15), (0.5, 23), (0.4, 31)):
        tools = kit(opening_mm=8, torque_nm=268 * comfort)
        found = fewest(PLATE, PLATE_NEED, tables(STERLING), tools=tools)
        assert found.passes <= known
        assert found.passes >= 13


def test_wire_under_bench_rules_is_no_worse_than_the_prototype():
    """Grooves with four half-open sizes, passages up to 15 %, holes up to 13 %."""
    rules = {
        "close_grooves": 0, "draw_least": 0, "hole_reduction_next": 0.13, "half_open_sizes": 4,
    }  # fmt: skip
    found = fewest(WIRE, wire(1.0, 3000), tables(STERLING, rules))
    assert found.anneals <= 3
    assert passes_by(found, "groove") <= 27
    assert found.passes <= 30
    assert found.proof.status == "optimal"


def test_wire_with_closed_grooves_is_proven_over_all_sizes():
    """Stricter than the prototype: legs end closed, a quarter is drawn from square to round."""
    found = fewest(WIRE, wire(1.0, 3000), tables(STERLING), prove=True)
    assert (found.passes, found.anneals) == (27, 3)
    assert found.fewest_over == "all_sizes"
    assert found.fewest_cost - found.fewest_bound <= 2 + 1e-9
    for step in found.steps:
        if step.tool == "anneal" and step.section.kind == "square":
            assert min(abs(step.section.dim("side") - g) for g in GROOVES) < 1e-9


@pytest.mark.parametrize(
    ("strain", "cast", "anneals", "most"), [(1.05, 0.5, 2, 15), (0.69, 0.4, 3, 15)]
)
def test_gold_strip_with_its_gap(strain, cast, anneals, most):
    """18 kt 8 x 8 x 50 to 2 x 5: 10-11 groove and 4 flat passes, on grooves up to 7.5 mm."""
    curve = {"soft_hv": 150, "full_hv": 245, "strain_scale": 0.55}
    gold = {"18 ct yellow": {**curve, "strain_most": strain, "cast_strain_most": cast}}
    wide = kit(opening_mm=8)
    wide = replace(wide, grooves=(Grooves("grooves", "mill 120", (7.5, 7.0, 6.5, *GROOVES)),))
    found = fewest(STRIP, strip(2.0, 5.0, 200), tables(gold), tools=wide, prove=True)
    assert found.anneals == anneals
    assert found.passes <= most
    assert passes_by(found, "flats") <= 5
    assert found.fewest_cost - found.fewest_bound <= 2 + 1e-9
    assert found.stock[0].section.width_mm == pytest.approx(5.0, abs=0.15)


def test_the_prototypes_entry_square_for_the_strip_comes_from_its_spread():
    """From a 4.19 square Hill's spread gives 5.0 mm of width, from 3.82 it gives 4.5."""
    from lemel.mill import width_rolled_mm
    from lemel.mill.rules import rules_of

    rules = rules_of()
    assert width_rolled_mm(4.19, 4.19, 2.0, 30, 1, rules) == pytest.approx(5.0, abs=0.02)
    assert width_rolled_mm(3.82, 3.82, 2.0, 30, 1, rules) == pytest.approx(4.5, abs=0.02)


def test_a_route_is_found_in_half_a_second():
    problem = MillProblem(PLATE, PLATE_NEED, kit())
    times = []
    for _ in range(3):
        start = time.perf_counter()
        do(problem)
        times.append(time.perf_counter() - start)
    # The goal is 0.5 s; three times that is asserted, for busy machines.
    assert min(times) < 1.5
