"""`lemel blend`, `correct` and `seams` as a goldsmith reads them."""

from __future__ import annotations

import json

import pytest

from lemel.demo import examples


def stock(name, fineness, owner):
    return {"id": name, "mass": 100, "kind": "divisible", "owner": owner,
            "comp": {"Ag": fineness, "Cu": 1000 - fineness}, "sd": {"Ag": 2.0},
            "value_per_g": 0.8}  # fmt: skip


def heat(name, owner, **more):
    return {"id": name, "standard": 925, "prob": 0.99, "mass_min": 95, "mass_max": 105,
            "owner": owner, **more}  # fmt: skip


def two_short_customers(**top):
    return {
        "format": "lemel-blend-instance 1",
        "lots": [stock("A", 915, "ada"), stock("B", 912, "bo")],
        "additions": [
            {"id": "grain", "comp": {"Ag": 999}, "price_per_g": 1.06, "stock": 5},
        ],
        "heats": [heat("H1", "ada"), heat("H2", "bo")],
        **top,
    }


@pytest.fixture
def instance(tmp_path):
    def write(data):
        path = tmp_path / "instance.json"
        path.write_text(json.dumps(data))
        return path

    return write


def test_the_hand_check_stands_under_the_plan_and_adds_up(lemel):
    path = examples() / "blend.json"
    shown = lemel("blend", path).out
    assert "H1 by hand" in shown
    assert "in the bar" in shown
    assert "Linked crosswise" in shown
    said = lemel("blend", path, "--json").data["hand_check"]
    lines = [one["values"] for one in said if one["code"] == "blend.hand.line"]
    (total,) = [one["values"] for one in said if one["code"] == "blend.hand.sum"]
    assert sum(one["fine"]["value"] for one in lines) == pytest.approx(total["fine"]["value"])
    (linked,) = [one["values"] for one in said if one["code"] == "blend.hand.alternate"]
    on_the_scales = linked["low_grams"]["value"] / linked["high_grams"]["value"]
    crosswise = linked["low_parts"]["value"] / linked["high_parts"]["value"]
    assert on_the_scales == pytest.approx(crosswise, rel=1e-9)
    assert linked["ratio"] == pytest.approx(crosswise, rel=1e-12)


def test_changes_that_only_heal_together_are_told_together(lemel, instance):
    zinc = stock("Z", 890, "ada") | {"mass": 120, "comp": {"Ag": 890, "Cu": 80, "Zn": 30}}
    tight = heat("H1", "ada", impurity_max={"Zn": 10}, giveaway_max=20)
    path = instance(two_short_customers(lots=[zinc], heats=[tight]))
    heard = lemel("blend", path, "--json")
    assert heard.code == 3
    assert heard.data["heals"] == []
    assert all(len(chosen) > 1 for chosen in heard.data["heal_sets"])
    shown = lemel("blend", path).out
    assert "no single change is enough" in " ".join(shown.split())


def test_a_promise_for_the_plan_is_told_for_all_heats(lemel, instance):
    rich = {"lots": [stock("A", 935, "ada"), stock("B", 933, "bo")]}
    each = lemel("blend", instance(two_short_customers(**rich)), "--json").data
    plan = lemel("blend", instance(two_short_customers(**rich, promise_per="plan")), "--json").data
    assert plan["together"] >= 0.99
    assert plan["together"] >= each["together"]
    assert plan["cost"] >= each["cost"] * (1 - 1e-4)
    wrong = lemel("blend", instance(two_short_customers(promise_per="day")), "--json")
    assert wrong.code == 2
    assert wrong.data["error"]["field"].endswith("promise_per")


def test_seams_are_priced_both_ways_and_wrong_shares_are_named(lemel):
    asked = ["seams", "--mass", 120, "--body", 925, "--body-sd", 1.5, "--solder", 650, "--least",
             925, "--price", 1.06, "--worth", 0.85, "--sale", 0.7]  # fmt: skip
    much = lemel(*asked, "--share", 6, "--json").data
    # Worked by hand: 120 (0.925 - 0.9085 + 2.3263 x 0.94 x 0.0015) / 0.074 = 32.1 g.
    assert much["drown_g"] == pytest.approx(32.1, abs=0.1)
    assert much["better"] == "saw"
    assert lemel(*asked, "--share", 0.3, "--labour", 2, "--json").data["better"] == "drown"
    assert "drown the solder" in lemel(*asked, "--share", 6).out
    for wrong in (("--share", 130), ("--share", 2, "--fine", 900)):
        heard = lemel(*asked, *wrong, "--json")
        assert heard.code == 2
        assert heard.data["error"]["field"] == wrong[-2]


def test_a_method_that_nobody_knows_is_named_where_it_stands(lemel, tmp_path):
    text = (examples() / "correct.toml").read_text().replace("silver-iso-11427", "guess")
    path = tmp_path / "correct.toml"
    path.write_text(text)
    heard = lemel("correct", path, "--json")
    assert (heard.code, heard.data["error"]["field"]) == (2, "assay.method")
