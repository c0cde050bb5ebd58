"""The tools' pages: added, changed, inspected, retired; rules, prices, assumed figures."""

from __future__ import annotations

from decimal import Decimal

import pytest

from lemel.book import open_book
from lemel.tables import shipped
from lemel.web.tools_fields import KINDS, fields_of, shown
from tests.web.test_books import plain, read, refused, sent

POT = {
    "id": "graphite T", "family": "silver", "material": "graphite", "volume_cm3": "110",
    "mass_g": "350", "melts_done": "0", "melts_most": "50", "least_fill": "0.15",
}  # fmt: skip


@pytest.fixture
def bench(folder):
    return open_book(folder).bench


def tool(bench, kind, name):
    return next(one for one in bench.tools(kind, retired=True) if one.id == name)


def test_every_tool_of_the_shop_is_listed(client, bench):
    said = plain(read(client, "/tools/"))
    for kind in KINDS:
        for row in bench.tools(kind):
            assert row.id in said
    assert "32 of 50 melts" in said or "of 50 melts" in said


def test_a_crucible_is_added_with_its_life(client, bench):
    sent(client, "/tools/crucible/", **POT)
    made = tool(bench, "crucible", "graphite T").tool
    assert (made.melts_most, made.volume_cm3, made.family) == (50, 110.0, "silver")
    assert "id-d" not in refused(client, "/tools/crucible/", **POT)


@pytest.mark.parametrize(
    ("name", "bad"),
    [("volume_cm3", "much"), ("volume_cm3", "0"), ("melts_most", "1.5"), ("material", "clay"),
     ("id", ""), ("least_fill", "3")],
)  # fmt: skip
def test_a_field_that_cannot_be_used_says_so_where_it_stands(client, bench, name, bad):
    said = refused(client, "/tools/crucible/", **{**POT, name: bad})
    assert f'id="f-{name}"' in said
    assert "Not yet" in said or 'aria-invalid="true"' in said
    assert "graphite T" not in {one.id for one in bench.tools("crucible")}


def test_a_crucible_is_inspected_retired_and_taken_back(client, bench):
    page = "/tools/crucible/graphite S/"
    assert "f-note" in refused(client, page, do="note", note="")
    sent(client, page, do="note", note="a hair crack at the lip")
    assert "a hair crack at the lip" in read(client, page)
    assert "f-why" in refused(client, page, do="retire", why="")
    sent(client, page, do="retire", why="cracked")
    assert tool(bench, "crucible", "graphite S").retired_why == "cracked"
    assert "Retired: cracked" in plain(read(client, page))
    sent(client, page, do="back")
    assert tool(bench, "crucible", "graphite S").retired_why == ""


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind != "stick"])
def test_a_tool_sent_back_as_it_stands_is_unchanged(client, bench, kind):
    row = bench.tools(kind)[0]
    asked = fields_of(kind, tuple(one.id for one in bench.tools("mill")))
    said = {
        one.name: shown(one, getattr(row.tool, one.name))
        for one in asked
        if one.how != "yes" or getattr(row.tool, one.name)
    }
    sent(client, f"/tools/{kind}/{row.id}/", do="change", **said)
    assert bench.tools(kind)[0].tool == row.tool


def test_a_worn_hole_and_a_checked_balance_are_entered(client, bench):
    row = bench.tools("drawplate")[0]
    holes = shown(fields_of("drawplate")[0], row.tool.holes)
    sent(client, f"/tools/drawplate/{row.id}/", do="change", holes=holes, measured_mm="2 = 1.95")
    assert dict(bench.tools("drawplate")[0].tool.measured_mm) == {"2": 1.95}
    refused(client, f"/tools/drawplate/{row.id}/", do="change", holes="star 5", measured_mm="")
    refused(client, f"/tools/drawplate/{row.id}/", do="change", holes=holes, measured_mm="worn")
    balance = {"do": "change", "step_g": "0.01", "sd_g": "0.01", "most_g": "200"}
    sent(client, "/tools/balance/200 g/", **balance, calibrated_on="2026-10-02")
    assert "checked 2026-10-02" in plain(read(client, "/tools/"))
    sent(client, "/tools/balance/200 g/", **balance, calibrated_on="")
    assert "No check against a weight is on record" in plain(read(client, "/tools/"))


def test_a_kind_or_tool_that_is_not_there_is_told(client):
    read(client, "/tools/anvil/", 404)
    read(client, "/tools/crucible/of gold/", 404)


def test_a_rule_is_set_one_by_one(client, bench):
    page = "/tools/rules/"
    sent(client, page, rule="probability", probability="97.5")
    assert bench.rules().probability == pytest.approx(0.975)
    sent(client, page, rule="closing_time", closing_time="16:30")
    assert bench.rules().closing_time == "16:30"
    sent(client, page, rule="allowances.melt", **{"allowances.melt": "0.35"})
    assert bench.rules().allowances["melt"] == pytest.approx(0.0035)
    sent(client, page, rule="hold_days", hold_days="21")
    assert float(bench.figures()["scrap_figures"]["hold_days"]["value"]) == 21
    assert "97.5" in plain(read(client, page))


@pytest.mark.parametrize(
    ("rule", "bad"),
    [("probability", "120"), ("course", "hope"), ("closing_time", "late"), ("remelts_most", "2.5"),
     ("allowances.melt", "-1")],
)  # fmt: skip
def test_a_rule_that_cannot_hold_is_refused(client, bench, rule, bad):
    before = bench.rules()
    refused(client, "/tools/rules/", rule=rule, **{rule: bad})
    assert bench.rules() == before
    refused(client, "/tools/rules/", rule="luck", luck="1")


def test_a_price_has_its_day_and_whoever_says_so(client, bench):
    page, day = "/tools/prices/", bench.today().isoformat()
    said = {"what": "fine/Ag", "amount": "1.07", "on": day, "source": "the dealer's list"}
    for name, bad in (("amount", "dear"), ("on", "2999-01-01"), ("source", ""), ("what", "")):
        assert f'id="f-{name}"' in refused(client, page, **{**said, name: bad})
    refused(client, page, **{**said, "what": "hope"})
    sent(client, page, **said)
    line = next(one for one in bench.price_lines() if one.what == "fine/Ag")
    assert Decimal(line.amount) == Decimal("1.07")
    assert line.source == "the dealer's list"
    assert "the dealer's list" in plain(read(client, page))


def test_the_first_price_names_the_currency(empty):
    from django.test import Client

    book, client = open_book(empty), Client()
    said = {"what": "fine/Ag", "amount": "1", "on": book.bench.today().isoformat(), "source": "x"}
    assert "f-currency" in refused(client, "/tools/prices/", **said)
    sent(client, "/tools/prices/", **said, currency="gbp")
    assert book.bench.prices().currency == "GBP"


def test_every_table_says_how_much_of_it_is_assumed(client):
    said = plain(read(client, "/tools/figures/"))
    rows = shipped().rows("melt_furnace")
    assumed = sum(one.trust in ("estimate", "practice", "memory", "unverified") for one in rows)
    assert f"{assumed} of {len(rows)} assumed" in said


@pytest.mark.parametrize("table", shipped().names)
def test_every_table_opens_with_source_and_trust(client, table):
    said = plain(read(client, f"/tools/figures/?table={table}&all=1"))
    for row in shipped().rows(table)[:3]:
        assert row.key.replace("_", " ") in said.replace("&#x27;", "'")
        assert row.trust in said


def test_a_house_figure_lies_over_the_shipped_one_and_goes_again(client, bench):
    page = "/tools/figures/?table=melt_furnace"
    said = {"table": "melt_furnace", "row": "power_w", "column": "value"}
    assert "lemel calibrate" in plain(read(client, page))
    refused(client, page, **said, value="hot")
    sent(client, page, **said, value="1210")
    assert bench.figures()["melt_furnace"]["power_w"]["value"] == 1210.0
    assert "the house's own" in plain(read(client, page)).replace("&#x27;", "'")
    sent(client, page, **said, value="")
    assert "melt_furnace" not in bench.figures()
    sent(client, page, **said, value="")
    refused(client, page, table="melt_furnace", row="power_w", column="what", value="1")
    read(client, "/tools/figures/?table=../secret", 404)
