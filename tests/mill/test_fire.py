"""Anneals and hardening in the fire."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lemel import metal
from lemel.values import Composition, Section, Temper
from tests.mill.metals import (
    STERLING,
    YELLOW_750,
    ingot,
    kit,
    plate,
    route,
    sheet,
    soft,
    wire,
    wire_bar,
)


def anneals(found):  # type: ignore[no-untyped-def]
    return [s for s in found.steps if s.tool == "anneal"]


def test_cast_metal_is_kept_below_its_segregated_solidus():
    """Sterling as cast holds metal that melts at 779 degC; worked metal only at 803."""
    found = route(plate(), sheet(0.9, 250, 38))
    first, second = (s.note.values for s in anneals(found)[:2])
    assert first["never"].value == pytest.approx(779, abs=1.5)
    assert second["never"].value == pytest.approx(803, abs=1.5)
    assert first["hi"].value <= first["never"].value - 40 + 1e-9


def test_a_low_melting_alloy_is_annealed_lower():
    """Where the solidus comes close to the usual anneal, the solidus wins."""
    melting = metal.melting(STERLING)
    assert melting.segregated_solidus_c < melting.solidus_c
    poor = Composition.from_millesimal({"Ag": 600, "Cu": 250, "Zn": 150})
    solidus = metal.melting(poor).segregated_solidus_c
    found = route(ingot(Section.flat(4, 40), 60, 95, poor), sheet(1.0, 150, 36))
    top = anneals(found)[0].note.values["hi"].value
    assert top <= max(solidus - 40, 0) + 1e-6 or top <= metal.working(poor).anneal_c[1]


def test_a_hardness_beyond_rolling_is_reached_by_ageing():
    """Sterling: 110 to 140 HV by solution anneal at 700 to 730 degC and 300 degC (abstract of
    a paper of 2003). Sheet that is thin already cannot be rolled so hard any more."""
    bar = soft(Section.flat(1.0, 40), 100, 41.4)
    need = sheet(1.0, 95, 38, Temper("hv", 115, 130))
    found = route(bar, need)
    assert found.status == "optimal"
    assert [s.tool for s in found.steps][-1] == "age"
    assert 115 <= found.steps[-1].hv <= 130
    assert found.stock[0].note == "aged"
    assert {s.code for s in found.explain} >= {"mill.explain.aged"}


def test_a_hardness_beyond_rolling_and_fire_is_refused():
    bar = soft(Section.flat(1.0, 40), 100, 41.4)
    found = route(bar, sheet(1.0, 95, 38, Temper("hv", 155, 160)))
    assert found.status == "infeasible"
    assert found.ways_out


def test_gold_ages_too():
    bar = soft(Section.flat(1.0, 20), 60, 18.2, YELLOW_750)
    found = route(bar, sheet(1.0, 55, 18, Temper("hv", 225, 236)))
    assert found.status == "optimal"
    assert found.steps[-1].tool in ("age", "trim", "flats")


def test_suspect_metal_is_annealed_more_often():
    sound = route(wire_bar(), wire(1.0, 3000))
    doubtful = route(replace(wire_bar(), suspect=True), wire(1.0, 3000))
    assert doubtful.anneals > sound.anneals
    assert "mill.bar.suspect" in {o.code for o in doubtful.objections}
    assert max(s.strain for s in doubtful.steps) <= 0.5 + 1e-9


def test_no_anneal_follows_too_little_work_unless_it_must():
    found = route(wire_bar(), wire(1.0, 3000))
    for step in found.steps:
        after = [s for s in found.steps if s.n == step.n - 1]
        if step.tool == "anneal" and after:
            assert after[0].strain >= 0.25 - 1e-9


def test_cautions_stand_with_the_steps_that_bring_them():
    codes = {c.code for c in route(wire_bar(), wire(1.0, 3000)).cautions}
    assert {"mill.caution.rolls", "mill.caution.tongs", "mill.caution.pickle"} <= codes
    assert "mill.caution.shears" not in codes
    assert kit().mills
