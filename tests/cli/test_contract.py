"""Every verb answers with the keys that others rely on, and shows the same to people."""

from __future__ import annotations

import json

import pytest

from lemel.cli.answer import as_json
from lemel.cli.verbs import VERBS
from lemel.demo import examples

#: Keys that each answer must have; more may be added.
KEYS = {
    "alloy": "composition liquidus_c solidus_c segregated_solidus_c freezing_range_k band_k grade "
    "liquid_fraction phases density_20c_g_cm3 density_liquid_g_cm3 pour_c heat_to_pour_j_per_g "
    "vapour_pa fineness standards cautions sources",
    "believe": "mean sd interval_95 shared readings cautions",
    "weigh": "density_g_cm3 density_sd fineness fineness_interval_95 verdict cautions",
    "blend": "status cost lower_bound gap heats explain seconds hand_check together heal_sets",
    "correct": "additions mean_fineness promised_fineness",
    "seams": "drown_g saw_g cut_away_g drown_cost saw_cost better explain",
    "melt": "setpoint_c steps minutes_to_pour energy_kwh loss_g cool_down_h curve cautions",
    "calibrate": "parameters rms_k prediction",
    "tend": "readings",
    "day": "status light_up_min latest_light_up_min length_min entries energy_kwh proven heats",
    "pour": "ingots mould_preheat_c mould_peak_c freeze_s pour_window_s wait_between_s verdict "
    "cautions",
    "mill": "steps passes anneals minutes proven lower_bound offcut_g mass_g cautions",
    "cut": "blanks layout stock_needed yield offcut_g drawing cautions",
    "size": "inside_circumference_mm inside_diameter_mm blank_length_mm mass_g",
    "blank": "inside_circumference_mm inside_diameter_mm blank_length_mm mass_g",
    "convert": "value",
    "gauge": "value",
    "where": "program demo book",
    "explain": "sources",
}
CALLS = {
    "alloy": ("Ag=925", "Cu=75", "--at", "850"),
    "believe": (examples() / "believe_one.toml",),
    "weigh": ("--air", "20.00", "--water", "18.07", "--water-temp", "20", "--metals", "Ag,Cu"),
    "blend": (examples() / "blend.json",),
    "correct": (examples() / "correct.toml",),
    "seams": (
        "--mass",
        "418.2",
        "--body",
        "925.7",
        "--solder",
        "650",
        "--share",
        "2",
        "--share-sd",
        "0.7",
        "--least",
        "925",
        "--price",
        "1.06",
        "--worth",
        "0.90",
        "--sale",
        "0.62",
        "--labour",
        "12",
    ),
    "melt": (examples() / "melt.toml",),
    "calibrate": (examples() / "calibrate.toml",),
    "tend": (examples() / "tend.toml", examples() / "tend_log.csv"),
    "day": (examples() / "day.toml",),
    "pour": (examples() / "pour.toml",),
    "mill": (examples() / "mill.toml",),
    "cut": (examples() / "cut.toml",),
    "size": ("ring", "UK L", "--to", "ISO", "--thickness", "1.7"),
    "blank": ("ring", "UK L", "--width", "3", "--thickness", "1.7"),
    "convert": ("2", "ozt", "g"),
    "gauge": ("18", "--system", "AWG"),
    "where": (),
    "explain": ("from_memory",),
}


@pytest.mark.parametrize("verb", CALLS)
def test_an_answer_has_the_keys_that_others_rely_on(lemel, verb):
    heard = lemel(verb, *CALLS[verb], "--json")
    assert heard.code == 0
    assert set(KEYS[verb].split()) <= set(heard.data)
    assert heard.data["verb"] == verb


@pytest.mark.parametrize("verb", CALLS)
def test_an_answer_is_shown_in_words_too(lemel, verb):
    heard = lemel(verb, *CALLS[verb])
    assert heard.code == 0
    assert heard.out.strip()
    assert not heard.out.lstrip().startswith("{")


@pytest.mark.parametrize("verb", CALLS)
def test_the_same_question_gets_the_same_answer_byte_for_byte(lemel, verb):
    first, again = (lemel(verb, *CALLS[verb], "--json") for _ in range(2))
    lines = [
        [line for line in heard.out.splitlines() if '"seconds"' not in line]
        for heard in (first, again)
    ]
    assert lines[0] == lines[1]


@pytest.mark.parametrize(
    ("verb", "table", "keys"),
    [
        ("blend", "heats", "id formed mass_g lots additions mean_fineness sd_fineness "
         "promised_fineness probability composition"),
        ("melt", "steps", "at_min action mass_g bath_c_before bath_c_after"),
        ("pour", "ingots", "mould mass_g dims_mm fill"),
        ("mill", "steps", "n tool size_mm width_mm length_mm strain_since_soft hv force_n "
         "torque_nm limit screw_turn note"),
        ("believe", "readings", "reading weight residual"),
    ],
)  # fmt: skip
def test_the_rows_of_an_answer_have_their_keys(lemel, verb, table, keys):
    rows = lemel(verb, *CALLS[verb], "--json").data[table]
    assert rows
    assert all(set(keys.split()) <= set(row) for row in rows)


def test_a_calibration_gives_each_figure_its_spread_and_foretells_the_next_heat(lemel):
    data = lemel("calibrate", *CALLS["calibrate"], "--json").data
    assert all(one["sd"] > 0 for one in data["parameters"].values())
    band = data["prediction"]["ready_s"]
    assert band["low"] < band["middle"] < band["high"]


def test_what_a_calibration_prints_for_the_kit_list_is_read_as_it_stands(lemel, tmp_path):
    told = lemel("calibrate", *CALLS["calibrate"]).out
    block = told.split("[furnace.parameters]")[1].split("Notes")[0]
    text = (examples() / "melt.toml").read_text("utf-8")
    path = tmp_path / "melt.toml"
    path.write_text(text.replace("top_c = 1120\n", f"top_c = 1120\n[furnace.parameters]{block}", 1))
    before, after = (lemel("melt", one, "--json").data for one in (*CALLS["melt"], path))
    assert after["minutes_to_pour"] != before["minutes_to_pour"]


def test_the_curve_of_a_melt_has_two_lines(lemel):
    curve = lemel("melt", *CALLS["melt"], "--json").data["curve"]
    assert len(curve["t_s"]) == len(curve["bath_c"]) == len(curve["furnace_c"]) > 10


def test_several_lots_are_answered_one_by_one(lemel):
    data = lemel("believe", examples() / "believe.json", "--json").data
    assert [one["lot"] for one in data["lots"]] == ["S15", "S8"]
    assert "mean" not in data


def test_an_assayed_heat_teaches_its_lots(lemel, tmp_path):
    lots = [
        {"lot": lot, "mass_g": 100, "metal": "Ag", "readings": [
            {"method": "xrf-hand-abraded", "fineness": fineness, "source": "gun"}]}
        for lot, fineness in (("A", 910), ("B", 925))
    ]  # fmt: skip
    assay = {"method": "silver-iso-11427", "fineness": 912.0, "source": "office"}
    heat = {"heat": "H1", "metal": "Ag", "lots": {"A": 100, "B": 100}, "metal_g": 199.5,
            "readings": [assay]}  # fmt: skip
    path = tmp_path / "heat.json"

    def means(data):
        path.write_text(json.dumps(data))
        found = lemel("believe", path, "--json").data
        return {one["lot"]: one["mean"] for one in found["lots"]}, found

    before, _ = means({"lots": lots})
    after, found = means({"lots": lots, "heats": [heat]})
    assert after["A"] < before["A"]
    assert after["B"] < before["B"]
    assert found["heats"]["H1"]["mean"] == pytest.approx(912, abs=1.5)


def test_an_alloy_without_a_temperature_has_no_phases(lemel):
    data = lemel("alloy", "Ag=925", "Cu=75", "--json").data
    assert not {"phases", "liquid_fraction", "at_c"} & set(data)


@pytest.mark.outside
def test_sterling_melts_where_the_assessed_system_says(lemel):
    # Ag-Cu after F. H. Hayes, H. L. Lukas, G. Effenberg, G. Petzow, Z. Metallkd. 77 (1986) 749.
    data = lemel("alloy", "Ag=925", "Cu=75", "--json").data
    assert data["liquidus_c"] == pytest.approx(896.3, abs=0.5)
    assert data["solidus_c"] == pytest.approx(802.8, abs=0.5)
    assert data["segregated_solidus_c"] == pytest.approx(779.1, abs=0.5)


def test_what_cannot_be_done_is_an_answer_with_its_diagnosis(lemel, tmp_path):
    data = json.loads((examples() / "blend.json").read_text())
    data["additions"] = []
    data["heats"][0]["standard"] = 958
    path = tmp_path / "poor.json"
    path.write_text(json.dumps(data))
    heard = lemel("blend", path, "--json")
    assert heard.code == 3
    assert heard.data["status"] == "infeasible"
    assert heard.data["explain"]


def test_cautions_and_sayings_come_with_their_words(lemel):
    data = lemel("melt", *CALLS["melt"], "--json").data
    for one in data["cautions"]:
        assert {"code", "at", "grade", "source", "text"} <= set(one)
        assert one["text"] != one["code"]


def test_keys_are_sorted_at_every_depth(lemel):
    def sorted_all(data):
        if isinstance(data, dict):
            assert list(data) == sorted(data)
            for item in data.values():
                sorted_all(item)
        elif isinstance(data, list):
            for item in data:
                sorted_all(item)

    sorted_all(lemel("pour", *CALLS["pour"], "--json").data)


@pytest.mark.parametrize("wrong", [float("nan"), float("inf"), -float("inf")])
def test_no_answer_may_hold_a_number_that_is_none(wrong):
    with pytest.raises(ValueError, match="JSON"):
        as_json("alloy", {"deep": [{"value": wrong}]})


def test_an_own_fault_ends_with_one_and_a_sentence(lemel, monkeypatch):
    monkeypatch.setattr("lemel.cli.metal.alloy_report", lambda *_, **__: 1 / 0)
    heard = lemel("alloy", "Ag=1000")
    assert heard.code == 1
    assert "our own fault" in heard.err
    assert lemel("alloy", "Ag=1000", "--json").data["error"]["value"].startswith("ZeroDivision")


def test_a_stopped_run_ends_with_130(lemel, monkeypatch):
    def stop(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr("lemel.cli.metal.alloy_report", stop)
    assert lemel("alloy", "Ag=1000").code == 130
    assert lemel("alloy", "Ag=1000", "--json").data["error"]["value"] == "stopped"


def test_every_verb_is_promised_and_called_here():
    later = {"plan", "demo", "book", "serve"}
    assert set(CALLS) | later == set(VERBS)
