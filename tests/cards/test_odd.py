"""Odd plans: nothing to do, very long names, far too many lots."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lemel import cards
from lemel.cards import HeatSheet
from lemel.melt import ChargeFill
from lemel.plan import Plan
from lemel.values import Charge, ChargeLine, Composition
from tests.cards.paper import pages_of, plain

STERLING = Composition.of({"Ag": 0.926, "Cu": 0.074})
LONG = "Confraternity of Tinsmiths, Chasers and Wandering Menders of Averling Weir and Fenmoor"


def emptied(plan: Plan) -> Plan:
    return replace(
        plan, lines=(), heats=(), stock=(), unmet=(), timeline=(), worth=None, unused={},
        drawer=(), objections=(), cautions=(), asked=(), lots=(), moulds=(),
        balance=replace(plan.balance, movements=(), owners=()),
    )  # fmt: skip


def test_a_plan_with_nothing_to_do_still_has_its_month_sheet(plan, tmp_path):
    (only,) = cards.write(emptied(plan), tmp_path)
    pages = pages_of(only.read_bytes())
    assert {page.name for page in pages} == {"month"}
    assert "0 order lines" in plain(pages[0].text)


def test_a_plan_kept_before_cards_knew_the_orders_is_still_printed(plan):
    old = replace(plan, asked=(), lots=(), moulds=(), shop="")
    pages = pages_of(cards.month_pdf(old))
    names = [page.name for page in pages]
    for heat in plan.heats:
        assert names.count(heat.id) == 1


@pytest.fixture(scope="module")
def long_named(plan) -> Plan:
    heat = plan.heats[0]
    body = heat.charge.lines[0].body
    long_body = "silver of the second box from the left, sorted twice"
    lines = tuple(
        replace(line, body=long_body if line.body == body else line.body)
        for line in heat.charge.lines
    )
    fills = tuple(
        replace(fill, tubs=tuple((long_body if b == body else b, g) for b, g in fill.tubs))
        for fill in heat.melt.fills
    )
    named = replace(
        heat,
        id="heat of the nineteenth of October",
        charge=replace(heat.charge, heat="heat of the nineteenth of October", lines=lines),
        melt=replace(heat.melt, fills=fills),
    )
    return replace(
        plan, heats=(named, *plan.heats[1:]), shop=LONG,
        owners={owner: f"{name} and the {LONG}" for owner, name in plan.owners.items()},
    )  # fmt: skip


def test_very_long_names_push_nothing_off_the_page(long_named):
    for page in pages_of(cards.month_pdf(long_named)):
        if page.number == (0, 0):
            continue
        edge = int(3 * page.ink.shape[0] / page.high_mm)
        assert (page.ink[:, :edge, 0] > 250).all(), page.name
        assert (page.ink[:, -edge:, 0] > 250).all(), page.name
        assert page.number[0] <= page.number[1]


def many_lots(plan: Plan, count: int) -> Plan:
    heat = plan.heats[0]
    lines = tuple(
        ChargeLine(f"S{100 + n}", "lot", "offcut", 3.99 + n / 100, STERLING) for n in range(count)
    )
    tubs = tuple((line.body, line.mass_g) for line in lines)
    mass = sum(mass_g for _, mass_g in tubs)
    crowded = replace(
        heat,
        charge=replace(heat.charge, lines=lines),
        melt=replace(heat.melt, fills=(ChargeFill(1, tubs, mass, 0.33, 0.2),)),
    )
    return replace(plan, heats=(crowded,), stock=())


def test_forty_lots_go_overleaf_and_the_first_page_says_so(plan):
    pages = [
        page for page in pages_of(cards.month_pdf(many_lots(plan, 40)))
        if page.name == plan.heats[0].id
    ]  # fmt: skip
    assert [page.number for page in pages] == [(1, 2), (2, 2)]
    assert "goes on overleaf" in plain(pages[0].text)
    assert "overleaf" not in plain(pages[1].text)
    told = plain(" ".join(page.text for page in pages))
    assert all(f"S{100 + n}" in told for n in range(40))


def charge(count: int = 3) -> Charge:
    lines = tuple(
        ChargeLine(f"S{n}", "lot", "offcut", 10.004 * n, STERLING) for n in range(1, count + 1)
    )
    return Charge("H9", "Ada", lines, STERLING, 0.0007, 0.925, (sum(r.mass_g for r in lines), 0))


def test_a_charge_of_its_own_is_one_page_without_a_fire(plan):
    sheet = HeatSheet(charge(), "Ag 925", "Ada", least=0.925, probability=0.99)
    (page,) = pages_of(cards.charge_card(sheet))
    text = plain(page.text)
    assert "Into the pot 60.02 g" in text
    assert "No fire is planned here" in text
    assert "925.0 asked" in text
    assert text.count("☐") == 3


def test_a_charge_with_its_melt_has_setpoint_and_sequence(plan):
    heat = next(heat for heat in plan.heats if heat.melt.method == "furnace")
    sheet = HeatSheet(heat.charge, heat.standard, "Ada", melt=heat.melt, fire="bench furnace")
    (page,) = pages_of(cards.charge_card(sheet))
    assert "Set bench furnace to" in plain(page.text)
    assert "lift out and pour" in plain(page.text)


def test_charge_cards_of_one_name_do_not_overwrite_each_other(tmp_path):
    sheet = HeatSheet(charge(), "Ag 925", "Ada")
    paths = cards.write_charges([sheet, sheet], tmp_path)
    assert len({path.name for path in paths}) == 2
