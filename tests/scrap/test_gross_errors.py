"""Evidence that contradicts is a question, never a silent correction."""

from __future__ import annotations

import pytest

from lemel.scrap import AssayedHeat, ScrapProblem, believe, report


def codes(answer, about: str) -> dict[str, str]:
    return {o.code: o.grade for o in answer.objections if o.about == about}


def used(answer) -> set[str]:
    return {r.reading for r in answer.readings if r.used}


def test_a_reading_far_from_an_office_mark_is_put_aside_and_the_lot_waits(silver_lot, read):
    spoon = silver_lot("A", scrap_class="flatware", form="hollowware")
    answer = believe(ScrapProblem((spoon,), (read("x", "A", "xrf-hand-abraded", 850),)))
    assert codes(answer, "A")["scrap.reading_aside"] == "ask"
    assert codes(answer, "A")["scrap.doubtful"] == "ask"
    assert used(answer) == {"A:stated"}
    assert report(answer, "A").mean == pytest.approx(925.7, abs=0.1)
    assert answer.beliefs.doubt[0] > 0.9
    (aside,) = [r for r in answer.readings if not r.used]
    assert aside.residual < -3


def test_an_assay_beats_a_makers_mark(silver_lot, read):
    ring = silver_lot("A", scrap_class="maker_marked")
    answer = believe(ScrapProblem((ring,), (read("v", "A", "silver-volhard", 835),)))
    assert codes(answer, "A")["scrap.stamp_aside"] == "ask"
    assert used(answer) == {"v"}
    assert report(answer, "A").mean == pytest.approx(835, abs=0.1)


def test_two_equal_readings_that_contradict_are_both_put_aside(silver_lot, read):
    bag = silver_lot("A", None)
    readings = (
        read("one", "A", "xrf-hand-abraded", 925, source="gun"),
        read("two", "A", "xrf-hand-abraded", 800, source="gun"),
    )
    answer = believe(ScrapProblem((bag,), readings))
    assert used(answer) == set()
    assert codes(answer, "A")["scrap.readings_contradict"] == "ask"
    assert answer.beliefs.sd("A") > 0.1


def test_an_assay_among_weak_readings_stays(silver_lot, read):
    bag = silver_lot("A", None)
    readings = (
        read("skin", "A", "xrf-hand-skin", 980, source="gun"),
        read("assay", "A", "silver-volhard", 835),
    )
    answer = believe(ScrapProblem((bag,), readings))
    assert used(answer) == {"assay"}


def test_a_heat_far_from_its_forecast_questions_its_lots_and_teaches_nothing(silver_lot, read):
    lots = tuple(silver_lot(n, scrap_class="own_offcut") for n in "AB")
    heat = AssayedHeat("H", (("A", 50.0), ("B", 50.0)), 0.0, 100.0)
    calm = believe(ScrapProblem(lots, (), (heat,)))
    shock = believe(ScrapProblem(lots, (read("dip", "H", "silver-volhard", 890),), (heat,)))
    assert codes(shock, "A")["scrap.heat_surprise"] == "ask"
    assert codes(shock, "B")["scrap.heat_surprise"] == "ask"
    assert shock.beliefs.mean == calm.beliefs.mean
    assert shock.health is not None
    assert shock.health.mean_square > 9  # put aside, but the health figure sees it


def test_nothing_said_and_nothing_read_is_asked_and_stays_wide(silver_lot):
    answer = believe(ScrapProblem((silver_lot("A", None),), ()))
    assert codes(answer, "A")["scrap.nothing_known"] == "ask"
    assert answer.beliefs.sd("A") >= 0.15


def test_a_worn_mark_needs_a_test_first_and_a_test_settles_it(silver_lot, read):
    cup = silver_lot("A", None, scrap_class="hallmarked")
    mark = read("mark", "A", "stamp-worn", 800)
    asked = believe(ScrapProblem((cup,), (mark,)))
    assert codes(asked, "A")["scrap.test_first"] == "ask"
    assert asked.share_most["A"] == pytest.approx(0.10)
    filed = believe(ScrapProblem((cup,), (mark, read("x", "A", "xrf-hand-abraded", 797))))
    assert "scrap.test_first" not in codes(filed, "A")
    assert "A" not in filed.share_most
    assert filed.beliefs.doubt[0] < 0.01


def test_a_skin_reading_says_nothing_of_what_lies_below(silver_lot, read):
    """An unmarked piece read on its skin may still be plated: it waits."""
    piece = silver_lot("A", None)
    skin = believe(ScrapProblem((piece,), (read("x", "A", "xrf-hand-skin", 912),)))
    assert codes(skin, "A")["scrap.doubtful"] == "ask"
    filed = believe(
        ScrapProblem(
            (piece,),
            (read("x", "A", "xrf-hand-skin", 912), read("y", "A", "xrf-hand-abraded", 897)),
        )
    )
    assert "scrap.doubtful" not in codes(filed, "A")


def test_metal_believed_below_its_mark_is_noted(silver_lot, read):
    ring = silver_lot("A", scrap_class="hallmarked", form="offcut", solder_share=(0.0, 0.0001))
    low = tuple(read(f"v{k}", "A", "xrf-bench", 921, source=f"day {k}") for k in range(2))
    assert codes(believe(ScrapProblem((ring,), low)), "A")["scrap.below_mark"] == "note"
    fair = tuple(read(f"v{k}", "A", "xrf-bench", 926, source=f"day {k}") for k in range(2))
    assert "scrap.below_mark" not in codes(believe(ScrapProblem((ring,), fair)), "A")


def test_a_mark_that_is_sometimes_wrong_becomes_one_normal_with_the_same_moments():
    import numpy as np

    from lemel.scrap.methods import method
    from lemel.tables import shipped

    stamp = method("stamp-maker", "Ag", shipped())
    rng = np.random.default_rng(3)
    poor = rng.random(400_000) < 0.15
    drawn = np.where(poor, rng.normal(-15, 10, poor.size), rng.normal(-2, 5, poor.size))
    assert stamp.shift * 1e3 == pytest.approx(drawn.mean(), abs=0.05)
    assert stamp.sd_own * 1e3 == pytest.approx(drawn.std(), abs=0.05)


def test_touch_needles_cannot_read_white_gold():
    from lemel.values import Composition, Lot, Reading

    white = Lot(
        "G5", "ada", "Au", "offcut", 6.85, scrap_class="own_offcut", colour="white_pd",
        stated=Composition.from_millesimal({"Au": 750, "Pd": 150, "Ag": 100}),
    )  # fmt: skip
    answer = believe(ScrapProblem((white,), (Reading("t", "G5", "touch-gold", {"Au": 0.70}),)))
    assert codes(answer, "G5") == {"scrap.method_unfit": "note"}
    assert answer.beliefs.mean[0].fineness("Au") == pytest.approx(750.3, abs=0.1)


def test_a_plated_piece_without_a_mark_is_thought_to_hold_little(silver_lot):
    tray = silver_lot("A", None, form="sheet", scrap_class="unsorted", barred=("plated",))
    seen = silver_lot("B", None, form="sheet", scrap_class="unsorted", flags={"plated": "yes"})
    plain = silver_lot("C", None, form="sheet", scrap_class="unsorted")
    answer = believe(ScrapProblem((tray, seen, plain), ()))
    for about in "AB":
        assert report(answer, about).mean < 60
        assert report(answer, about).sd < 40
    assert report(answer, "C").mean == pytest.approx(800)
