"""Single records by words: owners, consents, readings, purchases, orders, tools."""

from __future__ import annotations

import pytest

from lemel.book import open_book
from lemel.values import Composition, Lot

STERLING = Composition.from_millesimal({"Ag": 925, "Cu": 75})


@pytest.fixture
def say(lemel, tmp_path):
    with open_book(tmp_path / "book", create=True) as book:
        lot = Lot("L1", "ada", "Ag", "wire", 12.0)
        book.weigh_in([lot], owners={"ada": "Ada"}, compositions={"L1": STERLING})

    def speak(*words):
        heard = lemel("book", *words, "--book", tmp_path / "book", "--json")
        return heard.code, heard.data

    return speak


def test_each_word_enters_its_record(say):
    assert say("owner", "lena", "Lena")[1]["owners"]["lena"] == "Lena"
    code, told = say("consent", "K1", "ada", "destroy", "--for", "L1", "--limit", "5")
    assert (code, told["consent"]["limit_g"], told["consent"]["about"]) == (0, 5.0, ["L1"])
    code, told = say("reading", "r1", "L1", "xrf-hand-abraded", "Ag=921", "--source", "gun")
    assert (code, told["reading"]["values"]) == (0, {"Ag": 0.921})
    code, told = say("bought", "L1", "lena", "a coil of wire")
    assert [(one["lot"], one["seller"]) for one in told["bought"]] == [("L1", "lena")]
    words = ("disc", "diameter_mm=20", "thickness_mm=0.8", "--owner", "ada")
    code, told = say("order", "O1.1", "O1", *words, "--standard", "UK Ag 925", "--count", "2")
    assert (code, told["line"]["sizes"]["diameter_mm"]) == (0, 20)
    assert [one["line"]["id"] for one in say("orders")[1]["orders"]] == ["O1.1"]


def test_a_tool_is_entered_and_then_changed_in_one_field(say):
    code, told = say("tool", "balance", "small", "step_g=0.01", "sd_g=0.01", "most_g=500")
    assert code == 0, told
    code, told = say("tool", "balance", "small", "most_g=600")
    assert (told["tool"]["tool"]["most_g"], told["tool"]["tool"]["step_g"]) == (600, 0.01)


def test_what_cannot_be_is_refused_by_its_field(say):
    assert say("reading", "r1", "L1", "xrf-hand-abraded", "Ag")[0] == 2
    assert say("reading", "r1", "L1", "xrf-hand-abraded", "Ag=much")[0] == 2
    assert say("consent", "K1", "ada", "burn")[0] == 2
    assert say("bought", "L1")[0] == 2
