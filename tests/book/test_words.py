"""`lemel book`: every word answers, in words and as JSON, and faults have the one shape."""

from __future__ import annotations

import json
from pathlib import Path

import click
import pytest

from lemel.book import open_book
from lemel.cli import run
from lemel.cli.run import cli
from lemel.demo import quillmarsh

PAGES = [
    (Path(__file__).resolve().parents[2] / "docs" / name).read_text("utf-8")
    for name in ("cli.md", "book.md")
]


def words():
    group = cli.get_command(click.Context(cli), "book")
    return group.commands


@pytest.mark.parametrize("word", words())
def test_a_word_and_its_options_are_on_the_pages(word):
    for page in PAGES:
        assert f"`{word}" in page or f"book {word}" in page
    options = {o for param in words()[word].params for o in param.opts if o.startswith("--")}
    assert not [one for one in options if one not in PAGES[0]]


@pytest.fixture
def lemel(capsys):
    def call(*arguments, code=0):
        capsys.readouterr()
        assert run([str(one) for one in arguments]) == code
        return capsys.readouterr().out

    return call


@pytest.fixture
def place(stocked):
    return stocked.folder


def data(text):
    return json.loads(text)


def test_a_book_is_begun_empty_or_with_a_months_files(lemel, tmp_path):
    told = data(lemel("book", "begin", "--book", tmp_path / "one", "--json"))
    assert (told["verb"], told["entries"], told["owners"]) == ("book begin", 0, {})
    told = data(lemel("book", "begin", quillmarsh(), "--book", tmp_path / "two", "--json"))
    assert told["entries"] > 30
    assert "Petra Haldorsen" in told["owners"].values()


def test_the_balance_names_owner_place_and_body(lemel, place):
    told = data(lemel("book", "balance", "--owner", "haldorsen", "--book", place, "--json"))
    store = [row for row in told["accounts"] if row["place"] == "store"]
    assert [(row["body"], row["gross_mg"]) for row in store] == [("G8", 5420)]
    shown = lemel("book", "balance", "--owner", "haldorsen", "--book", place)
    assert "5.420" in shown
    assert "0.1743" in lemel("book", "balance", "--unit", "ozt", "--book", place)


def test_the_statement_closes_in_words_and_as_json(lemel, place):
    told = data(lemel("book", "statement", "corvalho", "--book", place, "--json"))
    assert told["closing_mg"] == sum(line["gross_mg"] for line in told["lines"])
    assert "there now" in lemel("book", "statement", "corvalho", "--book", place)


def test_the_audit_ends_with_3_where_something_is_wrong(lemel, place):
    told = data(lemel("book", "audit", "--book", place, "--json"))
    assert told["whole"]
    noted = f"{told['entries']}:{told['head']}"
    lemel("book", "audit", "--expect", noted, "--book", place)
    wrong = f"{told['entries']}:{'0' * 64}"
    told = data(lemel("book", "audit", "--expect", wrong, "--book", place, "--json", code=3))
    assert told["faults"][0]["code"] == "book.audit.not_as_noted"
    assert "cut off" in told["faults"][0]["text"]


def test_a_month_is_accepted_from_its_files(lemel, place, plan, month, monkeypatch):
    """The plan of these files is made once for all tests, not again here."""
    asked = []
    monkeypatch.setattr("lemel.plan.do", lambda problem: asked.append(problem) or plan)
    told = data(lemel("book", "accept", quillmarsh(), "--book", place, "--json"))
    assert told["plan"] == plan.id
    with open_book(place) as book:
        assert book.plan(plan.id) == plan
    assert asked == [month]


def test_out_and_in_and_back_again(lemel, place, tmp_path):
    head = data(lemel("book", "audit", "--book", place, "--json"))["head"]
    out = tmp_path / "out.json"
    assert data(lemel("book", "export", out, "--book", place, "--json"))["entries"]
    lemel("book", "export", out, "--book", place, code=2)
    told = data(lemel("book", "import", out, "--book", tmp_path / "in", "--json"))
    assert told["head"] == head
    lemel("book", "import", out, "--book", tmp_path / "in", code=2)
    told = data(lemel("book", "backup", "--book", place, "--json"))
    again = data(lemel("book", "restore", told["file"], "--book", tmp_path / "back", "--json"))
    assert again["head"] == head


def test_faults_have_the_one_shape(lemel, tmp_path, place):
    told = data(lemel("book", "balance", "--book", tmp_path / "none", "--json", code=2))
    assert set(told["error"]) == {"field", "value", "allowed", "do"}
    told = data(lemel("book", "balance", "--owner", "nobody", "--book", place, "--json", code=2))
    assert told["error"]["field"] == "--owner"
    told = data(lemel("book", "blance", "--json", code=2))
    assert told["error"]


def test_without_a_word_the_words_are_listed(lemel):
    assert "statement" in lemel("book")


def test_the_alloy_does_not_load_the_database(lemel):
    import subprocess
    import sys

    ask = (
        "import sys; from lemel.cli import run; run(['alloy', 'Ag=925', 'Cu=75', '--json']);"
        " print('django' in sys.modules, file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", ask], capture_output=True, text=True, check=True)
    assert done.stderr.strip() == "False"
