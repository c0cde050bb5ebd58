"""At the fire as a user tries it: what is refused or warned, with its number and the way out."""

from __future__ import annotations

import io
import json
from itertools import pairwise

import pytest

from lemel.demo import examples

STERLING, YELLOW = "{ Ag = 925, Cu = 75 }", "{ Au = 750, Ag = 125, Cu = 125 }"
FURNACE = '[[furnace]]\nid = "bench furnace"\npower_w = 1200\ntop_c = 1120\n'


def pot(family="silver", more=""):
    return (
        f'[[crucible]]\nid = "P"\nfamily = "{family}"\nmaterial = "graphite"\n'
        f"volume_cm3 = 110\nmass_g = 340\n{more}\n"
    )


def torch(flame_w=2500):
    return (
        f'[[torch]]\nid = "T"\nflame_w = {flame_w}\ndish_g = 160\nmost_g = 60\n'
        'families = ["silver"]\n'
    )


def charge(mass_g, body=STERLING, more=""):
    return (
        f'[[charge]]\nbody = "S1"\nform = "casting"\nmass_g = {mass_g}\n'
        f"composition = {body}\n{more}\n"
    )


@pytest.fixture
def melt(lemel, tmp_path):
    """`melt(...)` runs `lemel melt` on a file of these parts."""

    def run(*parts, json_wanted=True):
        path = tmp_path / "melt.toml"
        path.write_text('format = "lemel-melt 1"\n' + "".join(parts))
        return lemel("melt", path, *(["--json"] if json_wanted else []))

    return run


REFUSED = {
    "overfull": ((charge(1500), FURNACE, pot()), "melt.pot.overfull", "812.20 g", "2 heats"),
    "damp": ((charge(200, more='state = "damp"'), FURNACE, pot()),
             "melt.charge.damp", "S1", "150 °C"),
    "closed": ((charge(200, more='state = "closed"'), FURNACE, pot()),
               "melt.charge.closed", "S1", "Open it"),
    "wrong family": ((charge(100, YELLOW), FURNACE, pot()), "melt.pot.family", "yellow", "kept"),
    "worn": ((charge(250), FURNACE, pot(more="melts_done = 50")),
             "melt.pot.worn", "50 melts", "another pot"),
    "retired": ((charge(250), FURNACE, pot(more="retired = true")),
                "melt.pot.retired", "retired", "another pot"),
    "thin wall": (('[[inspection]]\ncrucible = "P"\nwall_left_percent = 60\n', charge(250),
                   FURNACE, pot()), "melt.pot.thin_wall", "60%", "another pot"),
    "too much for the flame": ((charge(100), torch()), "melt.torch.limit", "100.00 g", "furnace"),
}  # fmt: skip


@pytest.mark.parametrize("case", REFUSED)
def test_what_may_not_be_melted_is_refused_with_number_and_way_out(melt, case):
    parts, code, number, way = REFUSED[case]
    heard = melt(*parts)
    assert heard.code == 3
    told = {one["code"]: one for one in heard.data["objections"]}
    assert number in told[code]["text"]
    assert way in told[code]["do"]
    shown = melt(*parts, json_wanted=False)
    assert shown.code == 3
    assert told[code]["text"].split(":")[0] in shown.out.replace("\n", " ")


def test_eight_grams_of_gold_get_a_button_and_its_own_dish(melt):
    heard = melt(charge(8, YELLOW), torch())
    assert heard.code == 0
    assert heard.data["method"] == "torch"
    codes = {one["code"] for one in heard.data["objections"]}
    assert "melt.dish.new" in codes
    assert any("button" in step["text"] for step in heard.data["steps"])
    assert "melt.dish.keeps" in {one["code"] for one in heard.data["explain"]}
    assert 0 < heard.data["held_g"] < 0.2


def test_three_grams_are_melted_too(melt):
    assert melt(charge(3, YELLOW), torch()).code == 0


def test_a_torch_warns_above_sixty_grams(melt):
    heavy, light = melt(charge(70), torch(4500)), melt(charge(55), torch(4500))
    told = {one["code"]: one for one in heavy.data["objections"]}
    assert heavy.code == light.code == 0
    assert told["melt.torch.heavy"]["grade"] == "ask"
    assert "60.00 g" in told["melt.torch.heavy"]["text"]
    assert "melt.torch.heavy" not in {one["code"] for one in light.data["objections"]}


def test_sterling_in_a_bench_furnace_is_set_to_950_to_960(lemel):
    data = lemel("melt", examples() / "melt.toml", "--json").data
    assert data["setpoint_band_c"] == [950, 960]


def test_a_pot_s_life_is_told_from_its_record(melt):
    heard = melt(
        'owner = "bo"\n[[inspection]]\ncrucible = "P"\nflaking = true\nlast_owner = "ada"\n',
        charge(250), FURNACE, pot(more="melts_done = 47"), json_wanted=False,
    )  # fmt: skip
    words = " ".join(heard.out.split())
    for said in ("47 melts of 50", "melt 48 of at most 50", "P flakes inside", "wash heat",
                 "ada's metal"):  # fmt: skip
        assert said in words


def test_an_inspection_of_a_pot_that_is_not_there_is_bad_input(melt):
    heard = melt('[[inspection]]\ncrucible = "Q"\n', charge(250), FURNACE, pot())
    assert heard.code == 2
    assert heard.data["error"]["value"] == "Q"


POURS = {
    "mould too cold": ("mould_c = 60", "cold", "60 °C"),
    "mould too hot": ("mould_c = 300", "hot", "300 °C"),
    "bath too cold": ("bath_c = 900", "cold", "959 °C"),
}


@pytest.mark.parametrize("case", POURS)
def test_a_pour_that_would_go_wrong_is_refused_with_number_and_way_out(lemel, tmp_path, case):
    line, verdict, number = POURS[case]
    path = tmp_path / "pour.toml"
    path.write_text(
        f'format = "lemel-pour 1"\ncomposition = {STERLING}\nmass_g = 45\n{line}\n[mould]\n'
        'id = "bar"\nkind = "bar"\ncavity = "square 6 mm"\nlength_mm = 90\nmass_g = 1200\n'
    )
    heard = lemel("pour", path, "--json")
    assert heard.code == 3
    assert heard.data["verdict"] == verdict
    (stop,) = [one for one in heard.data["objections"] if one["grade"] == "stop"]
    assert number in stop["text"]
    assert stop["do"]


def day_with(tmp_path, **changes):
    text = (examples() / "day.toml").read_text("utf-8")
    for name, value in changes.items():
        text = text.replace('closes = "17:30"', f'closes = "17:30"\n{name} = "{value}"', 1)
    path = tmp_path / "day.toml"
    path.write_text(text)
    return path


def test_a_day_is_told_as_one_pair_of_hands_can_do_it(lemel, tmp_path):
    data = lemel("day", day_with(tmp_path), "--json").data
    assert data["proven"]
    assert data["heats"] == ["M1", "M5", "M4"]  # the silver pot's heats together
    busy = sorted((e["start_min"], e["end_min"]) for e in data["entries"] if e["hands"])
    assert all(b >= end - 1e-9 for (_, end), (b, _) in pairwise(busy))
    assert max(e["end"] for e in data["entries"]) == "17:30"
    assert all(e["text"] for e in data["entries"])


def test_a_day_that_is_lit_too_late_is_refused_with_the_latest_moment(lemel, tmp_path):
    latest = lemel("day", day_with(tmp_path), "--json").data["latest_light_up"]
    heard = lemel("day", day_with(tmp_path, light_up="16:00"), "--json")
    assert heard.code == 3
    (stop,) = [one for one in heard.data["objections"] if one["grade"] == "stop"]
    assert latest in stop["text"]
    assert stop["do"]
    assert "does not go" in lemel("day", day_with(tmp_path, light_up="16:00")).out


@pytest.mark.parametrize(
    ("old", "new", "field"),
    [
        ('closes = "17:30"', 'closes = "25:30"', "closes"),
        ('mould = "wire bar 6"', 'mould = "plate 9"', "mould"),
        ('id = "M5"', 'id = "M1"', "id"),
    ],
)
def test_a_fault_in_a_day_names_its_place(lemel, tmp_path, old, new, field):
    path = tmp_path / "day.toml"
    path.write_text((examples() / "day.toml").read_text("utf-8").replace(old, new, 1))
    heard = lemel("day", path, "--json")
    assert heard.code == 2
    assert field in heard.data["error"]["field"]


LOG = ["minutes,display_c,event,amount\n", "1,51,,\n", "2,hot,,\n", "3,166,,\n"]
TEND = ("tend", examples() / "tend.toml")


def test_readings_are_answered_one_by_one_and_a_wrong_one_is_told(lemel, monkeypatch):
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(LOG)))
    heard = lemel(*TEND, "--lines")
    told = [json.loads(line) for line in heard.out.splitlines()]
    assert heard.code == 0
    assert [one["minutes"] for one in told] == [1, 3]
    assert all(one["ready_in_s"]["low"] < one["ready_in_s"]["high"] for one in told)
    assert all(said["text"] for one in told for said in one["advice"])
    assert "line 3" in heard.err


def test_each_answer_comes_before_the_next_reading_is_asked_for(lemel, monkeypatch, capsys):
    seen = []

    def typed():
        for line in LOG:
            seen.append(capsys.readouterr().out)
            yield line

    monkeypatch.setattr("sys.stdin", typed())
    lemel(*TEND)
    assert "1.0 min, shows 51" in seen[2]


def test_a_wrong_line_of_a_file_of_readings_is_bad_input(lemel, tmp_path):
    path = tmp_path / "log.csv"
    path.write_text("".join(LOG))
    heard = lemel(*TEND, path, "--json")
    assert heard.code == 2
    assert "line 3" in heard.data["error"]["field"]


def test_a_heat_that_is_followed_is_asked_for_its_top_up_and_then_to_pour(lemel):
    data = lemel(*TEND, examples() / "tend_log.csv", "--json").data
    codes = [[said["code"] for said in one["advice"]] for one in data["readings"]]
    first = {code: n for n, said in reversed(list(enumerate(codes))) for code in said}
    order = ["wait_top_up", "top_up", "pour", "poured"]
    assert [first[f"melt.live.{one}"] for one in order] == sorted(
        first[f"melt.live.{one}"] for one in order
    )
