"""The Quillmarsh month on paper: a silversmith with dirty gloves could work from it."""

from __future__ import annotations

import re

import numpy as np
import pytest

from lemel import cards
from lemel.plan import Plan
from lemel.quantities import Preference, hand_band, hand_mass
from tests.cards.paper import Page, pages_of, plain


@pytest.fixture(scope="module")
def pdf(plan: Plan) -> bytes:
    return cards.month_pdf(plan)


@pytest.fixture(scope="module")
def pages(pdf: bytes) -> list[Page]:
    return pages_of(pdf)


@pytest.fixture(scope="module")
def by_name(pages) -> dict[str, list[Page]]:
    found: dict[str, list[Page]] = {}
    for page in pages:
        found.setdefault(page.name, []).append(page)
    return found


def text_of(by_name, name: str) -> str:
    return plain(" ".join(page.text for page in by_name[name]))


@pytest.mark.outside
def test_every_page_is_a4(pages):
    """ISO 216:2007: A4 is 210 mm by 297 mm."""
    for page in pages:
        assert sorted((page.wide_mm, page.high_mm)) == pytest.approx([210, 297], abs=0.1)


def test_each_heat_and_each_bar_has_one_page(plan, by_name):
    wanted = [heat.id for heat in plan.heats]
    wanted += [one.bar.id for work in plan.stock for one in work.bars]
    for name in wanted:
        assert len(by_name[name]) == 1, name
        assert by_name[name][0].number == (1, 1)


def test_the_month_sheet_is_no_longer_than_two_pages(by_name):
    assert len(by_name["month"]) <= 2


def test_no_page_is_left_over(pages):
    for page in pages:
        assert len(plain(page.text)) > (150 if page.name else 20), page.name


def test_a_heat_says_its_setpoint_as_a_band_in_big_figures(plan, by_name):
    for heat in plan.heats:
        lo, hi = hand_band(*heat.melt.setpoint_band_c)
        (page,) = by_name[heat.id]
        band = f"{lo:.0f}–{hi:.0f} °C" if lo != hi else f"{lo:.0f} °C"
        assert band in plain(page.text)
        assert max(page.sizes) >= 24


def test_a_heat_lists_every_tub_with_its_mass_and_a_tick_box(plan, by_name):
    for heat in plan.heats:
        text = text_of(by_name, heat.id)
        tubs = [tub for fill in heat.melt.fills for tub in fill.tubs]
        for body, mass_g in tubs:
            assert body in text
            assert f"{hand_mass(mass_g):.2f} g" in text
        assert text.count("☐") >= len(tubs) + len(heat.melt.steps)


def test_what_goes_into_the_pot_is_the_sum_of_the_tubs(plan, by_name):
    for heat in plan.heats:
        tubs = [tub for fill in heat.melt.fills for tub in fill.tubs]
        whole = sum(round(100 * mass_g) for _, mass_g in tubs) / 100
        assert f"Into the pot {whole:.2f} g" in text_of(by_name, heat.id)


def test_a_heat_names_owner_standard_and_what_was_promised(plan, by_name):
    for heat in plan.heats:
        text = text_of(by_name, heat.id)
        assert plan.owners[heat.owner] in text
        assert heat.standard in text
        assert f"Planned to {100 * heat.blend.probability:.3g}% under this evidence" in text
        for consent in heat.consents:
            assert consent in text


def test_the_dangers_stand_on_every_heat(plan, by_name):
    for heat in plan.heats:
        text = text_of(by_name, heat.id)
        for words in (
            "Face shield, leather apron", "Nothing damp or oily", "Extraction on",
            "second person", "Local code, makers' manuals",
        ):  # fmt: skip
            assert words in text, f"{heat.id}: {words}"
        assert re.search(r"looks? cold (and is|too|and are) not|look cold too", text)


def test_a_caution_stands_before_its_step(plan, by_name):
    for heat in plan.heats:
        text = text_of(by_name, heat.id)
        charged = re.search(r"heavy below|into the dish", text)
        assert charged
        assert text.index("Nothing damp") < charged.start()
        assert text.index("step back, let it freeze") < text.index("Bath at")


def test_every_pour_shows_its_bar_and_what_to_weigh(plan, by_name):
    for heat in plan.heats:
        text = text_of(by_name, heat.id)
        for pour in heat.pours:
            for casting in pour.castings:
                assert casting.bar.id in text
                assert f"{hand_mass(casting.bar.mass_g):.2f} g" in text
        assert "Weigh afterwards" in text


def test_a_heat_that_cannot_be_poured_as_planned_says_stop_first(plan, by_name):
    for heat in plan.heats:
        grave = [o for p in heat.pours for o in p.objections if o.grade in ("stop", "ask")]
        grave += [o for o in heat.melt.objections if o.grade in ("stop", "ask")]
        assert ("Stop: settle this" in text_of(by_name, heat.id)) == bool(grave)


def test_a_bar_names_its_grooves_as_the_bench_does(plan, by_name):
    """Groove 3.5: two passes. Only a route too long for a page tells them in runs."""
    said = 0
    for work in plan.stock:
        for one in work.bars:
            text = text_of(by_name, one.bar.id)
            for step in one.route.steps:
                if step.tool == "groove" and step.passes == 2:
                    said += f"Groove {step.size_mm:g}: two passes" in text
    assert said >= 3


def test_a_bar_has_a_sign_and_a_limit_for_each_anneal(plan, by_name):
    for work in plan.stock:
        for one in work.bars:
            text = text_of(by_name, one.bar.id)
            assert text.count("Anneal: ") == one.route.anneals
            for most in re.findall(r"never over (\d+) °C", text):
                lowest = min(
                    step.note.values["never"].value
                    for step in one.route.steps
                    if step.tool == "anneal"
                )
                assert int(most) <= lowest - 30


def test_sterling_is_never_annealed_over_seven_hundred(plan, by_name):
    """Dull red in shadow, never over 700: common practice, no source."""
    sterling = [
        one.bar.id
        for work in plan.stock
        for one in work.bars
        if work.need.standard == "UK Ag 925" and one.route.anneals
    ]
    assert sterling
    for name in sterling:
        assert "dull red in shadow" in text_of(by_name, name)
        assert "never over 700 °C" in text_of(by_name, name)


def test_a_bar_has_room_for_the_pencil_and_the_proven_least_beside_it(plan, by_name):
    for work in plan.stock:
        for one in work.bars:
            text = text_of(by_name, one.bar.id)
            assert "measured" in text
            assert "proven" in text


def test_a_bars_dangers_stand_on_it(plan, by_name):
    for work in plan.stock:
        for one in work.bars:
            text = text_of(by_name, one.bar.id)
            tools = {step.tool for step in one.route.steps}
            if tools & {"flats", "groove"}:
                assert "away from the rolls" in text
            if "hole" in tools:
                assert "nobody behind you" in text
            if "anneal" in tools:
                assert "acid into water" in text


def test_each_blank_has_a_tick_box_and_its_mass(plan, by_name):
    for work in plan.stock:
        for sheet in work.layout.sheets:
            name = f"layout {sheet.bar}"
            pages = by_name[name] if name in by_name else _bar_pages(plan, by_name, sheet.bar)
            text = plain(" ".join(page.text for page in pages))
            for spot in sheet.placements:
                assert f"☐ {spot.piece}" in text
                assert f"{hand_mass(work.layout.pieces_g[spot.piece]):.2f} g" in text
            if sheet.remnant is not None:
                assert f"Stamp the remnant {sheet.remnant.id}" in text


def _bar_pages(plan, by_name, stock: str) -> list[Page]:
    (bar,) = (
        one.bar.id for work in plan.stock for one in work.bars
        if stock in {made.id for made in one.route.stock}
    )  # fmt: skip
    return by_name[bar]


def test_the_check_line_measures_fifty_millimetres_on_paper(pdf):
    """Ten dots a millimetre: the line between its two end strokes is 500 dots long."""
    checked = 0
    for page in pages_of(pdf, dpi=254):
        inline = page.name.startswith("layout") and "on pages of its own" not in plain(page.text)
        if inline or page.number == (0, 0):
            ink = page.ink[:, :, 0] < 160
            assert any(495 <= run <= 505 for row in ink for run in _runs(row)), page.name
            checked += 1
    assert checked >= 3


def _runs(row: np.ndarray) -> np.ndarray:
    """Lengths of the black runs in one row of dots."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], row.astype(np.int8), [0]))))
    return edges[1::2] - edges[::2]


def test_the_month_tells_each_line_once_and_each_way_out(plan, by_name):
    text = text_of(by_name, "month")
    for unmet in plan.unmet:
        assert f"{unmet.line} is not met" in text
        assert text.count("☐") >= len(unmet.ways_out)
    for owner in plan.owners.values():
        assert owner in text
    assert "Labour at zero" in text
    assert f"{plan.worth.hours:.1f} h" in text
    for task_day in {task.day for task in plan.timeline}:
        assert f"Day {task_day}" in text


def test_lines_stand_in_the_order_of_their_due_dates(plan, by_name):
    text = text_of(by_name, "month")
    days = [int(day) for day in re.findall(r"(\d+) Oct ☐", text)]
    assert days
    assert days == sorted(days)


def test_the_balance_on_paper_is_the_plans_own(plan, by_name):
    text = text_of(by_name, "month")
    for owner in plan.balance.owners:
        row = f"{plan.owners[owner.owner]} {owner.opening_mg / 1000:.2f}"
        assert row in text
        assert f"{owner.closing_mg / 1000:.2f}" in text


def test_every_caution_stands_in_full_on_the_page_to_be_read_first(plan, by_name):
    text = text_of(by_name, "to be read first")
    assert "licensed practice" in text
    for words in ("Look the pot over before every melt", "If it spills, step back"):
        assert words in text


def test_cards_are_black_grey_and_white(pages):
    for page in pages:
        assert (page.ink[:, :, 0] == page.ink[:, :, 1]).all()
        assert (page.ink[:, :, 1] == page.ink[:, :, 2]).all()


def test_nothing_is_set_too_small_to_read(pages):
    """All is at least 10 points, what is acted on 12; only drawings at full size are finer."""
    for page in pages:
        if page.name.startswith("layout") or page.number == (0, 0):
            continue
        assert min(page.sizes) >= 9.9, page.name
        letters = sum(page.sizes.values())
        acted_on = sum(count for size, count in page.sizes.items() if size >= 11.9)
        assert acted_on >= 0.78 * letters, page.name


def test_nothing_runs_off_the_page(pages):
    """Half the margin stays white all round."""
    for page in pages:
        if page.number == (0, 0):
            continue
        dots = page.ink.shape[0] / page.high_mm
        edge = int(4 * dots)
        frame = np.ones(page.ink.shape[:2], dtype=bool)
        frame[edge:-edge, edge:-edge] = False
        assert (page.ink[:, :, 0][frame] > 250).all(), page.name


def test_a_reader_in_fahrenheit_and_inches_gets_them(plan):
    units = Preference(temperature="degF", length="in", mass="ozt")
    text = plain(" ".join(page.text for page in pages_of(cards.month_pdf(plan, units=units))))
    lo, hi = hand_band(*plan.heats[0].melt.setpoint_band_c)
    assert f"{lo * 9 / 5 + 32:.0f}–{hi * 9 / 5 + 32:.0f} °F" in text
    assert " ozt" in text
    assert "°C" not in text.replace("from above 430 °C", "")
