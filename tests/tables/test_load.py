"""The tables: every row with its source, immutable, named by a digest, open to house figures."""

from __future__ import annotations

import pytest

from lemel.errors import BadInput, NotKnown
from lemel.tables import Row, Source, Tables, load, shipped

SOURCES = {"book": Source("book", "A book", trust="handbook")}


def _tables(**cells: object) -> Tables:
    rows = {
        key: Row("kit", key, {"kerf_mm": value}, "book", "handbook") for key, value in cells.items()
    }
    return Tables({"kit": rows}, SOURCES)


def test_the_shipped_tables_are_read_once():
    assert shipped() is shipped()
    assert shipped().names == tuple(sorted(shipped().names))


def test_the_same_figures_have_the_same_digest_and_any_change_another():
    assert _tables(saw="0.3").digest == _tables(saw="0.3").digest
    changed = {
        _tables(saw="0.31").digest,
        _tables(saw="0.3", shear="0").digest,
        _tables(saw="0.3").with_overrides({"kit": {"saw": {"kerf_mm": 0.31}}}).digest,
    }
    assert len(changed | {_tables(saw="0.3").digest}) == 4


def test_a_house_figure_lies_over_the_shipped_one_and_says_so():
    before = _tables(saw="0.3", shear="0")
    after = before.with_overrides({"kit": {"saw": {"kerf_mm": 0.25}, "laser": {"kerf_mm": 0.1}}})
    assert after.row("kit", "saw").number("kerf_mm") == 0.25
    assert after.row("kit", "saw").trust == after.row("kit", "saw").source == "house"
    assert after.row("kit", "laser").number("kerf_mm") == 0.1
    assert after.row("kit", "shear") == before.row("kit", "shear")
    assert before.row("kit", "saw").number("kerf_mm") == 0.3
    assert after.source("house").trust == "house"


@pytest.mark.parametrize("overrides", [{"tools": {}}, {"kit": {"saw": {"colour": "red"}}}])
def test_an_unknown_table_or_column_is_refused_by_name(overrides):
    with pytest.raises(BadInput):
        _tables(saw="0.3").with_overrides(overrides)


@pytest.mark.parametrize(
    "ask",
    [
        lambda t: t.table("tools"),
        lambda t: t.row("kit", "plane"),
        lambda t: t.source("another book"),
        lambda t: t.row("kit", "saw").number("weight_g"),
        lambda t: t.row("kit", "shear").number("kerf_mm"),
    ],
)
def test_what_is_not_there_is_not_known_rather_than_guessed(ask):
    with pytest.raises(NotKnown):
        ask(_tables(saw="0.3", shear=""))


def test_a_blank_cell_takes_the_figure_that_the_caller_names():
    assert _tables(shear="").row("kit", "shear").number_or("kerf_mm", 0.2) == 0.2
    assert _tables(saw="0.3").row("kit", "saw").number_or("kerf_mm", 0.2) == 0.3


def test_tables_cannot_be_changed():
    tables = _tables(saw="0.3")
    with pytest.raises(TypeError):
        tables.table("kit")["saw"] = None  # type: ignore[index]
    with pytest.raises(AttributeError):
        tables.extra = 1  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("trust", "known"),
    [
        ("handbook", "table"),
        ("practice", "assumed"),
        ("estimate", "assumed"),
        ("house", "supplier"),
    ],
)
def test_a_figure_says_how_it_is_known(trust, known):
    row = Row("kit", "saw", {"kerf_mm": "0.3", "kerf_mm_sd": "0.05"}, "book", trust)
    figure = row.figure("kerf_mm", "mm")
    assert (figure.value, figure.sd, figure.known, figure.source) == (0.3, 0.05, known, "book")


@pytest.mark.parametrize(
    "text",
    [
        "key,kerf_mm,source,trust\nsaw,0.3,book,handbook\nsaw,0.4,book,handbook\n",
        "key,kerf_mm,source,trust\n,0.3,book,handbook\n",
        "key,kerf_mm,source,trust\nsaw,0.3,book,gospel\n",
        "key,kerf_mm,source,trust\nsaw,0.3,1,book,handbook\n",
        "key,kerf_mm,source,trust\nsaw,0.3\n",
    ],
)
def test_a_row_that_is_out_of_shape_is_refused(text):
    with pytest.raises(BadInput):
        list(load._read("kit", "csv", text))


def test_every_row_of_every_shipped_table_reads():
    for name in shipped().names:
        for row in shipped().rows(name):
            assert row.key
            assert row.table == name
            assert row.trust in load.TRUSTS
