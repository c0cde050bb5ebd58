"""The Quillmarsh month as its files tell it."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

import pytest

from lemel.demo import quillmarsh
from lemel.files import read_plan_folder
from lemel.metal import standard
from lemel.scrap import may_melt, method_codes, scrap_classes
from lemel.tables import shipped


@pytest.fixture(scope="module")
def month():
    return read_plan_folder(quillmarsh())


def test_thirty_two_lots_twelve_orders_four_owners(month):
    assert [lot.id for lot in month.lots] == [
        *(f"S{n}" for n in range(1, 21)),
        *(f"G{n}" for n in range(1, 13)),
    ]
    assert {line.order for line in month.orders} == {f"O{n}" for n in range(1, 13)}
    assert set(month.workshop.owners) == {"shop", "corvalho", "haldorsen", "ostervelt"}
    assert Counter(lot.owner for lot in month.lots)["shop"] == 29


def test_every_standard_method_and_class_that_is_named_exists(month):
    for line in month.orders:
        assert standard(line.standard)
    for bar in month.workshop.stock:
        assert standard(bar.promise_met)
    facts = shipped()
    assert {one.method for one in month.readings} <= set(method_codes(facts))
    assert {lot.scrap_class for lot in month.lots} <= set(scrap_classes(facts))


def test_what_must_stay_out_is_kept_out_by_its_flags_alone(month):
    found = may_melt(
        month.lots, month.workshop.consents, month.readings, month.workshop.as_of,
        house=month.workshop.house,
    )  # fmt: skip
    stopped = {one.about for one in found if one.grade == "stop"}
    asked = {one.about for one in found if one.grade == "ask"}
    assert {"S6", "S12", "S16", "S17", "S18", "S19", "G7", "G10"} <= stopped | asked
    assert {"S9", "S10", "S15"} <= stopped | asked
    clean = {"S1", "S2", "S5", "S7", "S13", "S14", "S20", "G1", "G2", "G6", "G8", "G12"}
    assert not clean & (stopped | asked)


def test_the_heirloom_is_not_to_be_mixed_and_its_top_up_is_agreed(month):
    (heirloom,) = [lot for lot in month.lots if lot.no_mixing]
    assert heirloom.id == "G8"
    allowed = {one.allows for one in month.workshop.consents if one.owner == "haldorsen"}
    assert allowed == {"destroy", "top_up"}


def test_nobody_has_agreed_to_a_loan_for_the_salver(month):
    allowed = {one.allows for one in month.workshop.consents if one.owner == "ostervelt"}
    assert allowed == {"destroy"}


def test_the_stock_in_the_drawer_weighs_what_its_size_says(month):
    from lemel.metal import density_g_cm3

    for bar in month.workshop.stock:
        reckoned = bar.section.area_mm2 * bar.length_mm / 1000 * density_g_cm3(bar.body)
        assert reckoned == pytest.approx(bar.mass_g, rel=0.01)


def test_every_date_lies_in_the_month_or_before_it(month):
    as_of = month.workshop.as_of
    assert all(lot.received_on <= as_of for lot in month.lots)
    assert all(one.taken_on <= as_of for one in month.readings)
    assert all(as_of < line.due_on and line.due_on.month == 10 for line in month.orders)


def test_the_page_about_the_month_names_every_file_and_order_with_a_snag():
    page = (Path(__file__).resolve().parents[2] / "docs" / "demo.md").read_text("utf-8")
    for name in ("workshop.toml", "lots.csv", "readings.csv", "orders.toml", "prices.toml"):
        assert f"`{name}`" in page
    assert {"O4", "O5", "O7", "O11"} <= set(re.findall(r"\bO\d+\b", page))


def test_no_word_of_the_solution_stands_in_the_files():
    text = " ".join(path.read_text("utf-8") for path in quillmarsh().iterdir() if path.is_file())
    for word in ("hammer", "button", "three pours", "233", "33.6", "35.2"):
        assert word not in text
