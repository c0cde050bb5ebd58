"""What the database adds up, and what is carried on, is what the whole book says."""

from __future__ import annotations

from dataclasses import replace

from lemel.book import PLACES, Account, find_heaps, owner_sums, place_sums
from lemel.values import Composition, Holding, Lot, Section

TELLING = ("outside", "loss", "assay_difference", "stock_take")


def by_hand(book):
    """Heap after heap, as the ledger lists them."""
    heaps, metal = {}, {}
    for at, held in book.balances().items():
        if at.place not in TELLING and held.gross_mg:
            key = at.owner, at.place
            heaps[key] = heaps.get(key, 0) + 1
            metal[key] = metal.get(key, Holding.nothing()) + held
    return {key: (heaps[key], metal[key]) for key in heaps}


def added_up(book):
    return {
        (owner, place): (one.heaps, one.metal)
        for owner, places in place_sums(book).items()
        for place, one in places.items()
    }


def wire(name="wire 9", shape=Section.round(2.0)):  # noqa: B008
    stated = Composition.from_millesimal({"Ag": 925, "Cu": 75})
    return Lot(name, "house", "Ag", "offcut", 31.5, stated=stated, shape=shape)


def owned(book, lot):
    return replace(lot, owner=next(iter(book.owners())))


def shaped_by_hand(book):
    return tuple(one for one in book.bench.stock() if one.section is not None)


def test_sums_are_those_of_the_heaps_after_a_month(after):
    assert len(by_hand(after)) > 3
    assert added_up(after) == by_hand(after)


def test_sums_go_on_with_what_is_entered_and_undone(stocked):
    before = added_up(stocked)
    [sealed] = stocked.weigh_in([owned(stocked, wire())])
    assert added_up(stocked) == by_hand(stocked) != before
    stocked.reverse(sealed.number)
    assert added_up(stocked) == by_hand(stocked) == before


def test_an_owner_has_what_all_their_places_hold(after):
    for owner, metal in owner_sums(after).items():
        own = [held for (who, _), (_, held) in by_hand(after).items() if who == owner]
        assert metal == sum(own, Holding.nothing())


def test_stock_of_known_section_is_the_whole_stock_less_the_rest(after):
    after.weigh_in([owned(after, wire("plain", None))])
    assert "plain" in {one.body for one in after.bench.stock()}
    assert after.bench.stock(shaped=True) == shaped_by_hand(after)
    assert len(shaped_by_hand(after)) > 2


def test_stock_that_came_since_is_seen(stocked):
    before = stocked.bench.stock(shaped=True)
    stocked.weigh_in([owned(stocked, wire())])
    found = stocked.bench.stock(shaped=True)
    assert found == shaped_by_hand(stocked)
    assert {one.body for one in found} - {one.body for one in before} == {"wire 9"}


def test_heaps_are_found_by_body_by_place_and_by_a_part_of_the_id(after):
    heaps = after.balances()
    some = [at for at, held in heaps.items() if at.place == "store" and held.gross_mg][:3]
    found = dict(find_heaps(after, bodies=[at.body for at in some], places=("store",)).heaps)
    assert found == {at: heaps[at] for at in some}
    assert find_heaps(after, bodies=[]).heaps == ()
    of_piece = {at for at, held in heaps.items() if at.place == "piece" and held.gross_mg}
    part = next(iter(of_piece)).body[2:]
    said = dict(find_heaps(after, part.upper(), places=("piece",), most=500).heaps)
    assert set(said) == {at for at in of_piece if part.lower() in at.body.lower()}
    assert all(isinstance(at, Account) and at.place in PLACES for at in said)
