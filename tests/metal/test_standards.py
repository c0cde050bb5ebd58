"""Finenesses by place and date, expressions of fineness, and rules of solder."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lemel.errors import BadInput
from lemel.metal import (
    fineness_of,
    highest_mark,
    solder_least,
    standard,
    standards,
    standards_met,
    whole_article_least,
)
from lemel.tables import shipped

TODAY = date(2026, 10, 1)


def test_a_standard_is_found_by_its_full_and_its_short_name():
    assert standard("UK Ag 925") == standard("Ag 925", "UK") == standard(" UK  Ag 925 ")
    assert standard("ISO 9202 Au 750").least == 0.75


@pytest.mark.parametrize("name", ["UK Ag 926", "Ag 925", "Narnia Ag 925", "", "UK Au"])
def test_an_unknown_standard_is_refused_with_the_known_ones(name):
    with pytest.raises(BadInput) as fault:
        standard(name)
    assert fault.value.field == "standard"
    assert fault.value.allowed


def test_the_standards_that_the_bench_uses_are_there():
    for name in ("UK Ag 925", "UK Ag 958", "UK Ag 999", "UK Ag 800", "UK Au 375", "UK Au 585",
                 "UK Au 750", "UK Au 916"):  # fmt: skip
        one = standard(name)
        assert one.minus_tolerance == 0
        assert one.least == pytest.approx(float(name.split()[-1]) / 1000)


@pytest.mark.outside
def test_a_375_article_that_assays_374_is_not_375():
    # Source: assay office, description of the assaying process: no negative tolerance.
    assert highest_mark("UK", "Au", 0.374, TODAY) is None
    mark = highest_mark("UK", "Au", 0.375, TODAY)
    assert mark is not None
    assert mark.id == "UK Au 375"


@pytest.mark.outside
def test_584_is_marked_375_in_finland():
    # Source: Finnish Safety and Chemicals Agency, fineness requirements.
    mark = highest_mark("Finland", "Au", 0.584, TODAY)
    assert mark is not None
    assert mark.least == 0.375


@given(st.floats(0.3, 1.0), st.floats(0, 0.02))
def test_a_margin_never_earns_a_higher_mark(proven, margin):
    plain = {one.jurisdiction: one.least for one in standards_met("Ag", proven, TODAY)}
    careful = standards_met("Ag", proven, TODAY, margin=margin)
    assert all(one.least <= plain[one.jurisdiction] for one in careful)
    assert all(one.least <= proven - margin + 1e-9 for one in careful)


def test_a_minus_tolerance_counts_only_when_asked():
    strict = {one.id for one in standards_met("Au", 0.7475, TODAY)}
    lenient = {one.id for one in standards_met("Au", 0.7475, TODAY, tolerate=True)}
    assert "US Au 750" not in strict
    assert "US Au 750" in lenient
    assert "UK Au 750" not in lenient


def test_palladium_has_a_standard_only_from_its_day():
    before = {one.id for one in standards("UK", date(2009, 6, 1))}
    after = {one.id for one in standards("UK", date(2011, 6, 1))}
    assert "UK Pd 950" not in before
    assert "UK Pd 950" in after


def test_what_has_ended_is_not_met_today():
    assert all(one.valid_to is None for one in standards())
    old = {one.id for one in standards("US before 1976", date(1950, 1, 1))}
    assert old
    assert not standards("US before 1976", TODAY)


def test_unverified_rows_carry_their_trust():
    assert standard("US Ag 925").trust == "unverified"
    for one in standards():
        if one.trust in ("law", "standard"):
            assert shipped().source(one.source).trust not in ("memory", "unverified")


@pytest.mark.outside
@pytest.mark.parametrize(
    ("written", "millesimal"),
    [
        # Source: definition of the carat, k/24; 14 k is 583.33 and not 585.
        ("14 k", 583.333), ("18ct", 750), ("22 carat", 916.667), ("9 ct", 375), ("8 kt", 333.333),
        # Source: definition of loth (1/16) and zolotnik (1/96): 13 loth 812.5, 84 zolotnik 875.
        ("13 loth", 812.5), ("12 lötig", 750), ("84 zolotnik", 875),
        ("sterling", 925), ("Britannia", 958.333), ("coin silver", 900), ("925", 925),
        ("958,4", 958.4),
    ],
)  # fmt: skip
def test_old_and_new_expressions_of_fineness(written, millesimal):
    assert 1000 * fineness_of(written) == pytest.approx(millesimal, abs=0.001)


@pytest.mark.parametrize("written", ["25 ct", "17 loth", "EPNS", "0.925", "12345", "", "ct"])
def test_what_is_no_fineness_is_refused(written):
    with pytest.raises(BadInput):
        fineness_of(written)


@pytest.mark.outside
def test_a_whole_soldered_article_may_assay_lower():
    # Source: Swiss ordinance SR 941.311 art. 36(3): 10 on the whole melt; 15 USC 295: 7 for gold.
    assert whole_article_least(standard("Switzerland Ag 925")) == (pytest.approx(0.915), "read")
    assert whole_article_least(standard("US Au 750")) == (pytest.approx(0.743), "read")
    assert whole_article_least(standard("US Au 750"), "watch") == (pytest.approx(0.747), "read")
    assert whole_article_least(standard("UK Ag 925")) is None


def test_solder_rules_come_with_their_trust():
    assert solder_least(standard("UK Ag 925")) == (0.65, "read")
    assert solder_least(standard("UK Au 750"), "white") == (0.5, "unverified")
    assert solder_least(standard("UK Au 750")) == (0.75, "unverified")
    assert solder_least(standard("Ireland Ag 925")) is None
