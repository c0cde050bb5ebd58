"""The month planned: what the program must find by itself, as the files do not say it."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from lemel.demo import quillmarsh


@pytest.fixture(scope="module")
def month(tmp_path_factory):
    """`lemel demo --json`, run once in a process of its own as a user would."""
    into = tmp_path_factory.mktemp("demo")
    program = [sys.executable, "-c", "from lemel.cli import main; main()"]
    words = ["demo", "--json", "--into", str(into)]
    done = subprocess.run(
        [*program, *words], capture_output=True, text=True, check=False, timeout=300
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_the_answer_has_the_keys_that_others_rely_on(month):
    keys = "lines heats routes layouts unused unmet balance worth timeline provenance cautions"
    assert set(keys.split()) <= set(month)
    assert month["files"] == str(quillmarsh())


def test_the_cards_lie_where_the_answer_says(month):
    assert len(month["cards"]) > len(month["heats"])
    assert "month" in Path(month["cards"][0]).name
    for card in month["cards"]:
        assert Path(card).read_bytes().startswith(b"%PDF")


def test_metal_closes_to_the_milligram_for_each_owner_and_element(month):
    balance = month["balance"]
    assert balance["residual_mg"] == 0
    for owner in balance["owners"].values():
        assert owner["residual_mg"] == 0
        assert not any(owner["residual_ng"].values())


def test_every_line_is_met_or_says_why_not_and_what_else(month):
    for line in month["lines"]:
        if line["met_by"] == "unmet":
            told = month["unmet"][line["line"]]
            assert told["reason"]["text"]
            assert told["ways_out"]
        else:
            assert line["how"]["text"]


def test_no_lot_that_must_stay_out_is_charged(month):
    charged = {lot for heat in month["heats"] for lot in heat["lots"]}
    assert not charged & {"S6", "S9", "S10", "S12", "S16", "S17", "S18", "S19", "G7", "G10"}
    assert {"S6", "S17", "S18"} <= set(month["unused"])


def test_every_lot_is_used_or_has_its_reason(month):
    charged = {lot for heat in month["heats"] for lot in heat["lots"]}
    lots = {f"S{n}" for n in range(1, 21)} | {f"G{n}" for n in range(1, 13)}
    assert lots <= charged | set(month["unused"])


def test_nobodys_metal_is_in_anothers_heat_without_consent(month):
    owner_of = {"S4": "corvalho", "S7": "ostervelt", "G8": "haldorsen"}
    for heat in month["heats"]:
        for lot in heat["lots"]:
            assert owner_of.get(lot, "shop") == heat["owner"] or heat["consents"]
        if heat["owner"] != "shop" and heat["additions"]:
            assert heat["consents"]


def test_every_heat_promises_its_standard_as_charged(month):
    assert month["heats"]
    for heat in month["heats"]:
        least = float(heat["standard"].split()[-1])
        # A tenth of what the arithmetic of a solver may be off; no assay sees a ten-thousandth.
        assert heat["promised_fineness"] >= least - 1e-5
        assert heat["probability"] >= 0.99 - 1e-6


def test_the_salver_wants_more_than_its_owner_has_and_more_than_the_rolls_are_wide(month):
    told = month["unmet"]["O4.1"]
    words = json.dumps(told)
    assert "171.9" in words
    assert "232.6" in words or "233" in words
    assert "120 mm" in words


def test_the_heirloom_is_melted_to_a_button(month):
    (heat,) = [heat for heat in month["heats"] if heat["owner"] == "haldorsen"]
    assert set(heat["lots"]) == {"G8"}
    assert [pour["mould"] for pour in heat["pours"]] == ["button"]


def test_the_jump_rings_are_not_poured_into_one_small_bar(month):
    (heat,) = [heat for heat in month["heats"] if heat["owner"] == "corvalho"]
    assert heat["mass_g"] > 50
    moulds = [pour["mould"] for pour in heat["pours"]]
    assert moulds != ["wire bar 6x6x90"] or len(heat["bars"]) > 1
