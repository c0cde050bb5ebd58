"""The charge sequence: exact against brute force, greedy where greedy is enough."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from lemel import melt, metal
from lemel.errors import BadInput
from lemel.values import Charge, ChargeLine, Composition, Crucible
from lemel.words import remedy, say

STERLING = Composition.from_millesimal({"Ag": 925, "Cu": 75})
BATH = melt.bath_of(STERLING)


def charge(*lines):
    made = tuple(
        ChargeLine(name, "addition" if name[0] == "+" else "lot", form, grams, body)
        for name, form, grams, body in lines
    )
    total = sum(line.mass_g for line in made)
    return Charge("M1", "ada", made, STERLING, 0.0005, 0.925, (total, 0.1))


def rules(volume_cm3=60.0, *, first_share=1.0, bath_least="half", pot_g=280.0, bath_c=950.0):
    return melt.fill_rules(
        BATH, volume_cm3=volume_cm3, pot_g=pot_g, pot=melt.pot_heat("graphite"),
        liquid_g_cm3=9.2, liquid_share=0.8, power_w=1300.0, bath_c=bath_c,
        bath_least=bath_least, first_share=first_share,
    )  # fmt: skip


def brute(heap, limits):
    """Every way to divide; the best by time, then by the largest top-up."""
    inner = range(1, len(heap.places) - 1)
    most = [limits.top_up_most_g(place.mass_g) for place in heap.places]
    best = None
    for count in range(len(heap.places) - 1):
        for chosen in itertools.combinations(inner, count):
            cuts = (0, *chosen, len(heap.places) - 1)
            cost = cost_of(heap, limits, cuts, most)
            if cost is not None and (best is None or cost < best):
                best = cost
    return best


def cost_of(heap, limits, cuts, most):
    hardest = 0.0
    if heap.mass_g / limits.liquid_g_cm3 > limits.liquid_cm3:
        return None
    for a, b in itertools.pairwise(cuts):
        low, high = heap.places[a], heap.places[b]
        added = high.mass_g - low.mass_g
        if low.mass_g / limits.liquid_g_cm3 + high.bulk_cm3 - low.bulk_cm3 > limits.pile_cm3:
            return None
        if a:
            if added > most[a]:
                return None
            hardest = max(hardest, added / most[a])
        elif b > 1 and not (
            high.mass_g <= limits.first_share * heap.mass_g
            or high.bulk_cm3 <= limits.first_share * limits.volume_cm3
        ):
            return None
    # Every filling after the first costs the same lid, reach and open mouth; heat is heat.
    again_s = limits.lid_s + limits.react_s + limits.open_w * limits.lid_s / limits.net_w
    heat_j_g = BATH.enthalpy_at(limits.bath_c) - BATH.enthalpy_at(20.0)
    seconds = limits.warm_s + again_s * (len(cuts) - 2) + heap.mass_g * heat_j_g / limits.net_w
    return round(seconds, 4), round(hardest, 9)


lots = st.lists(
    st.tuples(
        st.sampled_from(["casting", "sheet", "wire", "filings", "hollowware", "grain"]),
        st.floats(8, 120),
    ),
    min_size=1,
    max_size=4,
)


@given(
    lots,
    st.sampled_from([30.0, 60.0, 110.0]),
    st.sampled_from([1.0, 0.333]),
    st.sampled_from(["half", "liquidus", "solidus"]),
)
@settings(max_examples=40, deadline=None, derandomize=True)
def test_the_programme_equals_brute_force(made, volume_cm3, first_share, bath_least):
    lines = [(f"L{n}", form, grams, STERLING) for n, (form, grams) in enumerate(made)]
    total = sum(grams for _, grams in made)
    heap = melt.heap_of(charge(*lines), step_g=total / 7)
    assume(len(heap.places) <= 11)
    limits = rules(volume_cm3, first_share=first_share, bath_least=bath_least)
    plan, best = melt.plan_fills(heap, limits), brute(heap, limits)
    if best is None:
        assert plan is None
    else:
        assert plan is not None
        assert plan.seconds == pytest.approx(best[0], abs=1e-3)
        assert plan.hardest == pytest.approx(best[1], abs=1e-6)


@given(
    st.sampled_from(["casting", "sheet", "wire", "hollowware", "filings"]),
    st.floats(30, 400),
    st.sampled_from([40.0, 60.0, 110.0]),
    st.sampled_from(["half", "liquidus"]),
)
@settings(max_examples=60, deadline=None, derandomize=True)
def test_for_one_form_as_much_as_fits_needs_the_fewest_fillings(form, grams, volume, bath_least):
    # m -> m + min(free volume, what the bath takes) rises with m, so filling more never hurts.
    heap = melt.heap_of(charge(("L", form, grams, STERLING)))
    limits = rules(volume, bath_least=bath_least)
    greedy, exact = melt.greedy_fills(heap, limits), melt.plan_fills(heap, limits)
    if exact is not None:
        assert greedy is not None
        assert greedy.fills == exact.fills


def test_the_first_filling_is_about_a_third(sterling, charge_of, furnace, pot):
    plan = melt.do(
        melt.MeltProblem(charge_of(sterling, ("S3", "casting", 420.0)), 957, furnace, pot)
    )
    assert plan.fills[0].mass_g == pytest.approx(420 / 3, abs=15)
    assert len(plan.fills) > 1
    small = melt.do(
        melt.MeltProblem(charge_of(sterling, ("S3", "casting", 90.0)), 957, furnace, pot)
    )
    assert len(small.fills) == 1


def test_zinc_goes_in_last_and_heavy_pieces_first(sterling):
    solder = Composition.from_millesimal({"Ag": 750, "Cu": 220, "Zn": 30})
    heap = melt.heap_of(
        charge(
            ("Z", "solder", 10.0, solder),
            ("+Cu", "grain", 5.0, Composition.pure("Cu")),
            ("F", "filings", 20.0, sterling),
            ("S", "sheet", 30.0, sterling),
            ("C", "casting", 40.0, sterling),
        )
    )
    assert [line.body for line in heap.lines] == ["C", "S", "F", "+Cu", "Z"]


def test_tubs_hold_exactly_the_charge(sterling, charge_of, furnace, pot):
    made = charge_of(
        sterling, ("S1", "sheet", 186.4), ("S2", "wire", 74.15), ("S20", "casting", 88.2)
    )
    plan = melt.do(melt.MeltProblem(made, 957, furnace, pot))
    tubs: dict[str, float] = {}
    for fill in plan.fills:
        assert fill.mass_g == pytest.approx(sum(grams for _, grams in fill.tubs), rel=1e-12)
        assert fill.pile_share <= 0.95 + 1e-9
        for body, grams in fill.tubs:
            tubs[body] = tubs.get(body, 0.0) + grams
    assert tubs == pytest.approx({"S1": 186.4, "S2": 74.15, "S20": 88.2}, rel=1e-12)


def test_pieces_are_never_cut(sterling, charge_of, furnace, pot):
    pieces = (61.0, 44.0, 80.0)
    made = charge_of(sterling, ("S7", "hollowware", 185.0), ("S3", "sprue", 90.0))
    plan = melt.do(melt.MeltProblem(made, 957, furnace, pot, piece_g={"S7": pieces}))
    sums = {round(sum(c), 6) for n in range(4) for c in itertools.combinations(pieces, n)}
    for fill in plan.fills:
        for body, grams in fill.tubs:
            if body == "S7":
                assert round(grams, 6) in sums
    assert sum(n for fill in plan.fills for _, n in fill.pieces) == 3


def test_pieces_that_do_not_sum_are_sent_back(sterling, charge_of):
    made = charge_of(sterling, ("S7", "hollowware", 185.0))
    with pytest.raises(BadInput) as told:
        melt.heap_of(made, {"S7": (100.0, 20.0)})
    assert told.value.field == "piece_g.S7"


def test_no_top_up_freezes_the_bath_through(sterling, charge_of, furnace, pot):
    made = charge_of(sterling, ("S1", "sheet", 420.0), ("S3", "sprue", 150.0))
    plan = melt.do(melt.MeltProblem(made, 957, furnace, pot))
    after = [s.bath_c_after for s in plan.steps if s.fill and s.fill > 1]
    assert after
    assert min(after) >= plan.solidus_c - 3


def test_a_strict_bath_asks_for_more_fillings():
    heap = melt.heap_of(charge(("A", "casting", 120.0, STERLING), ("B", "sheet", 150.0, STERLING)))
    strict = melt.plan_fills(heap, rules(bath_least="liquidus"))
    loose = melt.plan_fills(heap, rules(bath_least="half"))
    assert strict.fills > loose.fills
    assert strict.seconds > loose.seconds


def test_a_piece_that_fits_nowhere_is_asked_to_be_cut(sterling, charge_of, furnace):
    small = Crucible("small", "silver", "graphite", 30, 150)
    made = charge_of(sterling, ("S5", "hollowware", 150.0))
    plan = melt.do(melt.MeltProblem(made, 957, furnace, small, piece_g={"S5": (150.0,)}))
    assert plan.status == "feasible"
    told = next(o for o in plan.objections if o.code == "melt.charge.cut_up")
    assert told.grade == "ask"
    assert told.about == "S5"
    assert told.remedy.values["most"].value == pytest.approx(
        max(grams for fill in plan.fills for _, grams in fill.tubs)
    )
    assert say(told)
    assert remedy(told)


def test_a_pot_too_small_for_any_tub_is_refused(sterling, charge_of, furnace):
    thimble = Crucible("thimble", "silver", "graphite", 2, 20)
    made = charge_of(sterling, ("S5", "hollowware", 14.0))
    plan = melt.do(melt.MeltProblem(made, 957, furnace, thimble))
    assert plan.status == "infeasible"
    told = plan.objections[0]
    assert told.code == "melt.charge.piece_too_big"
    assert remedy(told)


@pytest.mark.parametrize(
    ("volume", "grams", "packing", "fills"),
    [(60, 300, 0.60, 2), (60, 300, 0.25, 4), (60, 300, 0.12, 8), (110, 300, 0.40, 1),
     (110, 300, 0.25, 2), (110, 300, 0.12, 4), (180, 600, 0.25, 2), (180, 600, 0.12, 5)],
)  # fmt: skip
def test_the_closed_form_counts_fillings_like_filling_by_hand(volume, grams, packing, fills):
    r = packing * 10.36 / 9.05
    assert melt.fills_by_volume(grams, volume, 0.8, r, 9.05) == fills
    poured, count = 0.0, 0
    while poured < grams - 1e-9:
        poured = min(grams, poured + packing * 10.36 * (0.8 * volume - poured / 9.05))
        count += 1
    assert count == fills


def test_a_small_bath_takes_little_by_its_own_heat_and_more_with_the_pots():
    limits = replace(rules(bath_least="liquidus"), never_solid=False)
    without = replace(limits, pot_share=0.0)
    assert without.top_up_most_g(100) == pytest.approx(5, abs=1.5)
    assert limits.top_up_most_g(100) == pytest.approx(46, abs=4)
    assert limits.top_up_most_g(1000) == pytest.approx(90, abs=8)


def test_a_kilogram_in_tubs_of_five_grams_is_quick():
    import time

    heap = melt.heap_of(charge(("A", "sheet", 600.0, STERLING), ("B", "casting", 400.0, STERLING)))
    begun = time.process_time()
    plan = melt.plan_fills(heap, rules(180.0))
    assert plan is not None
    assert time.process_time() - begun < 1.5  # a third of the goal of 0.5 s


def test_order_of_lots_does_not_matter(sterling, charge_of, furnace, pot):
    a = charge_of(sterling, ("S1", "sheet", 100.0), ("S2", "wire", 60.0), ("S3", "sprue", 80.0))
    b = charge_of(sterling, ("S3", "sprue", 80.0), ("S2", "wire", 60.0), ("S1", "sheet", 100.0))
    plans = [melt.do(melt.MeltProblem(x, 957, furnace, pot)) for x in (a, b)]
    assert plans[0].fills == plans[1].fills
    assert math.isclose(plans[0].minutes_to_pour, plans[1].minutes_to_pour)


def test_density_of_a_heap_comes_from_the_metal_room(sterling):
    heap = melt.heap_of(charge(("G", "grain", 100.0, sterling)))
    assert heap.places[-1].bulk_cm3 == pytest.approx(100 / (0.60 * metal.density_g_cm3(sterling)))
