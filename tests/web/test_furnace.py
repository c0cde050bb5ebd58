"""A heat on the pages: rehearsed, charged by the tub, run line by line, each line written once."""

from __future__ import annotations

import itertools
import json

import pytest

from lemel.book import Account, open_book
from lemel.web.furnace_heats import accepted, heat_plan
from lemel.web.furnace_steps import run_steps

_count = itertools.count(1)
ROUND = {"closes": "23:30", "light_at": "08:00", "people": "Bo pours, Ada beside"}


def fresh() -> str:
    return f"line-of-the-test-{next(_count):04d}"


@pytest.fixture
def book(folder):
    return open_book(folder)


@pytest.fixture
def plan(book):
    return accepted(book)[0]


@pytest.fixture
def at(client, plan):
    """Posts to heat H1 and tells the answer."""

    class At:
        base = f"/furnace/{plan}/H1/"

        def get(self, tail=""):
            return client.get(self.base + tail)

        def post(self, tail, said, **more):
            return client.post(self.base + tail, said, **more)

        def line(self, what, **said):
            return self.post("line/", {"id": fresh(), "what": what, **said})

        def rehearse(self, **other):
            looks = dict.fromkeys(_looks(self.get("rehearse/")), "seen")
            return self.post("rehearse/", {"id": fresh(), **ROUND, **looks, **other})

    return At()


def _looks(answer):
    return {part.split('"')[0] for part in answer.content.decode().split('name="')[1:]
            if part.startswith("seen-")}  # fmt: skip


def weigh_all(at, book, plan, **other):
    for line in heat_plan(book, plan, "H1").charge.lines:
        whole = book.held(Account("shop", "store", line.body)).gross_mg / 1000
        said = {f"before_g-{line.body}": whole, f"taken_g-{line.body}": round(line.mass_g, 2)}
        answer = at.line("bag", step=line.body, **{**said, **other})
        assert answer.status_code == 302, answer.content.decode()[-2000:]


def charged(at, book, plan):
    at.rehearse()
    weigh_all(at, book, plan)
    assert at.line("charged").status_code == 302
    assert book.heat_state(plan, "H1") == "charged"


def to_the_pour(at, book, plan):
    charged(at, book, plan)
    for step in run_steps(heat_plan(book, plan, "H1")):
        said = {"filled": "full"} if step.kind == "pour" else {}
        if step.kind == "light":
            said["happened"] = "yes"
        assert at.line("step", step=step.key, **said).status_code == 302


def test_the_heats_of_the_plan_are_listed_with_how_they_stand(client):
    said = client.get("/furnace/").content.decode()
    assert "H1" in said
    assert "graphite S" in said
    assert "planned" in said


def test_a_heat_begins_with_its_rehearsal(at):
    assert at.get().url.endswith("/rehearse/")


def test_what_is_not_there_yet_stops_the_rehearsal_at_its_place(at, book, plan):
    answer = at.rehearse(**{"seen-tray": "not_yet"})
    said = answer.content.decode()
    assert answer.status_code == 422
    assert "Set fire and mould in a steel tray with dry sand first." in said
    assert book.filed(f"line {plan}/H1") == {}


def test_lighting_up_too_late_for_the_closing_time_is_refused_with_what_else_can_be_done(at):
    answer = at.rehearse(closes="17:00", light_at="15:00")
    said = answer.content.decode()
    assert answer.status_code == 422
    assert "To shut at 17:00 the fire must be lit by" in said
    assert "Take another day" in said


@pytest.mark.parametrize("hour", ["25:00", "noon", ""])
def test_a_closing_time_that_is_none_is_said_at_its_field(at, hour):
    answer = at.rehearse(closes=hour)
    assert answer.status_code == 422
    assert 'href="#f-closes"' in answer.content.decode()


def test_a_bag_that_weighs_otherwise_is_asked_about_and_not_written(at, book, plan):
    answer = at.line("bag", step="S1", **{"before_g-S1": 100.0, "taken_g-S1": 99.31})
    said = answer.content.decode()
    assert answer.status_code == 422
    assert "Is it the right one?" in said
    assert book.filed(f"line {plan}/H1") == {}


def test_a_bag_that_was_answered_for_is_taken_and_the_difference_booked(at, book, plan):
    at.rehearse()
    weigh_all(at, book, plan)
    whole = book.held(Account("shop", "store", "S2")).gross_mg / 1000
    said = {"before_g-S2": whole + 0.2, "taken_g-S2": 56.76, "answer": "book_difference"}
    assert at.line("bag", step="S2", **said).status_code == 302
    assert at.line("charged").status_code == 302
    assert book.held(Account("shop", "stock_take", "S2")).gross_mg == -200


def test_the_charge_waits_for_every_bag(at, book, plan):
    at.rehearse()
    answer = at.line("charged")
    assert answer.status_code == 422
    assert "Weigh the rest first." in answer.content.decode()
    assert book.heat_state(plan, "H1") == "planned"


def test_a_line_that_is_sent_twice_is_kept_once(at, book, plan):
    charged(at, book, plan)
    before = len(book.filed(f"line {plan}/H1"))
    said = {"id": fresh(), "what": "step", "step": "s1"}
    for _ in range(3):
        answer = at.post("line/", said, headers={"X-Line": "yes"})
        assert answer.status_code == 200
        assert answer.json() == {"kept": True}
    assert len(book.filed(f"line {plan}/H1")) == before + 1


def test_another_line_under_the_same_id_is_refused(at, book, plan):
    charged(at, book, plan)
    name = fresh()
    at.post("line/", {"id": name, "what": "step", "step": "s1"})
    answer = at.post("line/", {"id": name, "what": "step", "step": "s2"}, headers={"X-Line": "1"})
    assert answer.status_code == 422
    assert "an id of its own" in answer.json()["refused"][0]


def test_the_charge_sent_twice_is_one_entry(at, book, plan):
    charged(at, book, plan)
    head = book.head()
    assert at.line("charged").status_code == 302
    assert book.head() == head


def test_nobody_lights_up_after_the_last_light_up(at, book, plan):
    charged(at, book, plan)
    key = next(s.key for s in run_steps(heat_plan(book, plan, "H1")) if s.kind == "light")
    late = {"step": key, "local": "2026-10-02T23:00"}
    answer = at.line("step", **late)
    assert answer.status_code == 422
    assert "the last light-up was" in answer.content.decode()
    assert key not in at.get("state/").json()["done"]


def test_an_entry_made_later_keeps_the_hour_that_was_told(at, book, plan):
    charged(at, book, plan)
    at.line("step", step="s1", at="15:20")
    records = [one.record for one in book.filed(f"line {plan}/H1").values()]
    assert [one["at"] for one in records if one["step"] == "s1"] == ["15:20"]
    assert "done 15:20" in at.get().content.decode()


def test_stirring_makes_the_heat_molten_and_taking_it_back_makes_it_charged(at, book, plan):
    charged(at, book, plan)
    steps = run_steps(heat_plan(book, plan, "H1"))
    stir = next(s.key for s in steps if s.kind == "molten")
    at.line("step", step=stir)
    assert book.heat_state(plan, "H1") == "molten"
    last = at.get("state/").json()["undo"]
    assert at.line("undo", of=last).status_code == 302
    assert book.heat_state(plan, "H1") == "charged"
    assert stir not in at.get("state/").json()["done"]


def test_the_charge_can_be_taken_back_into_its_bags(at, book, plan):
    before = book.held(Account("shop", "store", "S1")).gross_mg
    charged(at, book, plan)
    assert book.held(Account("shop", "store", "S1")).gross_mg < before
    assert at.line("undo", of=at.get("state/").json()["undo"]).status_code == 302
    assert book.heat_state(plan, "H1") == "planned"
    assert book.held(Account("shop", "store", "S1")).gross_mg == before


def test_readings_grow_the_log_and_say_where_the_bath_is(at, book, plan):
    charged(at, book, plan)
    heat = heat_plan(book, plan, "H1")
    light = next(s.key for s in run_steps(heat) if s.kind == "light")
    begun = 1_900_000_000_000
    at.line("step", step=light, pressed=begun, happened="yes")
    for minute in (3, 6, 9):
        n = next(n for n, t in enumerate(heat.melt.curve.t_s) if t >= 60 * minute)
        shown = heat.melt.curve.furnace_c[n]
        at.line("reading", celsius=f"{shown:.0f}", pressed=begun + 60_000 * minute)
    curve = at.get("state/").json()["curve"]
    assert len(curve["readings"]) == 3
    low, middle, high = curve["live"]["bath_c"]
    planned = heat.melt.curve.bath_c[n]
    assert low < middle < high
    assert abs(middle - planned) < 40
    assert curve["live"]["word"]
    assert curve["live"]["ready_s"][1] > 0


def test_a_reading_before_light_up_is_refused(at, book, plan):
    charged(at, book, plan)
    answer = at.line("reading", celsius="300")
    assert answer.status_code == 422
    assert "Light up first." in answer.content.decode()


@pytest.mark.parametrize("shown", ["4000", "hot", ""])
def test_a_display_that_cannot_show_so_is_said_at_its_field(at, book, plan, shown):
    charged(at, book, plan)
    light = next(s.key for s in run_steps(heat_plan(book, plan, "H1")) if s.kind == "light")
    at.line("step", step=light, happened="yes")
    answer = at.line("reading", celsius=shown)
    assert answer.status_code == 422
    assert "#f-celsius" in answer.content.decode()


def test_the_wrong_bag_in_the_pot_opens_the_ways_on(at, book, plan, client):
    charged(at, book, plan)
    said = {"do": "wrong", "charged": "S5", "really": "S8"}
    answer = at.post("wrong/", said)
    assert answer.status_code == 302, answer.content.decode()[-1500:]
    page = at.get("wrong/").content.decode()
    assert "What can be done with what is in the pot" in page
    assert "Pour it" in page or "Correct it" in page


def test_what_is_picked_up_of_a_spill_is_a_lot_of_its_own(at, book, plan):
    charged(at, book, plan)
    answer = at.post("wrong/", {"do": "spill", "recovered_g": "3.2", "lost_g": "0.1"})
    assert answer.status_code == 302, answer.content.decode()[-1500:]
    assert [lot.mass_g for lot in book.lots() if "spill" in lot.id] == [3.2]


@pytest.mark.parametrize("grams", ["", "900", "-1"])
def test_a_spill_that_cannot_be_is_said_at_its_field(at, book, plan, grams):
    charged(at, book, plan)
    head = book.head()
    answer = at.post("wrong/", {"do": "spill", "recovered_g": grams})
    assert answer.status_code == 422
    assert "#f-recovered_g" in answer.content.decode()
    assert book.head() == head


def test_a_cold_charge_goes_back_into_its_bags_and_begins_anew(at, book, plan):
    before = book.held(Account("shop", "store", "S1")).gross_mg
    charged(at, book, plan)
    assert at.post("wrong/", {"do": "empty"}).status_code == 302
    assert book.held(Account("shop", "store", "S1")).gross_mg == before
    assert at.get().url.endswith("/charge/")
    assert at.get("state/").json()["bags"] == []


def test_a_burning_charge_is_not_emptied(at, book, plan):
    charged(at, book, plan)
    light = next(s.key for s in run_steps(heat_plan(book, plan, "H1")) if s.kind == "light")
    at.line("step", step=light, happened="yes")
    assert at.post("wrong/", {"do": "empty"}).status_code == 422
    assert book.heat_state(plan, "H1") == "charged"


def test_the_whole_heat_runs_to_its_bars(at, book, plan):
    to_the_pour(at, book, plan)
    assert book.heat_state(plan, "H1") == "molten"
    assert "Nothing more is due at the fire." in at.get().content.decode()


def weigh_out(at, book, plan, **other):
    step = next(s for s in book.steps(plan) if s.name == "H1 melt and pour")
    said = {"do": "weigh", "id": fresh()}
    for own, mg in step.gives_mg.items():
        if own != step.name:
            said[f"after_g-{own}"] = mg / 1000
            said[f"fault-{own}"] = ""
    return at.post("out/", {**said, **other})


def test_bars_are_weighed_out_once_however_often_it_is_sent(at, book, plan):
    to_the_pour(at, book, plan)
    for _ in range(2):
        assert weigh_out(at, book, plan).status_code == 302
    assert book.heat_state(plan, "H1") == "poured"
    assert book.held(Account("shop", "store", f"{plan}/H1-2")).gross_mg == 31_920


def test_a_bar_without_its_weight_is_asked_for(at, book, plan):
    to_the_pour(at, book, plan)
    answer = weigh_out(at, book, plan, **{"after_g-H1-2": ""})
    assert answer.status_code == 422
    assert "Weigh the bar." in answer.content.decode()
    assert book.heat_state(plan, "H1") == "molten"


def test_metal_that_is_missed_is_looked_for_before_it_is_booked_as_loss(at, book, plan):
    to_the_pour(at, book, plan)
    answer = weigh_out(at, book, plan, **{"after_g-H1-3": 90.0})
    assert answer.status_code == 422
    assert "misses" in answer.content.decode()
    assert book.heat_state(plan, "H1") == "molten"
    assert weigh_out(at, book, plan, **{"after_g-H1-3": 90.0, "sure": "yes"}).status_code == 302


def test_a_short_bar_is_planned_again_in_one_tap(at, book, plan, client):
    to_the_pour(at, book, plan)
    other = {"after_g-H1-1": 16.0, "fault-H1-1": "short", "after_g-H1-1-feeder": 5.03}
    assert weigh_out(at, book, plan, **other).status_code == 302
    page = at.get("out/").content.decode()
    assert "Plan the mill again from this bar" in page
    answer = client.post(f"/mill/{plan}/mill H1-1/", {"do": "replan", "why": "short"})
    assert answer.status_code == 302, answer.content.decode()[-1500:]
    page = client.get(f"/mill/{plan}/mill H1-1/").content.decode()
    assert "A new way, since the bar was short" in page


def test_a_closed_heat_takes_nothing_back(at, book, plan):
    to_the_pour(at, book, plan)
    weigh_out(at, book, plan)
    at.post("out/", {"do": "close"})
    assert book.heat_state(plan, "H1") == "closed"
    answer = at.post("out/", {"do": "undo"})
    assert answer.status_code == 422
    assert book.heat_state(plan, "H1") == "closed"


def test_the_weighing_is_taken_back_until_the_heat_is_closed(at, book, plan):
    to_the_pour(at, book, plan)
    weigh_out(at, book, plan)
    assert at.post("out/", {"do": "undo"}).status_code == 302
    assert book.heat_state(plan, "H1") == "molten"


def test_a_torch_heat_is_rehearsed_too(client, plan):
    page = client.get(f"/furnace/{plan}/H3/rehearse/")
    assert page.status_code == 200
    assert b"in a dish under air-propane torch" in page.content


def test_an_unknown_heat_is_said_to_be_so(client, plan):
    assert client.get(f"/furnace/{plan}/H99/").status_code == 404
    assert client.get("/furnace/nothing/H1/").status_code == 404


def test_an_empty_book_tells_where_a_plan_comes_from(empty):
    from django.test import Client

    assert b"No heat is planned." in Client().get("/furnace/").content


def test_the_state_is_plain_data(at, book, plan):
    charged(at, book, plan)
    found = json.loads(at.get("state/").content)
    assert set(found) == {"state", "done", "bags", "lit_ms", "undo", "curve"}
