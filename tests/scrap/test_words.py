"""Every code that the room can say has words, and the words ask only for values it gives."""

from __future__ import annotations

import re
import tomllib
from datetime import date
from importlib import resources

import pytest

from lemel.scrap import ScrapProblem, believe, may_melt, may_prove
from lemel.tables import shipped
from lemel.values import Consent
from lemel.words import say


@pytest.fixture(scope="module")
def words() -> dict[str, str]:
    return tomllib.loads((resources.files("lemel.words") / "en" / "scrap.toml").read_text("utf-8"))


def test_codes_written_in_the_source_have_words(words):
    found = set()
    for file in (resources.files("lemel.scrap")).iterdir():
        if file.name.endswith(".py"):
            found |= set(re.findall(r'"(scrap\.[a-z_]+(?:\.[a-z_]+)*)"', file.read_text("utf-8")))
    assert len(found) > 20
    assert found - set(words) == set()
    for why in ("word", "touch"):
        assert f"scrap.share_limit.{why}" in words


def test_what_is_said_of_a_troubled_drawer_can_be_read(silver_lot, read):
    lots = (
        silver_lot("pot", form="hollowware", scrap_class="old_hollowware", owner="bo"),
        silver_lot("worn", None, form="jewellery", scrap_class="hallmarked", remelts=5),
        silver_lot("odd", None, form="filings", scrap_class="filings_mixed", barred=("magnet",)),
        silver_lot("said", form="sprue", scrap_class="class_scrap", made_for="casting"),
        silver_lot(
            "spoon", form="hollowware", scrap_class="flatware", received_on=date(2031, 5, 1)
        ),
    )
    readings = (
        read("mark", "worn", "stamp-worn", 800),
        read("x1", "spoon", "xrf-hand-abraded", 850, source="gun"),
        read("x2", "pot", "xrf-hand-abraded", 926, source="gun"),
        read("dip", "H", "silver-volhard", 880, sample="drill"),
    )
    heat = ("H", (("pot", 10.0), ("spoon", 10.0)), 0.0, 20.0)
    answer = believe(ScrapProblem(lots, readings, (heat,)))
    consents = [Consent("c", "bo", "top_up", date(2031, 1, 1))]
    gates = may_melt(lots, consents, readings, date(2031, 5, 5), house="ada")
    for o in (*answer.objections, *gates):
        assert say(o)
        assert o.remedy is not None
        assert say(o.remedy)
    for other in (*answer.cautions, *answer.explain):
        assert say(other)


@pytest.mark.parametrize(
    ("code", "main", "more", "proves"),
    [
        ("silver-volhard", "Ag", {"sample": "dip"}, "heat"),
        ("silver-volhard", "Ag", {"sample": "drill"}, "lot"),
        ("cupellation", "Au", {}, "heat"),
        ("cupellation", "Au", {"colour": "white_pd"}, "nothing"),
        ("touch-silver", "Ag", {}, "sort"),
        ("word", "Ag", {}, "nothing"),
    ],
)
def test_which_method_may_prove_what(code, main, more, proves):
    assert may_prove(code, main, **more) == proves


def test_every_row_of_the_room_names_a_source_that_is_listed():
    tables = shipped()
    for name in tables.names:
        if name.startswith(("scrap_", "worth_")):
            for row in tables.rows(name):
                assert tables.source(row.source)
