"""From code to sentence: in the reader's units, and never silent."""

from __future__ import annotations

import pytest
from hypothesis import given

from lemel.errors import BadInput, Broken
from lemel.quantities import Preference
from lemel.values import Caution, Objection, Quantity, Saying
from lemel.words import be_strict, catalogue, codes, placeholders, remedy, say, template
from tests.strategies import sayings

EXAMPLE = "house.example.mass"


@pytest.fixture(scope="module", autouse=True)
def as_on_a_bench():
    be_strict(False)
    yield
    be_strict()


def test_the_tests_of_the_house_are_strict():
    be_strict()
    with pytest.raises(Broken):
        say(Saying("no.such.code"))
    be_strict(False)
    assert say(Saying("no.such.code")) == "no.such.code"


def test_a_saying_becomes_a_sentence_in_the_readers_units():
    said = Saying(EXAMPLE, {"lot": "S1", "mass": Quantity(41.2, "g")})
    assert say(said) == "Weigh in S1: 41.20 g."
    assert say(said, units=Preference(mass="dwt")) == "Weigh in S1: 26.49 dwt."


def test_a_value_that_is_a_code_is_said_in_its_own_words(words_at):
    words_at(one='"a.anneal" = "Heat to {sign}."\n"a.sign" = "dull red"\n"a.open" = "{gap}"')
    assert say(Saying("a.anneal", {"sign": "a.sign"})) == "Heat to dull red."
    assert say(Saying("a.anneal", {"sign": "a.open"})) == "Heat to a.open."
    assert say(Saying("a.anneal", {"sign": "first red"})) == "Heat to first red."


@given(sayings)
def test_a_code_without_words_is_told_with_its_values(said):
    text = say(said)
    assert said.code in text
    assert all(name in text for name in said.values)


def test_a_code_without_words_is_broken_where_we_are_strict():
    with pytest.raises(Broken, match=r"no\.such\.code"):
        say(Saying("no.such.code"), strict=True)


def test_words_that_lack_a_value_are_broken_where_we_are_strict():
    short = Saying(EXAMPLE, {"lot": "S1"})
    assert say(short) == f"{EXAMPLE}: lot S1"
    with pytest.raises(Broken, match="lacks mass"):
        say(short, strict=True)


def test_an_objection_may_speak_of_what_it_is_about():
    objection = Objection(EXAMPLE, "S1", "ask", {"mass": Quantity(1.0, "g"), "lot": "S1"})
    assert say(objection) == "Weigh in S1: 1.00 g."


def test_an_objection_without_a_remedy_has_none():
    assert remedy(Objection("house.nothing", "S1", "note")) == ""


def test_the_remedy_is_the_objections_own_before_the_catalogues():
    own = Saying(EXAMPLE, {"lot": "S2", "mass": Quantity(2.0, "g")})
    assert remedy(Objection("x.y", "S1", "stop", remedy=own)) == "Weigh in S2: 2.00 g."


def test_the_remedy_may_lie_in_the_catalogue():
    objection = Objection(EXAMPLE, "S1", "ask", {"mass": Quantity(1.0, "g")})
    assert remedy(objection) == "Put S1 on the balance and write down what it shows."


def test_words_may_be_written_flat_or_in_sections(words_at):
    words_at(one='"a.b" = "flat"\n[c]\nd = "in a section"', readme="")
    assert codes() == ("a.b", "c.d")
    assert template("c.d") == "in a section"


def test_words_that_are_no_text_are_broken(words_at):
    words_at(one='"a.b" = 3')
    with pytest.raises(Broken, match=r"a\.b are not a text"):
        codes()


def test_a_caution_is_said_like_any_other():
    caution = Caution(EXAMPLE, "weigh", values={"lot": "S1", "mass": Quantity(1.0, "g")})
    assert say(caution) == "Weigh in S1: 1.00 g."


def test_an_unknown_language_is_refused():
    with pytest.raises(BadInput):
        say(Saying(EXAMPLE), "xx")


def test_a_code_that_has_words_twice_is_broken(words_at):
    words_at(one='"a.b" = "words"', two='"a.b" = "other words"')
    with pytest.raises(Broken, match=r"a\.b has words in one\.toml and in two\.toml"):
        codes()


@pytest.fixture
def words_at(monkeypatch, tmp_path):
    """A catalogue of its own, written into files."""
    folder = tmp_path / "en"
    folder.mkdir()
    (folder / "notes.txt").write_text("not words")

    def write(**files):
        for name, text in files.items():
            (folder / f"{name}.toml").write_text(text)
        monkeypatch.setattr(catalogue.resources, "files", lambda _: tmp_path)
        catalogue._catalogue.cache_clear()

    yield write
    monkeypatch.undo()
    catalogue._catalogue.cache_clear()


def test_words_ask_for_plain_names_only():
    for code in codes():
        text = template(code)
        assert text
        assert text.strip() == text, code
        for name in placeholders(text):
            assert name.isidentifier(), f"{code}: {name}"
        assert text.count("{") == len([part for part in text.split("{")[1:] if "}" in part])
