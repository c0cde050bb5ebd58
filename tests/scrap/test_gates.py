"""May it be melted? Questions with a reason each, and never a silly one."""

from __future__ import annotations

from datetime import date

import pytest

from lemel.errors import BadInput
from lemel.scrap import ScrapProblem, believe, gate_codes, may_melt, questions
from lemel.tables import shipped
from lemel.values import Composition, Consent, Lot, Reading

TODAY = date(2031, 5, 20)
STERLING = Composition.from_millesimal({"Ag": 925, "Cu": 75})


def lot(name: str = "L", form: str = "offcut", scrap_class: str = "own_offcut", **more) -> Lot:
    given = {"owner": "ada", "main": "Ag", "mass_g": 50.0, "stated": STERLING, **more}
    return Lot(id=name, form=form, scrap_class=scrap_class, **given)


def ask(one: Lot, consents=(), readings=()) -> dict[str, str]:
    found = may_melt([one], consents, readings, TODAY, house="ada")
    return {o.code.removeprefix("scrap.gate."): o.grade for o in found}


def test_own_offcuts_are_asked_nothing():
    assert ask(lot()) == {}
    assert questions(lot()) == ()


def test_an_unopened_weighted_candlestick_is_stopped():
    stick = lot(
        form="hollowware", scrap_class="old_hollowware", flags={"filled_or_weighted": "yes"}
    )
    assert ask(stick)["filled_or_weighted.yes"] == "stop"


def test_an_unanswered_question_that_matters_is_asked_and_an_answer_settles_it():
    brooch = lot(form="jewellery", scrap_class="maker_marked", received_on=date(2031, 1, 1))
    assert ask(brooch)["stones.unknown"] == "ask"
    settled = lot(
        form="jewellery", scrap_class="maker_marked", received_on=date(2031, 1, 1),
        flags=dict.fromkeys(gate_codes(), "no"),
    )  # fmt: skip
    assert ask(settled) == {}


def test_nobody_asks_filings_about_stones():
    assert "stones.unknown" not in ask(lot(form="filings", scrap_class="filings_clean"))


@pytest.mark.parametrize(
    "code", ["magnet", "steel", "soft_solder", "plated", "mercury", "beryllium", "resin"]
)
def test_a_trouble_that_is_there_stops_any_lot(code):
    assert ask(lot(flags={code: "yes"}))[f"{code}.yes"] == "stop"


def test_a_barred_lot_is_always_stopped_with_what_to_do():
    (stop,) = may_melt([lot(barred=("soft_solder",))], (), (), TODAY, house="ada")
    assert (stop.code, stop.grade, stop.remedy.code) == (
        "scrap.gate.soft_solder.yes", "stop", "scrap.do.to_refiner",
    )  # fmt: skip
    (own,) = may_melt([lot(barred=("grandmother",))], (), (), TODAY, house="ada")
    assert (own.code, own.grade, own.values["reason"]) == ("scrap.barred", "stop", "grandmother")


def test_a_bar_outweighs_a_flag_that_says_no():
    found = ask(lot(barred=("plated",), flags={"plated": "no"}))
    assert found == {"plated.yes": "stop"}


def test_anothers_metal_needs_a_consent_that_covers_it_and_was_given_in_time():
    theirs = lot(owner="bo")
    assert ask(theirs)["consent_destroy.unknown"] == "ask"
    given = Consent("c", "bo", "destroy", date(2031, 5, 1), about=("L",))
    assert ask(theirs, [given]) == {}
    late = Consent("c", "bo", "destroy", date(2031, 6, 1), about=("L",))
    assert "consent_destroy.unknown" in ask(theirs, [late])
    other = Consent("c", "bo", "destroy", date(2031, 5, 1), about=("M",))
    assert "consent_destroy.unknown" in ask(theirs, [other])


def test_consent_for_offcuts_does_not_cover_a_made_thing():
    given = Consent("c", "bo", "use_offcuts", date(2031, 5, 1))
    assert ask(lot(owner="bo"), [given]) == {}
    spoon = lot(owner="bo", form="hollowware", scrap_class="flatware")
    assert "consent_destroy.unknown" in ask(spoon, [given])


def test_bought_in_metal_waits_out_its_hold_period():
    fresh = lot(scrap_class="hallmarked", received_on=date(2031, 5, 15))
    found = {o.code: o for o in may_melt([fresh], (), (), TODAY, house="ada") if "hold" in o.code}
    stop = found["scrap.gate.hold_period.yes"]
    assert (stop.grade, stop.values["until"]) == ("stop", "2031-05-27")
    old = lot(scrap_class="hallmarked", received_on=date(2031, 5, 8))
    assert "hold_period.yes" not in ask(old)
    undated = lot(scrap_class="hallmarked")
    assert ask(undated)["hold_period.unknown"] == "ask"


def test_nothing_stated_and_nothing_read_is_asked():
    assert ask(lot(stated=None))["unknown_alloy.unknown"] == "ask"
    read = Reading("r", "L", "xrf-hand-abraded", {"Ag": 0.9})
    assert "unknown_alloy.unknown" not in ask(lot(stated=None), readings=[read])


def test_a_filed_and_read_lot_is_not_asked_whether_it_is_plated():
    chain = lot(form="chain", scrap_class="maker_marked", received_on=date(2031, 1, 1))
    assert ask(chain)["plated.unknown"] == "ask"
    skin = Reading("r", "L", "xrf-hand-skin", {"Ag": 0.925})
    assert "plated.unknown" in ask(chain, readings=[skin])
    filed = Reading("r", "L", "xrf-hand-abraded", {"Ag": 0.92})
    assert "plated.unknown" not in ask(chain, readings=[filed])
    withdrawn = Reading("r", "L", "xrf-hand-abraded", {"Ag": 0.92}, withdrawn=True)
    assert "plated.unknown" in ask(chain, readings=[withdrawn])


def test_a_wrong_flag_is_refused_by_name():
    with pytest.raises(BadInput) as fault:
        ask(lot(flags={"magnit": "yes"}))
    assert "magnit" in fault.value.field


def test_every_gate_has_its_words_and_a_remedy():
    import tomllib
    from importlib import resources

    words = tomllib.loads((resources.files("lemel.words") / "en" / "scrap.toml").read_text("utf-8"))
    for row in shipped().rows("scrap_gates"):
        assert f"scrap.gate.{row.key}.yes" in words
        assert f"scrap.gate.{row.key}.unknown" in words
        assert f"scrap.do.{row.text('remedy')}" in words


def test_germanium_is_asked_where_the_alloy_may_be_of_that_kind():
    """common practice, no source: casting grain and modern ware may hold germanium."""
    bare = Composition.from_millesimal({"Ag": 925}, rest=True)
    tree = lot(form="sprue", scrap_class="caster", made_for="casting", stated=bare)
    assert ask(tree)["germanium.unknown"] == "ask"
    assert ask(lot(form="sprue", scrap_class="caster", made_for="casting")).keys() == {
        "made_for_casting.yes"
    }
    said = lot(
        form="sprue", scrap_class="caster", made_for="casting", stated=bare,
        flags={"germanium": "no"},
    )  # fmt: skip
    assert "germanium.unknown" not in ask(said)
    clear = Reading("x", "L", "xrf-bench", {"Ag": 0.925, "Cu": 0.075, "Ge": 0.0})
    assert "germanium.unknown" not in ask(tree, readings=[clear])
    found = Reading("x", "L", "xrf-bench", {"Ag": 0.93, "Cu": 0.058, "Ge": 0.012})
    assert ask(tree, readings=[found])["germanium.yes"] == "note"


def test_old_ware_and_own_clippings_are_not_asked_about_germanium():
    bare = Composition.from_millesimal({"Ag": 925}, rest=True)
    assert "germanium.unknown" not in ask(lot(stated=bare))
    old = lot(form="hollowware", scrap_class="old_hollowware", stated=bare)
    assert "germanium.unknown" not in ask(old)


def test_bought_castings_of_unknown_grain_are_held_to_a_few_per_cent_until_somebody_answers():
    bought = lot(form="sprue", scrap_class="caster")
    own = lot("own", form="casting", scrap_class="own_casting")
    limits = believe(ScrapProblem((bought, own), ())).share_most
    assert limits == {"L": 0.05}
    answered = lot(form="sprue", scrap_class="caster", made_for="rolling")
    assert believe(ScrapProblem((answered,), ())).share_most == {}
