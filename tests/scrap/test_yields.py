"""What a poured heat teaches about the yield of its forms."""

from __future__ import annotations

import dataclasses
import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lemel.errors import BadInput
from lemel.scrap import PouredHeat, ScrapProblem, believe, learn_yields
from lemel.tables import shipped
from lemel.values import Lot

FORMS = ("sheet", "wire", "casting", "hollowware", "chain")


def prior(form: str) -> tuple[float, float]:
    """The table's own figures: loss and a quarter of its band."""
    row = shipped().row("scrap_forms", form)
    spread = (row.number("loss_hi") - row.number("loss_lo")) / 400
    return 1 - row.number("loss") / 100, spread


@st.composite
def heats(draw: st.DrawFn) -> list[PouredHeat]:
    """Heats that gave about what the tables say."""
    found = []
    for h in range(draw(st.integers(1, 6))):
        forms = draw(st.lists(st.sampled_from(FORMS), min_size=1, max_size=4, unique=True))
        charged = tuple((form, "unsorted", draw(st.floats(5, 300))) for form in forms)
        out = sum(g * prior(form)[0] for form, _, g in charged) * draw(st.floats(0.997, 1.001))
        found.append(PouredHeat(f"H{h}", charged, 0.9 * out, 0.1 * out))
    return found


@settings(max_examples=60)
@given(heats())
def test_the_batch_is_the_least_squares_of_priors_and_heats(given_heats):
    """Source: the normal equations, solved with numpy's dense least squares."""
    answer = learn_yields(given_heats)
    keys = sorted(answer.yields)
    forms = [key.removeprefix("form:") for key in keys]
    scatter = shipped().row("scrap_figures", "yield_scatter").number("value")
    rows = [np.eye(len(keys))[k] / prior(form)[1] for k, form in enumerate(forms)]
    values = [prior(form)[0] / prior(form)[1] for form in forms]
    for heat in given_heats:
        if heat.id not in answer.taught_by:
            continue
        masses = np.array([sum(g for f, _, g in heat.charged if f == form) for form in forms])
        sd = (heat.weigh_sd_g**2 + scatter**2 * np.sum(masses**2)) ** 0.5
        rows.append(masses / sd)
        values.append((heat.poured_g + heat.residue_g) / sd)
    dense = np.linalg.lstsq(np.array(rows), np.array(values), rcond=None)[0]
    spread = np.sqrt(np.diag(np.linalg.inv(np.array(rows).T @ np.array(rows))))
    for k, key in enumerate(keys):
        assert answer.yields[key][0] == pytest.approx(min(1.0, dense[k]), rel=1e-9)
        assert answer.yields[key][1] == pytest.approx(spread[k], rel=1e-7)


@settings(max_examples=30)
@given(heats(), st.randoms(use_true_random=False))
def test_the_order_of_heats_changes_nothing_and_they_only_narrow(given_heats, dice: random.Random):
    before = learn_yields(given_heats)
    dice.shuffle(given_heats)
    assert learn_yields(given_heats) == before
    for key, (_, sd) in before.yields.items():
        assert sd <= prior(key.removeprefix("form:"))[1] * (1 + 1e-12)


def test_a_shop_of_dirty_chains_learns_that_they_give_less():
    many = [
        PouredHeat(f"H{n}", (("chain", "", 100.0), ("grain", "", 50.0)), 96.5 + 49.95)
        for n in range(8)
    ]
    answer = learn_yields(many)
    mean, sd = answer.yields["form:chain"]
    assert mean == pytest.approx(0.965, abs=0.005)
    assert sd < prior("chain")[1]
    assert answer.objections == ()


def test_a_spill_is_asked_about_and_teaches_nothing():
    good = [PouredHeat(f"H{n}", (("sheet", "", 200.0),), 199.4) for n in range(4)]
    spilt = PouredHeat("S", (("sheet", "", 200.0),), 180.0)
    answer = learn_yields([*good, spilt])
    (asked,) = answer.objections
    assert (asked.code, asked.about, asked.grade) == ("scrap.yield_less", "S", "ask")
    assert answer.yields == learn_yields(good).yields
    assert "S" not in answer.taught_by
    more = learn_yields([*good, PouredHeat("M", (("sheet", "", 200.0),), 215.0)])
    assert [o.code for o in more.objections] == ["scrap.yield_more"]


def test_the_belief_takes_up_what_the_pours_taught(silver_lot):
    lots = (
        silver_lot("F", form="filings", scrap_class="filings_clean"),
        silver_lot("G", form="grain", scrap_class="new_stock"),
    )
    pours = tuple(
        PouredHeat(f"H{n}", (("filings", "filings_clean", 100.0),), 95.5) for n in range(3)
    )
    before = believe(ScrapProblem(lots, ())).beliefs
    after = believe(ScrapProblem(lots, (), poured=pours)).beliefs
    learnt = learn_yields(pours).yields["class:filings_clean"]
    assert after.yield_fraction == (learnt, before.yield_fraction[1])
    assert after.yield_fraction[0][0] < before.yield_fraction[0][0]
    assert after.from_readings != before.from_readings


def test_a_question_about_a_pour_comes_with_the_belief(silver_lot):
    lost = PouredHeat("H", (("grain", "new_stock", 100.0),), 60.0)
    found = believe(ScrapProblem((silver_lot("A", scrap_class="own_offcut"),), (), poured=(lost,)))
    assert "scrap.yield_less" in {o.code for o in found.objections}


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"charged": ()}, "poured.H.charged"),
        ({"charged": (("sheet", "", float("nan")),)}, "poured.H.charged.sheet"),
        ({"charged": (("shet", "", 5.0),)}, "form"),
        ({"charged": (("sheet", "oddments", 5.0),)}, "scrap_class"),
        ({"poured_g": -1.0}, "poured.H.poured_g"),
        ({"weigh_sd_g": 0.0}, "poured.H.weigh_sd_g"),
    ],
)
def test_pours_that_cannot_be_are_refused_by_name(change, field):
    heat = PouredHeat("H", (("sheet", "", 100.0),), 99.0)._replace(**change)
    with pytest.raises(BadInput) as fault:
        learn_yields([heat])
    assert fault.value.field == field
    with pytest.raises(BadInput, match="each id once"):
        learn_yields([PouredHeat("H", (("sheet", "", 1.0),), 1.0)] * 2)


def test_an_unopened_weighted_piece_keeps_its_own_yield(silver_lot):
    stick: Lot = dataclasses.replace(
        silver_lot("S6", form="hollowware", scrap_class="old_hollowware"),
        flags={"filled_or_weighted": "yes"},
    )
    pours = (PouredHeat("H", (("hollowware", "old_hollowware", 100.0),), 98.0),)
    found = believe(ScrapProblem((stick,), (), poured=pours)).beliefs
    assert found.yield_fraction[0] == (0.12, 0.06)
