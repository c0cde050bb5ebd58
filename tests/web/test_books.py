"""The books' pages: accounts, entries, audit, descent, loss, register, backups, people."""

from __future__ import annotations

import html
import re
from pathlib import Path

import pytest

from lemel.book import Account, open_book, plans_at_work


@pytest.fixture
def book(folder):
    return open_book(folder)


@pytest.fixture
def plan(book):
    """The plan, with H1 poured as planned."""
    name = plans_at_work(book)[0]
    book.charge(name, "H1")
    book.molten(name, "H1")
    book.pour(name, "H1")
    return name


def read(client, at, status=200):
    answer = client.get(at)
    assert answer.status_code == status, answer.content.decode()[-800:]
    return answer.content.decode()


def refused(client, at, **said):
    answer = client.post(at, said)
    assert answer.status_code == 422, answer.status_code
    return answer.content.decode()


def sent(client, at, **said):
    answer = client.post(at, said)
    assert answer.status_code == 302, answer.content.decode()[-1500:]
    return answer["Location"]


def plain(said):
    bare = html.unescape(re.sub(r"<[^>]+>", " ", said)).replace("\u202f", "")
    return re.sub(r"\s+", " ", bare)


def test_the_accounts_say_what_the_balances_say(client, book):
    said = plain(read(client, "/books/"))
    for owner, name in book.owners().items():
        held = book.balances(owner=owner)
        mg = sum(m.gross_mg for a, m in held.items() if a.place in ("store", "process"))
        assert name in said
        assert f"{mg / 1000:.3f} g" in said


def test_a_statement_opens_and_closes_like_the_book_and_prints(client, book):
    made = book.statement("corvalho")
    said = plain(read(client, "/books/owner/corvalho/statement/"))
    assert f"{made.closing_mg / 1000:.3f} g" in said
    assert "weighed in" in said
    paper = client.get("/books/owner/corvalho/statement.pdf?unit=ozt")
    assert paper["Content-Type"] == "application/pdf"
    assert paper.content.startswith(b"%PDF")


def test_a_statement_in_ounces_is_31_1034768_times_smaller(client, book):
    """The troy ounce is 31.1034768 g exactly (Weights and Measures Act 1985, schedule 1)."""
    mg = book.statement("corvalho").closing_mg
    said = plain(read(client, "/books/owner/corvalho/statement/?unit=ozt"))
    assert f"{mg / 31103.4768:.4f} ozt" in said


@pytest.mark.parametrize("asked", ["since=gestern", "since=2026-10-02&until=2026-10-01", "unit=lb"])
def test_a_period_that_makes_no_sense_is_told(client, asked):
    assert "Not so" in read(client, f"/books/owner/corvalho/statement/?{asked}", 404)


def test_an_owner_chooses_the_unit(client, book):
    sent(client, "/books/owner/corvalho/", do="unit", unit="ozt")
    assert book.papers.unit_of("corvalho") == "ozt"
    assert "ozt" in plain(read(client, "/books/owner/corvalho/"))
    assert "f-unit" in refused(client, "/books/owner/corvalho/", do="unit", unit="stone")


def test_a_name_is_erased_only_for_whoever_writes_the_id(client, book):
    page = "/books/owner/corvalho/"
    assert "to be sure" in refused(client, page, do="erase", sure="corvalo")
    assert "corvalho" in book.owners()
    mg = book.statement("corvalho").closing_mg
    sent(client, page, do="erase", sure="corvalho")
    assert "corvalho" not in book.owners()
    assert "Corvalho" not in read(client, "/books/")
    assert mg in [sum(m.gross_mg for a, m in book.balances(owner=one).items()
                      if a.place == "store") for one in book.owners()]  # fmt: skip


def test_the_shop_cannot_erase_itself(client, book):
    assert "keeps its own name" in refused(client, "/books/owner/shop/", do="erase", sure="shop")
    assert "shop" in book.owners()


def test_a_new_owner_has_an_id_that_fits_on_a_label(client, book):
    assert "f-id" in refused(client, "/books/owners/", id="a/b", name="Ada")
    assert "f-name" in refused(client, "/books/owners/", id="ada", name="")
    sent(client, "/books/owners/", id="ada", name="Ada")
    assert book.owners()["ada"] == "Ada"
    assert "short name that is new" in refused(client, "/books/owners/", id="ada", name="Bo")


def test_every_entry_is_there_and_opens_to_lines_that_sum_to_nothing(client, book):
    last, _ = book.head()
    said = read(client, "/books/entries/")
    assert f"/books/entries/{last}/" in said
    older = read(client, f"/books/entries/?before={last}")
    assert f'/books/entries/{last}/"' not in older
    row = plain(read(client, "/books/entries/1/"))
    grams = [float(one) for one in re.findall(r"(-?\d+\.\d{3}) g", row.split("Into a heap")[1])]
    assert grams
    assert abs(sum(grams[::2])) < 1e-9 or abs(sum(grams)) < 1e-9


def test_entries_can_be_narrowed_to_a_heap(client):
    said = read(client, "/books/entries/?of=S1")
    assert "S1" in said
    assert "G8" not in plain(said)
    assert "No entry touches nobody" in plain(read(client, "/books/entries/?of=nobody"))


def test_an_entry_is_reversed_once_with_its_reason(client, book):
    number = next(n for n in range(1, book.head()[0] + 1)
                  if "S7 " in plain(read(client, f"/books/entries/{n}/")))  # fmt: skip
    page = f"/books/entries/{number}/"
    assert "f-why" in refused(client, page, why="")
    before = book.head()[0]
    said = {"why": "weighed twice", "once": "a-token"}
    assert sent(client, page, **said) == sent(client, page, **said)
    assert book.head()[0] == before + 1
    sent(client, page, why="weighed twice", once="another")
    assert book.head()[0] == before + 1
    assert "weighed twice" in plain(read(client, page))
    assert not book.held(Account("ostervelt", "store", "S7")).gross_mg
    assert book.audit().whole


def test_a_step_of_a_plan_is_not_reversed_behind_its_back(client, book, plan):
    page = f"/books/entries/{book.head()[0]}/"
    assert "take it back where it was done" in plain(read(client, page))
    refused(client, page, why="a mistake")
    assert book.heat_state(plan, "H1") == "poured"


def test_the_head_to_note_on_paper_is_the_books(client, book):
    number, digest = book.head()
    said = plain(read(client, "/books/audit/"))
    assert str(number) in said
    assert digest in said.replace(" ", "")


def test_an_audit_tells_whether_a_noted_head_is_still_there(client, book):
    number, digest = book.head()
    page = "/books/audit/"
    answer = client.post(page, {"number": number, "digest": f"{digest[:32]} {digest[32:]}"})
    assert "Whole:" in answer.content.decode()
    wrong = client.post(page, {"number": number, "digest": digest[::-1]})
    assert "not whole" in wrong.content.decode()
    assert "f-digest" in refused(client, page, number=number, digest="abc")


def test_a_bar_shows_the_bags_it_came_from_with_their_grams(client, book, plan):
    said = plain(read(client, f"/books/body/{plan}/H1-1/"))
    nodes = book.papers.origin(f"{plan}/H1-1").nodes
    bags = [one for one in nodes if one.depth == 2]
    assert bags
    for one in bags:
        assert f"{one.gross_mg / 1000:.3f} g" in said
    drawing = client.get(f"/books/drawing/back/{plan}/H1-1/")
    assert drawing["Content-Type"] == "image/svg+xml"
    assert "H1-1" in drawing.content.decode()


def test_a_bag_shows_what_became_of_it(client, plan):
    said = plain(read(client, "/books/body/S1/"))
    assert f"{plan}/H1-3" in said


def test_a_suspect_is_drawn_by_shape_and_word(client, plan, book):
    page = f"/books/body/{plan}/H1-1/"
    calm = client.get(f"/books/drawing/back/{plan}/H1-1/").content.decode()
    sent(client, page, do="suspect")
    seen = client.get(f"/books/drawing/back/{plan}/H1-1/").content.decode()
    assert "suspect" in seen
    assert seen.count("<rect") > calm.count("<rect")
    assert f"{plan}/H1-3" in book.mishaps.suspects()
    assert "f-why" in refused(client, page, do="clear", why="")
    sent(client, page, do="clear", why="bent and sound")
    assert f"{plan}/H1-3" not in book.mishaps.suspects()


def test_an_origin_statement_names_share_and_definition(client, book, plan):
    made = book.papers.origin(f"{plan}/H1-1")
    said = plain(read(client, f"/books/origin/{plan}/H1-1/"))
    assert f"{100 * made.claim.share:.1f} %" in said
    assert "never say the bare word" in said
    other = read(client, f"/books/origin/{plan}/H1-1/?definition=given_up_by_users")
    assert "followed here" in other
    read(client, f"/books/origin/{plan}/H1-1/?definition=mine", 404)
    paper = client.get(f"/books/origin/{plan}/H1-1.pdf?definition=given_up_by_users")
    assert paper.content.startswith(b"%PDF")


@pytest.mark.parametrize(
    ("said", "body"), [("H1-1", "/H1-1"), ("lemel id S1", "S1"), (" S1 ", "S1")]
)
def test_what_a_reader_takes_off_a_label_leads_to_the_body(client, plan, said, body):
    answer = client.get("/books/find/", {"id": said})
    wanted = f"{plan}{body}" if body.startswith("/") else body
    assert answer["Location"] == f"/books/body/{wanted}/"


def test_an_id_that_is_nowhere_is_told(client):
    assert "Not so" in read(client, "/books/find/?id=Z99", 404)
    assert client.get("/books/find/?id=")["Location"] == "/books/"


def test_a_loss_is_shown_against_its_limits(client, book):
    plan = plans_at_work(book)[0]
    step = next(one for one in book.steps(plan) if one.kind == "part")
    after = {own: mg / 1000 for own, mg in step.gives_mg.items() if own != step.name}
    first = next(iter(after))
    book.work(plan, step.name, after={first: after[first] - 0.01})
    row = next(one for one in book.losses() if one.operation == "part")
    said = plain(read(client, "/books/loss/?by_person=1"))
    assert f"{row.loss_mg / 1000:.3f} g" in said
    assert f"{row.z:.1f} sd off" in said
    assert "Not so" in read(client, "/books/loss/?until=never", 404)


def test_a_loss_beyond_its_limits_lies_right_of_the_smear():
    from lemel.web.books_loss import limits

    plot = limits(900.0, 100.0, 50.0)
    begin, wide = plot.smears[0]
    assert plot.real > begin + wide
    gain = limits(-400.0, 100.0, 50.0)
    assert gain.real < gain.nought <= gain.allowed


def test_a_purchase_is_entered_once(client, book):
    page, said = "/books/register/", {"seller": "Finn Ockley", "described": "a dented ladle"}
    assert "f-described" in refused(client, page, lot="S1", seller="x", described="")
    sent(client, page, lot="S1", **said)
    refused(client, page, lot="S1", **said)
    assert [one.lot for one in book.purchases()] == ["S1"]
    assert "a dented ladle" in read(client, page)
    refused(client, page, lot="nothing", **said)


def test_a_backup_is_made_and_listed(client, book):
    sent(client, "/books/backups/", once="b")
    sent(client, "/books/backups/", once="b")
    kept = book.copies.kept()
    assert len(kept) == 1
    assert Path(kept[0][0]).name in read(client, "/books/backups/")


def test_an_empty_book_has_pages_too(empty):
    from django.test import Client

    for place in ("", "entries/", "audit/", "parcels/", "count/", "loss/", "register/",
                  "owners/", "backups/"):  # fmt: skip
        read(Client(), f"/books/{place}")
