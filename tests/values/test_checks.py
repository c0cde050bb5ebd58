"""A value that cannot be is not made, and says which field, what is allowed and what to do."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given

from lemel import quantities
from lemel.errors import BadInput
from lemel.values import (
    BeliefSet,
    Composition,
    Consent,
    HeatOrder,
    Lot,
    Money,
    Origin,
    Prices,
    Promise,
    Quantity,
    Reading,
    Section,
    Temper,
    Workshop,
    figures,
)
from tests.strategies import belief_sets, sections

SILVER = Composition.from_millesimal({"Ag": 925, "Cu": 75})


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: Quantity(float("nan"), "g"), "value"),
        (lambda: Quantity(True, "g"), "value"),
        (lambda: Quantity(1.0, "stone"), "unit"),
        (lambda: Lot("S1", "Ada", "Cu", "wire", 1.0), "main"),
        (lambda: Lot("S1", "Ada", "Ag", "dust", 1.0), "form"),
        (lambda: Lot("S1", "Ada", "Ag", "wire", -1.0), "mass_g"),
        (lambda: Lot("", "Ada", "Ag", "wire", 1.0), "id"),
        (lambda: Lot("S1", "Ada", "Ag", "wire", 1.0, flags={"lead": "perhaps"}), "flags.lead"),
        (lambda: Reading("R1", "S1", "xrf-bench"), "values"),
        (lambda: Reading("R1", "S1", "xrf-bench", {"Ag": 925}), "values.Ag"),
        (lambda: Origin((("unknown", 0.9),)), "origin"),
        (lambda: Consent("C1", "Ada", "everything", date(2031, 10, 1)), "allows"),
        (lambda: Promise("Ag 925", 0.4), "probability"),
        (lambda: HeatOrder("H1", "Ada", Promise("Ag 925"), 100, 50), "most_g"),
        (lambda: Section("round", (("side", 3.0),)), "dims_mm"),
        (lambda: Section.square(-3), "side_mm"),
        (lambda: Section.square(3, corner=1.2), "corner"),
        (lambda: Temper("hv", 120, 80), "hi"),
        (lambda: Money(Decimal("NaN"), "QMF"), "amount"),
        (lambda: Money(Decimal(1), "QMF") + Money(Decimal(1), "GBP"), "currency"),
        (lambda: Prices("QMF", date(2031, 10, 1), {}), "fine_per_g"),
        (lambda: Workshop("w", "W", "house", {"ada": "Ada"}, date(2031, 10, 1)), "house"),
        (lambda: Composition((("Ag", 0.5),)), "parts"),
        (lambda: Composition((("Cu", 0.5), ("Ag", 0.5))), "parts"),
        (
            lambda: BeliefSet(("S1",), "Ag", (SILVER,), (0.1,), ("gun",), ((),), ({},),
                              ((1.0, 0.0),), (0.0,), "x"),
            "loading",
        ),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_with_its_field(make, field):
    with pytest.raises(BadInput) as fault:
        make()
    assert fault.value.field == field
    assert fault.value.allowed
    assert fault.value.do


def test_values_cannot_be_changed_after_they_are_made():
    lot = Lot("S1", "Ada", "Ag", "wire", 41.2)
    with pytest.raises(AttributeError):
        lot.mass_g = 999.0  # type: ignore[misc]


def test_every_unit_that_a_quantity_may_carry_is_known_to_the_units():
    assert set(quantities.units()) >= figures.UNITS


@given(sections())
def test_a_section_lies_between_its_inscribed_shape_and_its_box(section):
    box = section.thickness_mm * section.width_mm
    assert 0.5 * box * section.corner <= section.area_mm2 <= box * (1 + 1e-12)


def test_a_flat_laid_on_edge_is_laid_flat():
    assert Section.flat(30, 2) == Section.flat(2, 30)
    assert Section.flat(30, 2).thickness_mm == 2


@given(belief_sets())
def test_the_spread_of_a_body_is_its_own_and_its_shared_errors_together(beliefs):
    for n, body in enumerate(beliefs.bodies):
        parts = [beliefs.own_sd[n], *beliefs.loading[n]]
        assert beliefs.sd(body) == pytest.approx(sum(part**2 for part in parts) ** 0.5)


def test_a_body_without_a_belief_is_refused_by_name():
    nothing = BeliefSet((), "Ag", (), (), (), (), (), (), (), "")
    with pytest.raises(BadInput, match="Believe the lot first"):
        nothing.row("S9")
