"""Families, colours, stand-ins, hazards: what kind of metal it is and what can hurt."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lemel.errors import BadInput
from lemel.metal import (
    COLOURS,
    FAMILIES,
    barred,
    colour,
    colour_window,
    contaminants,
    family,
    hazards,
    may_meet,
    melting,
    melting_many,
)
from lemel.tables import shipped
from lemel.values import FORMS, Composition
from lemel.words import say
from tests.strategies import compositions

OF = Composition.from_millesimal


@pytest.mark.parametrize(
    ("parts", "hint", "kind"),
    [
        ({"Ag": 925, "Cu": 75}, "none", "silver"),
        ({"Ag": 999, "Cu": 1}, "none", "fine_silver"),
        ({"Ag": 958, "Cu": 42}, "none", "britannia"),
        ({"Ag": 930, "Cu": 58, "Ge": 12}, "none", "germanium_silver"),
        ({"Au": 750, "Ag": 125, "Cu": 125}, "none", "yellow"),
        ({"Au": 750, "Ag": 45, "Cu": 205}, "none", "red"),
        ({"Au": 375, "Ag": 100, "Cu": 525}, "none", "red"),
        ({"Au": 750, "Pd": 150, "Ag": 100}, "none", "white_pd"),
        ({"Au": 750, "Ni": 110, "Cu": 90, "Zn": 50}, "none", "white_ni"),
        ({"Au": 750, "Ag": 250}, "green", "yellow"),
        ({"Pt": 950, "Cu": 50}, "none", "platinum"),
        ({"Pd": 950, "Cu": 50}, "none", "palladium"),
        ({"Cu": 700, "Zn": 300}, "none", "base"),
    ],
)
def test_the_family_of_an_alloy(parts, hint, kind):
    assert family(OF(parts), hint) == kind


def test_a_stated_colour_decides_where_the_alloying_metals_are_not_named():
    bare = Composition.of({"Au": 0.75}, 0.25)
    assert family(bare, "white_pd") == "white_pd"
    assert family(bare, "rose") == "red"
    assert family(bare) == "yellow"


@given(compositions(), st.sampled_from(["none", "yellow", "rose", "white_pd"]))
def test_every_metal_has_a_family_a_colour_and_meets_itself(body, hint):
    kind = family(body, hint)
    assert kind in FAMILIES
    assert may_meet(kind, kind)
    assert colour(body) in COLOURS


def test_meeting_goes_both_ways():
    assert all(may_meet(a, b) == may_meet(b, a) for a in FAMILIES for b in FAMILIES)
    assert may_meet("silver", "fine_silver")
    assert not may_meet("silver", "germanium_silver")
    assert not may_meet("yellow", "white_pd")
    assert not may_meet("yellow", "red")
    assert may_meet("fine_gold", "red")


@pytest.mark.outside
@pytest.mark.parametrize(
    ("parts", "region"),
    [
        # Source: example alloys of ISO 8654 (0N to 5N), from memory.
        ({"Au": 585, "Ag": 340, "Cu": 75}, "green_yellow"),
        ({"Au": 750, "Ag": 160, "Cu": 90}, "pale_yellow"),
        ({"Au": 750, "Ag": 125, "Cu": 125}, "yellow"),
        ({"Au": 750, "Ag": 90, "Cu": 160}, "pink"),
        ({"Au": 750, "Ag": 45, "Cu": 205}, "red"),
        # Source: common names in the trade: green gold, electrum, rich yellow 24 carat.
        ({"Au": 750, "Ag": 250}, "green"),
        ({"Au": 999, "Ag": 1}, "rich_yellow"),
    ],
)
def test_the_colour_of_known_golds(parts, region):
    assert colour(OF(parts)) == region


@given(st.sampled_from(["green_yellow", "pale_yellow", "yellow", "pink", "red"]),
       st.floats(0.4, 0.9), st.floats(0.05, 0.95))  # fmt: skip
def test_a_blend_inside_the_window_has_the_colour(region, gold, share):
    window = colour_window(region, gold)["Cu"]
    copper = window[0] + share * (window[1] - window[0])
    body = Composition.of({"Au": gold, "Cu": copper, "Ag": 1 - gold - copper})
    assert colour(body) in (region, "whitish")


@pytest.mark.parametrize(
    ("parts", "left_out"),
    [
        ({"Au": 750, "Ag": 100, "Pd": 150}, "Pd"),
        ({"Ag": 930, "Cu": 58, "Ge": 12}, "Ge"),
        ({"Au": 585, "Ag": 200, "Cu": 155, "Zn": 60}, "Zn"),
        ({"Ag": 925, "Cu": 70, "Pb": 5}, "Pb"),
        ({"Pt": 950, "Ru": 50}, "Ru"),
        ({"Fe": 1000}, "Fe"),
    ],
)
def test_a_missing_model_never_stops_and_never_keeps_silent(parts, left_out):
    found = melting(OF(parts))
    assert found.grade == "C"
    assert found.band_k >= 25 or parts.get(left_out, 0) < 20
    assert left_out in {note.values.get("element") for note in found.notes}
    assert all(say(note) for note in found.notes)


def test_an_undeclared_rest_counts_as_copper_and_says_so():
    found, plain = melting(Composition.of({"Ag": 0.925}, 0.075)), melting(OF({"Ag": 925, "Cu": 75}))
    assert found.liquidus_c == pytest.approx(plain.liquidus_c, abs=1e-6)
    assert found.grade == "C"
    assert found.band_k > plain.band_k + 15
    assert found.notes[0].code == "metal.model.rest"


def test_a_trace_of_gold_does_not_spoil_the_grade_of_silver():
    found = melting(OF({"Ag": 925, "Cu": 74.9, "Au": 0.1}))
    assert found.grade == "A"
    assert found.band_k < 9


def test_the_houses_own_sheet_overrules_the_model():
    row = {"composition": "Au=750 Pd=150 Ag=100", "solidus_c": 1150, "liquidus_c": 1250,
           "within_millesimal": 8, "band_k": 15}  # fmt: skip
    tables = shipped().with_overrides({"metal_sheet": {"our 18 ct white": row}})
    found = melting(OF({"Au": 752, "Pd": 149, "Ag": 99}), tables=tables)
    assert (found.solidus_c, found.liquidus_c, found.band_k) == (1150, 1250, 15)
    assert found.model == "our 18 ct white"
    assert found.sources[0] == "house"


def test_a_sheet_that_cannot_be_read_is_refused_by_its_row():
    tables = shipped().with_overrides(
        {"metal_sheet": {"bad": {"composition": "750 gold", "solidus_c": 1, "liquidus_c": 2}}}
    )
    with pytest.raises(BadInput) as fault:
        melting(OF({"Au": 750, "Pd": 250}), tables=tables)
    assert "metal_sheet.bad" in fault.value.field


def test_the_solder_s_solidus_is_shown_lower():
    found = melting(OF({"Ag": 650, "Cu": 200, "Zn": 150}))
    assert found.safe_solidus_c == pytest.approx(found.solidus_c - 30)


def test_beyond_its_limit_the_model_says_so():
    found = melting(OF({"Ag": 300, "Cu": 250, "Zn": 450}))
    assert found.grade == "C"
    assert any(note.code == "metal.model.beyond" for note in found.notes)


def test_a_batch_of_an_unknown_system_is_refused():
    with pytest.raises(BadInput):
        melting_many(("Ag", "Pd"), [[0.5, 0.5]])
    with pytest.raises(BadInput):
        melting_many(("Ag", "Cu"), [[-0.5, 1.5]])
    with pytest.raises(BadInput):
        melting_many(("Ag", "Cu"), [[0.0, 0.0]])


def test_a_batch_takes_its_columns_in_any_order():
    one = melting_many(("Cu", "Ag"), [[0.075, 0.925]])
    assert float(one.liquidus_c[0]) == pytest.approx(896.256, abs=0.01)


def test_cadmium_is_a_stop_in_any_form():
    body = OF({"Ag": 650, "Cu": 200, "Cd": 150})
    for form in FORMS:
        stops = [one for one in barred(body, form, "S9") if one.grade == "stop"]
        assert [one.code for one in stops] == ["metal.hazard.cadmium"]
        assert stops[0].about == "S9"
        assert hazards(body, form)[0].code == "metal.hazard.cadmium"


@pytest.mark.outside
@pytest.mark.parametrize(
    ("element", "percent"),
    [
        # Source: Regulation (EC) 1907/2006 Annex XVII entries 23 (Cd 0.01 %) and 63 (Pb 0.05 %).
        ("Cd", 0.01), ("Pb", 0.05),
    ],
)  # fmt: skip
def test_the_stop_levels_are_those_of_the_regulation(element, percent):
    def stops(share: float) -> bool:
        body = Composition.of({"Ag": 1 - share, element: share})
        return any(one.grade == "stop" for one in barred(body))

    assert not stops(0.99 * percent / 100)
    assert stops(1.01 * percent / 100)


def test_clean_sterling_grain_has_no_caution_but_dryness():
    found = hazards(OF({"Ag": 925, "Cu": 75}), "grain")
    assert [caution.code for caution in found] == ["metal.hazard.wet_scrap"]
    assert barred(OF({"Ag": 925, "Cu": 75})) == ()


@given(compositions(), st.sampled_from(FORMS))
def test_every_hazard_can_be_said(body, form):
    for caution in hazards(body, form):
        assert say(caution)
    for objection in barred(body, form):
        assert say(objection)
        assert objection.remedy is not None
        assert say(objection.remedy)


def test_a_film_that_melts_low_is_named_with_its_temperature():
    found = contaminants(OF({"Ag": 925, "Cu": 74.8, "Pb": 0.2}))
    assert found[0].code == "metal.contaminant.film"
    assert found[0].values["film"].value == 304


def test_zinc_belongs_in_solder_and_nickel_in_white_gold():
    assert not contaminants(OF({"Ag": 650, "Cu": 200, "Zn": 150}))
    assert not contaminants(OF({"Au": 750, "Ni": 110, "Cu": 140}))
    assert contaminants(OF({"Ag": 925, "Cu": 65, "Ni": 10}))
