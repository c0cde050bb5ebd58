"""The band across the page is the book: every milligram once, as high as it weighs."""

from __future__ import annotations

import pytest

from lemel.book import Lying, lying, open_book, plans_at_work
from lemel.book.guards import OPEN_PLACES
from lemel.web.band import FIELD, TALLEST, band_of, draw


def _in_the_house_mg(book):
    """By the balances themselves: all that came in, less what went out again."""
    fallen = ("loss",)
    return sum(
        -metal.gross_mg
        for account, metal in book.balances().items()
        if account.place in OPEN_PLACES and account.place not in fallen
    )


def _by_place(book, place):
    return sum(m.gross_mg for m in book.balances(place=place).values())


@pytest.fixture
def book(folder):
    return open_book(folder)


def _melt(book, heat):
    plan = plans_at_work(book)[0]
    book.charge(plan, heat)
    book.molten(plan, heat)
    return plan


def test_the_band_sums_to_the_books_balances_to_the_milligram(book):
    band = band_of(book, "")
    assert band.total_mg == _in_the_house_mg(book) > 0


def test_it_still_does_while_a_heat_is_in_the_pot_and_once_its_bars_are_milled_and_cut(book):
    plan = _melt(book, "H3")
    heats = {reach.name: reach for reach in band_of(book, "").reaches}["heats"]
    assert heats.total_mg == _by_place(book, "process") > 0
    assert band_of(book, "").total_mg == _in_the_house_mg(book)
    assert book.pour(plan, "H3").entry
    reaches = {reach.name: reach for reach in band_of(book, "").reaches}
    bars = [metal.gross_mg for account, metal in book.balances(place="store").items()
            if account.body == f"{plan}/H3-1"]  # fmt: skip
    assert [reaches["ingots"].total_mg] == bars
    assert {one.word for one in reaches["heats"].fallen} == {"lost", "left in pots"}
    assert band_of(book, "").total_mg == _in_the_house_mg(book)
    for step in ("mill H3-1", "cut H3-1-a"):
        assert book.work(plan, step).entry
        assert band_of(book, "").total_mg == _in_the_house_mg(book)
    pieces = {reach.name: reach for reach in band_of(book, "").reaches}["pieces"]
    assert (pieces.total_mg, pieces.parts) == (_by_place(book, "piece"), 2)


def test_what_fell_is_what_the_accounts_beside_the_way_hold(book):
    plan = _melt(book, "H3")
    book.pour(plan, "H3")
    fallen = {one.word: one.mass_mg for r in band_of(book, "").reaches[1:] for one in r.fallen}
    assert fallen == {
        "lost": _by_place(book, "loss"),
        "left in pots": _by_place(book, "hold_up"),
    }


def test_each_owner_has_what_the_book_says(book):
    held = {}
    for account, metal in book.balances().items():
        if account.place not in OPEN_PLACES:
            held[account.owner] = held.get(account.owner, 0) + metal.gross_mg
    assert {one.id: one.mass_mg for one in band_of(book, "").owners} == held


def test_a_heap_marked_for_melting_counts_as_scrap(book):
    before = {(one.reach, one.owner): one.gross_mg for one in lying(book) if not one.beside}
    book.bench.set_place("sterling wire 1.0", "drawer 1", melt=True)
    after = {(one.reach, one.owner): one.gross_mg for one in lying(book) if not one.beside}
    assert before["stock", "shop"] - after["stock", "shop"] == 64_300
    assert after["scrap", "shop"] - before["scrap", "shop"] == 64_300


def test_a_reach_is_as_high_as_it_weighs():
    heaps = [Lying("ingots", "ada", 40_000, 2), Lying("stock", "ada", 10_000, 1)]
    drawn = {reach.name: reach for reach in draw(heaps, {"ada": "Ada"}).reaches}

    def high(name):
        return FIELD - min(float(p.split(",")[1]) for p in drawn[name].across.split())

    assert high("ingots") == pytest.approx(TALLEST)
    assert high("stock") == pytest.approx(TALLEST / 4)
    assert len(drawn["ingots"].cuts) == 1


def test_owners_are_told_apart_by_hatch_and_the_first_is_plain():
    heaps = [Lying("scrap", "ada", 10, 1), Lying("scrap", "bo", 30, 1), Lying("scrap", "cy", 20, 1)]
    owners = draw(heaps, {}).owners
    assert [(one.id, one.hatch) for one in owners] == [("bo", 0), ("cy", 1), ("ada", 2)]


def test_the_band_is_drawn_anew_only_when_something_was_written(book):
    first = band_of(book, "scrap")
    assert band_of(book, "heats").reaches is first.reaches
    book.enter_owners({"dot": "Dot"})
    assert band_of(book, "scrap").reaches is not first.reaches


def test_the_page_says_each_mass_in_words_and_outlines_where_one_is(client, folder):
    page = client.get("/scrap/").content.decode()
    assert 'href="/scrap/" aria-current="true"' in page
    assert page.count('aria-current="true"') == 1
    for reach in band_of(open_book(folder), "").reaches:
        assert f'<data class="figure" value="{reach.total_mg / 1000}">' in page


def test_clean_metal_to_add_lies_beside_the_way_until_it_is_in_a_pot(book):
    scrap = band_of(book, "").reaches[0]
    supply = {one.word: one.mass_mg for one in scrap.fallen}["clean metal to add"]
    assert supply == sum(round(one.stock_g * 1000) for one in book.additions())
    plan = _melt(book, "H4")
    charged = {one.body: one.mass_g for one in book.plan(plan).heats[3].charge.lines}
    after = {one.word: one.mass_mg for one in band_of(book, "").reaches[0].fallen}
    added = charged["copper"] + charged["fine gold grain"]
    assert supply - after["clean metal to add"] == round(added * 1000)
