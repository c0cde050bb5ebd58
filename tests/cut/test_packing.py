"""Sheet layouts: nothing overlaps, nothing sticks out, bounds hold, printed optima are near."""

from __future__ import annotations

import math
from itertools import combinations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import rotate, translate
from shapely.geometry import Point, Polygon, box

from lemel.cut import Packing, Part, equal_discs_length_mm, pack, shortest_length_mm

ENDLESS = math.inf


def shape_of(part: Part, turn: int, x: float, y: float):
    if part.kind == "disc":
        r = part.length_mm / 2
        return Point(x + r, y + r).buffer(r, quad_segs=64)
    plain = (
        Polygon(part.points_mm) if part.kind == "path" else box(0, 0, part.length_mm, part.width_mm)
    )
    turned = rotate(plain, turn, origin=(0, 0))
    return translate(turned, x - turned.bounds[0], y - turned.bounds[1])


def sound(parts: list[Part], found: Packing, length: float, width: float, kerf: float) -> None:
    by_key = {part.key: part for part in parts}
    assert sorted([spot.key for spot in found.spots] + list(found.left_out)) == sorted(by_key)
    shapes = []
    for spot in found.spots:
        assert spot.turn in by_key[spot.key].turns
        shape = shape_of(by_key[spot.key], spot.turn, spot.x_mm, spot.y_mm)
        x0, y0, x1, y1 = shape.bounds
        assert min(x0, y0) >= -1e-4
        assert x1 <= min(length, found.used_mm) + 1e-4
        assert y1 <= width + 1e-4
        shapes.append(shape)
    for one, other in combinations(shapes, 2):
        assert one.distance(other) >= kerf - 2e-3
        if kerf == 0:
            assert one.intersection(other).area <= 1e-3


def rects(text: str, turns: tuple[int, ...] = (0, 90)) -> list[Part]:
    """Width and height as printed: the strip's width runs across, its length along."""
    sizes = [int(number) for number in text.split()]
    pairs = zip(sizes[::2], sizes[1::2], strict=True)
    return [Part(f"p{i}", "rect", high, wide, turns) for i, (wide, high) in enumerate(pairs)]


#: E. Hopper and B. C. H. Turton, European Journal of Operational Research 128 (2001) 34-57,
#: category 1 problems 1 to 3 and category 2 problem 1; E. Hopper, thesis (2000), T1a. All
#: were cut from one sheet, so that the optimum is its height: (width, optimum, sizes).
CUT_FROM_ONE_SHEET = {
    "C1-P1": (20, 20, "2 12 7 12 8 6 3 6 3 5 5 5 3 12 3 7 5 7 2 6 3 2 4 2 3 4 4 4 9 2 11 2"),
    "C1-P2": (20, 20, "4 1 4 5 9 4 3 5 3 9 1 4 5 3 4 1 5 5 7 2 9 3 3 13 2 8 15 4 5 4 10 6 7 2"),
    "C1-P3": (20, 20, "4 14 5 2 2 2 9 7 5 5 2 5 7 7 3 5 6 5 3 2 6 2 4 6 6 3 10 3 6 3 10 3"),
    "C2-P1": (
        40, 15,
        "11 3 13 3 9 2 7 2 9 3 7 3 11 2 13 2 11 4 13 4 3 5 11 2 2 2 11 3 2 3 5 4 6 4 12 2 1 2 3 5"
        " 13 5 12 4 1 4 5 2 6 2",
    ),
    "T1a": (
        200, 200,
        "82 38 37 13 81 22 16 25 21 64 29 55 52 178 98 39 102 37 46 103 29 86 10 37 63 26 50 11"
        " 13 40 60 29 119 20",
    ),
}  # fmt: skip


@pytest.mark.outside
@pytest.mark.parametrize("name", CUT_FROM_ONE_SHEET)
@pytest.mark.parametrize("turns", [(0, 90), (0,)])
def test_published_sheets_are_filled_to_nine_tenths_and_the_bound_is_the_optimum(name, turns):
    width, optimum, sizes = CUT_FROM_ONE_SHEET[name]
    parts = rects(sizes, turns)
    assert sum(part.area_mm2 for part in parts) == width * optimum
    found = pack(parts, ENDLESS, width)
    sound(parts, found, ENDLESS, width, 0)
    assert shortest_length_mm(parts, width) == pytest.approx(optimum)
    assert optimum / found.used_mm >= 0.9


@pytest.mark.outside
def test_squared_rectangles_are_nearly_or_wholly_filled():
    """32 x 33 of order 9 and 47 x 65 of order 10 (Z. Moron, 1925); 112 x 112 of order 21
    (A. J. W. Duijvestijn, Journal of Combinatorial Theory B 25 (1978) 240-243)."""
    for width, optimum, sides, share in (
        (33, 32, "1 4 7 8 9 10 14 15 18", 1.0),
        (65, 47, "3 5 6 11 17 19 22 23 24 25", 0.92),
        (112, 112, "50 35 27 8 19 15 17 11 6 24 29 25 9 2 7 18 16 42 4 37 33", 0.92),
    ):
        parts = rects(" ".join(f"{side} {side}" for side in sides.split()), (0,))
        found = pack(parts, ENDLESS, width)
        sound(parts, found, ENDLESS, width, 0)
        assert optimum / found.used_mm >= share


#: Least side of a square that holds n unit circles, proven for n up to 20: R. Peikert, D.
#: Wuertz, M. Monagan and C. de Groot, Packing circles in a square, Lecture Notes in Control
#: and Information Sciences 180 (1992); values as printed in a general encyclopedia.
SQUARE_OF_CIRCLES = {
    2: 2 + math.sqrt(2), 3: 2 + (math.sqrt(2) + math.sqrt(6)) / 2, 4: 4.0, 5: 2 + 2 * math.sqrt(2),
    6: 2 + 12 / math.sqrt(13), 7: 4 + math.sqrt(3), 8: 2 + math.sqrt(2) + math.sqrt(6), 9: 6.0,
    10: 6.7475, 11: 7.0226, 12: 2 + 15 * math.sqrt(2 / 17), 13: 7.4635, 14: 6 + math.sqrt(3),
    15: 4 + math.sqrt(2) + math.sqrt(6), 16: 8.0, 17: 8.5327, 18: 2 + 24 / math.sqrt(13),
    19: 8.9075, 20: (130 + 16 * math.sqrt(2)) / 17,
}  # fmt: skip


@pytest.mark.outside
@pytest.mark.parametrize("count", SQUARE_OF_CIRCLES)
def test_discs_lie_within_a_twentieth_of_the_proven_densest(count: int):
    side = SQUARE_OF_CIRCLES[count]
    parts = [Part(f"d{i}", "disc", 2, 2, (0,)) for i in range(count)]
    found = pack(parts, ENDLESS, side)
    sound(parts, found, ENDLESS, side, 0)
    assert equal_discs_length_mm(count, 2, side) <= side + 1e-6
    assert found.used_mm <= side * 1.05


def straight(spots: list[tuple[float, float, float, float]]) -> bool:
    """Can edge-to-edge cuts part these boxes (x0, y0, x1, y1)?"""
    if len(spots) <= 1:
        return True
    for low, high in ((0, 2), (1, 3)):
        for cut in sorted({spot[high] for spot in spots}):
            before = [spot for spot in spots if spot[high] <= cut + 1e-9]
            after = [spot for spot in spots if spot[low] >= cut - 1e-9]
            if before and after and len(before) + len(after) == len(spots):
                return straight(before) and straight(after)
    return False


def test_a_layout_with_no_straight_cut_is_known_as_one():
    wheel = [(0, 0, 2, 1), (2, 0, 3, 2), (1, 2, 3, 3), (0, 1, 1, 3)]
    assert not straight(wheel)


sides = st.floats(3, 40)
rectangles = st.lists(st.tuples(sides, sides), min_size=1, max_size=8)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(rectangles, st.floats(42, 60), st.sampled_from([0.0, 0.3]), st.booleans())
def test_rectangles_never_overlap_and_never_beat_the_bound(sizes, width, kerf, guillotine):
    parts = [Part(f"p{i}", "rect", a, b) for i, (a, b) in enumerate(sizes)]
    found = pack(parts, ENDLESS, width, kerf_mm=kerf, guillotine=guillotine, rounds=30)
    sound(parts, found, ENDLESS, width, kerf)
    assert not found.left_out
    assert found.used_mm >= shortest_length_mm(parts, width) - 1e-6


@settings(max_examples=15, deadline=None, derandomize=True)
@given(st.lists(st.floats(4, 30), min_size=1, max_size=7), st.floats(32, 60))
def test_discs_keep_a_kerf_between_them(diameters, width):
    parts = [Part(f"d{i}", "disc", d, d, (0,)) for i, d in enumerate(diameters)]
    found = pack(parts, ENDLESS, width, kerf_mm=0.3)
    sound(parts, found, ENDLESS, width, 0.3)
    assert not found.left_out
    assert found.used_mm >= shortest_length_mm(parts, width) - 1e-6


ELL = ((0, 0), (20, 0), (20, 5), (5, 5), (5, 20), (0, 20))


def test_outlines_nest_into_each_other_where_their_boxes_could_not():
    parts = [Part(f"l{i}", "path", 20, 20, (0, 90, 180, 270), ELL) for i in range(6)]
    found = pack(parts, ENDLESS, 45, kerf_mm=0.3)
    sound(parts, found, ENDLESS, 45, 0.3)
    assert not found.left_out
    boxes_alone = pack([Part(p.key, "rect", 20, 20) for p in parts], ENDLESS, 45, kerf_mm=0.3)
    assert found.used_mm < boxes_alone.used_mm - 3


def test_a_mixed_sheet_keeps_its_distances():
    parts = [Part(f"l{i}", "path", 20, 20, (0, 180), ELL) for i in range(3)]
    parts += [Part(f"d{i}", "disc", 14, 14, (0,)) for i in range(3)]
    parts += [Part(f"r{i}", "rect", 30, 6) for i in range(3)]
    found = pack(parts, 90, 50, kerf_mm=0.4)
    sound(parts, found, 90, 50, 0.4)
    assert not found.left_out


def test_what_does_not_fit_is_left_out_and_the_rest_laid():
    parts = [Part("big", "rect", 90, 90), Part("small", "rect", 10, 10)]
    found = pack(parts, 50, 50)
    assert found.left_out == ("big",)
    assert [spot.key for spot in found.spots] == ["small"]


def test_grain_is_kept():
    part = Part("p", "rect", 30, 10, (0,))
    assert pack([part], ENDLESS, 12).spots[0].turn == 0
    assert pack([part], 20, 40).left_out == ("p",)


def test_the_order_of_the_parts_does_not_change_the_reach():
    parts = rects(CUT_FROM_ONE_SHEET["C1-P3"][2])
    assert pack(parts, ENDLESS, 20).used_mm == pack(parts[::-1], ENDLESS, 20).used_mm


def test_the_bound_counts_parts_that_cannot_lie_beside_each_other():
    wide = [Part(f"w{i}", "rect", 6, 6) for i in range(3)]
    assert shortest_length_mm(wide, 10) == 18
    assert shortest_length_mm(wide, 12) == 9


#: E. K. Burke, G. Kendall and G. Whitwell, Operations Research 52 (2004) 655-671, N1 and N2,
#: as kept in a public collection of cutting instances; each fills its sheet wholly.
BURKE = {
    "N1": (40, 40, "7 6 7 6 40 16 5 20 24 24 7 4 4 4 7 8 4 20 5 4"),
    "N2": (
        30, 50,
        "23 9 19 4 12 21 6 4 6 4 7 13 9 4 4 6 4 6 23 6 16 6 4 14 14 6 6 6 5 4 7 6 14 11 4 7 8 4"
        " 14 4",
    ),
}  # fmt: skip


@pytest.mark.outside
@pytest.mark.parametrize(
    ("name", "share"),
    [("C1-P1", 1.0), ("C1-P2", 0.95), ("C1-P3", 1.0), ("C2-P1", 0.93), ("T1a", 0.92), ("N1", 1.0),
     ("N2", 0.94)],
)  # fmt: skip
def test_published_sheets_are_filled_by_straight_cuts_too(name: str, share: float):
    """The optimum of the sheet whole is a bound for straight cuts; T1a was made by them alone
    (E. Hopper, thesis, 2000: the T are those that straight cuts can part)."""
    width, optimum, sizes = {**CUT_FROM_ONE_SHEET, **BURKE}[name]
    parts = rects(sizes)
    assert sum(part.area_mm2 for part in parts) == width * optimum
    found = pack(parts, ENDLESS, width, guillotine=True)
    sound(parts, found, ENDLESS, width, 0)
    assert straight(boxes_of(parts, found))
    assert optimum / found.used_mm >= share - 1e-9


def boxes_of(parts: list[Part], found: Packing) -> list[tuple[float, float, float, float]]:
    by_key = {part.key: part for part in parts}
    boxes = []
    for spot in found.spots:
        along, across = by_key[spot.key].length_mm, by_key[spot.key].width_mm
        if spot.turn % 180 == 90:
            along, across = across, along
        boxes.append((spot.x_mm, spot.y_mm, spot.x_mm + along, spot.y_mm + across))
    return boxes


def every_box(parts: list[Part]) -> set[tuple[float, float]]:
    """All boxes of all slicing trees, by plain recursion over every split in two."""
    if len(parts) == 1:
        return {(along, across) for along, across, _ in parts[0].boxes()}
    found = set()
    for mask in range(1, 2 ** (len(parts) - 1)):
        one = [part for i, part in enumerate(parts) if mask >> i & 1]
        other = [part for i, part in enumerate(parts) if not mask >> i & 1]
        for (a, b), (c, d) in product(every_box(one), every_box(other)):
            found |= {(max(a, c), b + d), (a + c, max(b, d))}
    return found


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.lists(st.tuples(st.integers(2, 12), st.integers(2, 12)), min_size=1, max_size=4),
       st.integers(12, 24))  # fmt: skip
def test_few_parts_by_straight_cuts_are_laid_as_short_as_any_way_at_all(sizes, width):
    parts = [Part(f"p{i}", "rect", a, b) for i, (a, b) in enumerate(sizes)]
    found = pack(parts, ENDLESS, width, guillotine=True)
    sound(parts, found, ENDLESS, width, 0)
    assert straight(boxes_of(parts, found))
    shortest = min(along for along, across in every_box(parts) if across <= width)
    assert found.used_mm == pytest.approx(shortest)
    assert found.least_mm == pytest.approx(shortest)


def test_on_a_sheet_too_small_for_all_straight_cuts_give_the_most_metal():
    parts = rects("10 10 10 6 6 6 5 5 4 4")
    found = pack(parts, 16, 12, guillotine=True)
    placed = {spot.key for spot in found.spots}
    most = max(
        sum(part.area_mm2 for part in chosen)
        for size in range(1, 6)
        for chosen in combinations(parts, size)
        if any(along <= 16 and across <= 12 for along, across in every_box(list(chosen)))
    )
    assert sum(part.area_mm2 for part in parts if part.key in placed) == most


def test_alike_parts_are_counted_so_that_many_are_proven_too():
    parts = rects("28 28 " * 12 + "40 25 40 25")
    found = pack(parts, ENDLESS, 118, guillotine=True)
    assert found.least_mm == pytest.approx(found.used_mm)
    assert straight(boxes_of(parts, found))


def test_angles_hook_into_each_other_where_turns_are_free():
    """One by one in the best turn of each, eight angles of 20 mm reach 60 mm along 45 mm."""
    corners = ((0.0, 0.0), (20.0, 0.0), (20.0, 5.0), (5.0, 5.0), (5.0, 20.0), (0.0, 20.0))
    angles = [Part(f"l{i}", "path", 20, 20, (0, 90, 180, 270), corners) for i in range(8)]
    found = pack(angles, math.inf, 45.0)
    assert len(found.spots) == 8
    assert found.used_mm < 56
