"""The plan: asked for, made beside the page, compared, accepted, quoted, dropped."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from lemel.book import open_book, plans_at_work
from lemel.web.plan_compare import compared
from tests.months import quillmarsh_plan

#: Longer than the small plan of these tests ever takes.
PATIENCE_S = 120
LINE = {"order": "O20", "first": "1", "count": "1", "standard": "UK Ag 925", "owner": "shop",
        "due_on": "", "colour": "none", "claim": "", "section": "round", "diameter_mm": "0.9",
        "length_mm": "150"}  # fmt: skip


@pytest.fixture
def book(folder):
    return open_book(folder)


@pytest.fixture
def plan(book):
    return plans_at_work(book)[0]


@pytest.fixture
def asked(client, book):
    """One small line in the book that no plan has yet, and the form for it."""
    assert client.post("/orders/new/stock/", LINE).status_code == 302
    said = client.get("/orders/plan/").content.decode()
    once = re.search(r'name="once" value="(\w+)"', said)[1]
    return {"once": once, "line": ["O20.1"], "promise": "99", "course": "one_shot"}


def text(answer):
    return answer.content.decode()


def test_every_open_line_and_every_wish_is_on_the_form(client, asked):
    said = text(client.get("/orders/plan/"))
    assert "O20.1" in said
    assert "Wish for S1" in said
    assert "wire bar 6x6x90" in said


def test_a_plan_is_made_beside_the_page_compared_accepted_and_dropped(client, book, plan, asked):
    answer = client.post("/orders/plan/", asked)
    assert answer.status_code == 302
    page = answer["Location"]
    job = page.strip("/").rpartition("/")[2]
    assert client.post("/orders/plan/", asked)["Location"] == page
    assert len(book.jobs.recent("plan")) == 1
    assert client.get(f"{page}progress/").status_code == 200
    assert book.jobs.wait(job, PATIENCE_S).state == "done"
    assert client.get(f"{page}progress/")["HX-Refresh"] == "true"
    said = text(client.get(page))
    assert "not accepted yet" in said
    assert "O20.1" in said
    assert client.get(f"/orders/plan/compare/?one={job}&other={plan}").status_code == 200
    accepted = client.post(page, {"do": "accept"})
    assert accepted.status_code == 302
    own = accepted["Location"].strip("/").rpartition("/")[2]
    assert own in plans_at_work(book)
    assert "the shop works by it" in text(client.get(accepted["Location"]))
    assert client.post(page, {"do": "accept"}).status_code == 302
    assert client.post(f"/orders/plan/{own}/", {"do": "drop"}).status_code == 302
    assert own not in plans_at_work(book)


def test_a_plan_in_the_making_is_stopped(client, book, asked):
    page = client.post("/orders/plan/", {**asked, "finer": "yes"})["Location"]
    job = page.strip("/").rpartition("/")[2]
    assert "In the making" in text(client.get(page)) or book.jobs.job(job).state == "done"
    assert client.post(page, {}).status_code in (302, 422)
    assert book.jobs.wait(job, PATIENCE_S).state in ("stopped", "done")
    assert client.get(page).status_code == 200


@pytest.mark.parametrize(("said", "field"), [
    ({"line": []}, "line"), ({"promise": "100"}, "promise"), ({"promise": "10"}, "promise"),
    ({"course": "hope"}, "course"), ({"mould": ["a hat"]}, "mould"), ({"once": ""}, "once"),
])  # fmt: skip
def test_a_wish_that_cannot_be_is_refused_and_no_work_begins(client, book, asked, said, field):
    answer = client.post("/orders/plan/", {**asked, **said})
    assert answer.status_code == 422
    assert f'href="#f-{field}"' in text(answer)
    assert book.jobs.recent("plan") == ()


def test_a_line_that_is_not_open_is_refused(client, book, asked):
    assert client.post("/orders/plan/", {**asked, "line": ["O99.9"]}).status_code == 422
    assert book.jobs.recent("plan") == ()


def test_the_plan_says_what_meets_each_line_and_why_and_what_is_not_met(client, plan):
    said = text(client.get(f"/orders/plan/{plan}/"))
    for part in (
        "from a heat", "from stock", "Not met", "Ways out", "Filling 1", "Bags that stay",
        "it closes to the milligram", "earned an hour", "Opening it computes nothing",
    ):  # fmt: skip
        assert part in said, part
    assert "planned to 99" in said or "planned to 100" in said


def test_layouts_are_drawn_and_cards_are_printed(client, plan):
    said = text(client.get(f"/orders/plan/{plan}/"))
    drawn = re.search(r'src="(/orders/plan/[^"]*drawing/[^"]*)"', said)[1]
    shown = client.get(drawn.replace("&amp;", "&"))
    assert shown["Content-Type"] == "image/svg+xml"
    assert client.get(f"/orders/plan/{plan}/drawing/?bar=none").status_code == 404


@pytest.mark.soak
def test_cards_of_the_month_are_one_paper(client, plan):
    paper = client.get(f"/orders/plan/{plan}/cards.pdf")
    assert paper.content.startswith(b"%PDF")


def test_a_quotation_is_written_from_an_accepted_plan(client, plan):
    assert client.get(f"/orders/plan/{plan}/quote/").status_code == 200
    said = {"order": "O1", "owner": "shop", "assays": "1", "valid_days": "14", "by": "Ada"}
    answer = client.post(f"/orders/plan/{plan}/quote/", said)
    assert answer.status_code == 302
    assert client.get(answer["Location"]).content.startswith(b"%PDF")


@pytest.mark.parametrize("said", [{"order": "O4"}, {"assays": "-1"}, {"valid_days": "0"},
                                  {"owner": "nobody"}])  # fmt: skip
def test_a_quotation_that_cannot_be_is_refused(client, plan, said):
    good = {"order": "O1", "owner": "shop", "assays": "0", "valid_days": "14"}
    assert client.post(f"/orders/plan/{plan}/quote/", {**good, **said}).status_code == 422


def test_two_plans_differ_by_what_was_wished_and_by_what_they_take():
    one = quillmarsh_plan()
    options = replace(one.made_from.options, leave_out=("S1",))
    other = replace(one, made_from=replace(one.made_from, options=options), heats=())
    found = compared(one, other)
    assert found.why == ("left out: nothing here, S1 there.",)
    assert not next(pair for pair in found.totals if pair.what == "heats").same
    assert all(pair.same for pair in found.lines)
    assert any(pair.other == "none of it" for pair in found.bags)
    assert compared(one, one).why == ()


def test_a_plan_that_is_not_there_is_said_to_be_so(client):
    assert client.get("/orders/plan/plan-none/").status_code == 404
    assert client.get("/orders/plan/none/progress/").status_code == 404
    assert client.get("/orders/plan/compare/?one=a&other=b").status_code == 404
