"""A bar at the mill: ticked pass by pass, cracked, planned again, weighed out, cut, put away."""

from __future__ import annotations

import pytest

from lemel.book import open_book
from lemel.web.furnace_heats import accepted
from lemel.web.mill_bench import at_work, real_bar

BAR = "mill H1-3"


@pytest.fixture
def book(folder):
    return open_book(folder)


@pytest.fixture
def plan(book):
    """The plan, with H1 poured as planned."""
    name = accepted(book)[0]
    book.charge(name, "H1")
    book.molten(name, "H1")
    book.pour(name, "H1")
    return name


@pytest.fixture
def post(client, plan):
    def posts(do, step=BAR, **said):
        return client.post(f"/mill/{plan}/{step}/", {"do": do, **said})

    return posts


@pytest.fixture
def page(client, plan):
    return lambda step=BAR: client.get(f"/mill/{plan}/{step}/").content.decode()


def tick(post, n, step=BAR, **measured):
    answer = post("tick", step, n=n, **measured)
    assert answer.status_code == 302, answer.content.decode()[-1500:]


def test_every_bar_and_cut_is_listed_with_how_far_it_is(client, plan, post):
    tick(post, 1)
    said = client.get("/mill/").content.decode()
    assert "mill H1-3" in said
    assert "at work: 1 of" in said
    assert "waits for its bar" in said


def test_one_instruction_is_due_and_the_next_stands_under_it(page):
    said = page()
    assert said.count('class="step is-now"') == 1
    assert said.count('class="step is-next"') == 1


def test_a_tick_moves_on_and_keeps_what_was_measured(book, plan, post):
    tick(post, 1)
    tick(post, 2, thickness_mm="4.61", width_mm="39.6")
    at = at_work(book, plan, BAR)
    assert at.done == 2
    bar = real_bar(book, at)
    assert (bar.section.thickness_mm, bar.section.width_mm) == (4.61, 39.6)


def test_the_same_tick_twice_is_one_tick(book, plan, post):
    for _ in range(2):
        tick(post, 1, thickness_mm="4.9")
    [run] = book.bench.runs(plan, BAR)
    assert len(run.events) == 1


def test_a_tick_out_of_turn_is_refused(book, plan, post):
    answer = post("tick", n=5)
    assert answer.status_code == 422
    assert "One after the other" in answer.content.decode()
    assert book.bench.runs(plan, BAR) == ()


@pytest.mark.parametrize(("size", "said"), [("-1", "0.05 to"), ("thin", "Write a number.")])
def test_a_size_that_cannot_be_is_said_and_nothing_is_ticked(book, plan, post, size, said):
    answer = post("tick", n=1, thickness_mm=size)
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert at_work(book, plan, BAR).done == 0


def test_a_tick_by_mistake_is_taken_back_and_done_anew(book, plan, post):
    tick(post, 1)
    tick(post, 2)
    assert post("undo").status_code == 302
    assert at_work(book, plan, BAR).done == 1
    tick(post, 2, thickness_mm="4.6")
    assert at_work(book, plan, BAR).done == 2


def test_an_anneal_carries_its_sign_and_its_cautions(book, plan, post, page):
    at = at_work(book, plan, BAR)
    n = next(one.n for one in at.route.steps if one.tool == "anneal")
    for k in range(1, n):
        tick(post, k)
    said = page()
    due = said[said.index('class="step is-now"') : said.index('class="step is-next"')]
    assert "Anneal at" in due
    assert "Acid into water" in due
    assert "Annealed, dry" in due
    tick(post, n)
    assert real_bar(book, at_work(book, plan, BAR)).soft_section is not None


def test_what_was_measured_makes_a_new_way(book, plan, post, page):
    tick(post, 1)
    tick(post, 2, thickness_mm="4.2", width_mm="40")
    assert post("replan", why="measured").status_code == 302
    at = at_work(book, plan, BAR)
    assert at.why == "measured"
    assert at.done == 0
    assert at.bar.section.thickness_mm == 4.2
    assert "since the bar was measured" in page()


def test_a_crack_is_cut_past_its_root_and_the_way_goes_on_lighter(book, plan, post, page):
    tick(post, 1)
    tick(post, 2)
    before = real_bar(book, at_work(book, plan, BAR))
    answer = post("crack", kind="edge", place_mm="0", depth_mm="1.5")
    assert answer.status_code == 302
    said = page()
    assert "Trim both edges" in said
    assert "Anneal sooner from here on" in said
    at = at_work(book, plan, BAR)
    assert at.why == "crack"
    assert at.bar.section.width_mm < before.section.width_mm - 3
    assert at.route.steps[0].tool in ("anneal", "file")


def test_an_early_crack_puts_the_heat_and_all_its_relatives_under_suspicion(book, plan, post, page):
    tick(post, 1)
    tick(post, 2)
    post("crack", kind="cross", place_mm="40", depth_mm="6")
    assert {f"{plan}/H1", f"{plan}/H1-1", f"{plan}/H1-3"} <= set(book.mishaps.suspects())
    assert "This bar is under suspicion" in page()


def test_suspicion_can_be_told_without_advice(book, plan, post):
    assert post("suspect").status_code == 302
    assert f"{plan}/H1-2" in book.mishaps.suspects()


@pytest.mark.parametrize("said", [
    {"kind": "wavy", "place_mm": "1", "depth_mm": "1"},
    {"kind": "edge", "place_mm": "1", "depth_mm": "0"},
    {"kind": "edge", "place_mm": "9000", "depth_mm": "1"},
    {"kind": "edge", "place_mm": "1", "depth_mm": ""},
])  # fmt: skip
def test_a_crack_that_cannot_be_is_refused_and_nothing_is_written(book, plan, post, said):
    head = book.head()
    assert post("crack", **said).status_code == 422
    assert book.head() == head
    assert book.bench.runs(plan, BAR) == ()


def whole_route(book, plan, post, step=BAR):
    for one in at_work(book, plan, step).route.steps:
        tick(post, one.n, step)


def test_at_its_end_the_route_asks_for_the_balance(book, plan, post, page):
    whole_route(book, plan, post)
    assert "Every pass is done: weigh it" in page()


def test_stock_cut_and_put_into_its_drawer(book, plan, post, page, client):
    whole_route(book, plan, post)
    weights = {"after_g-H1-3-a": "96.18", "after_g-H1-3-end1": "6.86"}
    for _ in range(2):
        assert post("weigh", **weights).status_code == 302
    assert "cut H1-3-a" in page()
    cut = "cut H1-3-a"
    said = page(cut)
    assert "as it is marked out" in said
    assert "In order from the free end" in said
    drawn = client.get(f"/mill/drawing/{plan}/?bar=H1-3-a")
    assert drawn["Content-Type"] == "image/svg+xml"
    assert b"<svg" in drawn.content
    step = next(one for one in book.steps(plan) if one.name == cut)
    after = {f"after_g-{own}": mg / 1000 for own, mg in step.gives_mg.items()}
    assert post("weigh", cut, **after).status_code == 302
    assert "Into the drawer" in page(cut)
    piece = next(own for own in step.gives_mg if own.endswith("scrap"))
    assert post("shelve", cut, body=f"{plan}/{piece}", place="drawer 3").status_code == 302
    assert "drawer 3" in page(cut)


def test_metal_that_is_missed_is_asked_for_before_it_is_loss(book, plan, post):
    whole_route(book, plan, post)
    answer = post("weigh", **{"after_g-H1-3-a": "80"})
    assert answer.status_code == 422
    assert "misses" in answer.content.decode()
    assert not next(s for s in book.steps(plan) if s.name == BAR).done
    assert post("weigh", sure="yes", **{"after_g-H1-3-a": "80"}).status_code == 302


def test_an_unknown_step_is_said_to_be_so(client, plan):
    assert client.get(f"/mill/{plan}/mill H99/").status_code == 404
    assert client.get(f"/mill/drawing/{plan}/?bar=none").status_code == 404


def test_a_bar_taken_off_stock_is_weighed_first(book, plan, post, page):
    part = "part sterling wire 1.0"
    assert "Take it off, then weigh" in page(part)
    assert post("weigh", part, **{"after_g-sterling wire 1.0/O11.1": "36.29"}).status_code == 302
    assert "At the mill" in page(part) or "Into the drawer" in page(part)
