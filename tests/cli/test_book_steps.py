"""The bench on the command line: a heat from its bags to a delivered piece, and what goes wrong."""

from __future__ import annotations

import json

import pytest

from lemel.book import open_book
from lemel.cli import run
from lemel.demo import quillmarsh
from lemel.files import read_plan
from lemel.plan import do


@pytest.fixture(scope="module")
def month():
    problem = read_plan(quillmarsh())
    return problem, do(problem)


@pytest.fixture
def place(tmp_path, month):
    problem, plan = month
    shop = problem.workshop
    with open_book(tmp_path / "book", create=True) as book:
        book.weigh_in(
            problem.lots, problem.readings, shop.owners, shop.consents,
            additions=shop.additions, bars=shop.stock,
        )  # fmt: skip
        book.accept(plan)
    return tmp_path / "book"


@pytest.fixture
def lemel(capsys, place):
    def call(*arguments, code=0):
        capsys.readouterr()
        line = ["book", *(str(one) for one in arguments), "--book", str(place), "--json"]
        assert run(line) == code, capsys.readouterr()
        return json.loads(capsys.readouterr().out)

    return call


def gives(lemel, name):
    [step] = [one for one in lemel("steps", "last", "--all")["steps"] if one["name"] == name]
    return step["gives_mg"]


def test_a_heat_from_its_bags_to_a_piece_out_of_the_house(lemel):
    lemel("charge", "last", "H1", "--at", "15:20", "--by", "leif")
    assert lemel("molten", "last", "H1")["state"] == "molten"
    poured = lemel("pour", "last", "H1")
    assert poured["entry"]["number"] > 0
    lemel("work", "last", "mill", "H1-2")
    lemel("work", "last", "cut H1-2-a")
    lemel("prove", "last", "H1", "A1", "Ag=926.0", "--method", "silver-volhard")
    told = lemel("deliver", "O1.1")
    assert told["next"][0]["values"]["order"] == "O1.1"
    assert lemel("finished", "last", "H1")["state"] == "closed"
    assert lemel("undo", "last", "H1", code=2)["error"]["field"] == "heat"
    assert lemel("audit")["whole"]


def test_a_step_that_must_be_answered_for_ends_with_3_and_writes_nothing(lemel):
    before = lemel("audit")["entries"]
    told = lemel("charge", "last", "H1", "--before", "S1=186.1", code=3)
    assert told["objections"][0]["code"] == "book.identity.off"
    assert lemel("audit")["entries"] == before
    answer = ("--answer", "S1=book_difference")
    assert lemel("charge", "last", "H1", "--before", "S1=186.1", *answer)["entry"]


def test_an_answer_for_what_is_not_there_is_refused(lemel):
    told = lemel("charge", "last", "H1", "--answer", "S99=book_difference", code=2)
    assert told["error"]["field"] == "answers.S99"


def test_a_short_and_cracked_bar_a_crop_and_the_clearing(lemel):
    lemel("charge", "last", "H1")
    lemel("molten", "last", "H1")
    bar = gives(lemel, "H1 melt and pour")["H1-2"] / 1000
    lemel("pour", "last", "H1", "--after", f"H1-2={bar - 0.2:.2f}")
    left = f"{bar - 0.2 - 3.05:.2f}"
    told = lemel("fault", "H1-2", "crack", "--cropped", "3", "--left", left, "--place", "10")
    assert told["bodies"][0].endswith("H1-2-crop1")
    assert len(told["suspect"]) > 5
    told = lemel("clear", "H1-3", "a strip rolled to 0.3 mm without a mark")
    assert len(told["suspect"]) > 5


def test_the_wrong_bag_its_correction_and_the_other_way(lemel, month):
    lemel("charge", "last", "H1")
    lines = month[1].heats[0].charge.lines
    wrong = min((one for one in lines if one.kind == "lot"), key=lambda one: one.mass_g).body
    told = lemel("wrong-bag", "last", "H1", wrong, "S13", "--room", "80")
    ways = {one["way"] for one in told["offers"]}
    assert ways <= {"keep", "correct", "mark_real"}
    assert {one["way"] for one in lemel("ways-out", "last", "H1")["offers"]} == ways
    assert lemel("mark", "last", "H1", "UK Ag 800", "the wrong bag")["bodies"]
    lemel("spill", "last", "H1", "--recovered", "2.5", "--lost", "0.1")
    assert lemel("empty", "last", "H1", code=0)["bodies"]


def test_bags_are_split_merged_remelted_and_given_back(lemel):
    lemel("split", "S3", "S3a=1", "S3b=0.05ozt")
    assert lemel("join", "S3m", "S3a", "S3b")["bodies"] == ["S3m"]
    assert lemel("remelt", "S3m", "--into", "S3r")["bodies"] == ["S3r"]
    assert lemel("restock", "copper", "50")["entries"]
    assert lemel("take-back", "S3r", "--grams", "1")["entries"]
    assert lemel("take-back", "G8", code=2)["error"]["field"] == "G8"
    assert lemel("take-back", "G8", "--drop")["next"]


def test_lost_metal_turns_up_and_boxes_are_emptied(lemel):
    lemel("charge", "last", "H1")
    lemel("molten", "last", "H1")
    lemel("pour", "last", "H1")
    assert lemel("found", "shop", "melt_and_pour", "0.2", "--from", "H1")["bodies"]
    assert lemel("found", "shop", "melt_and_pour", "20", code=3)["stopped"]
    lemel("recover", "hold_up", "graphite S", "0.5", "--rest-stays", "--owner", "shop")
    assert lemel("undo", "last", "H1", code=2)["error"]["field"] == "step"


@pytest.mark.parametrize("written", ["S1", "S1=", "=3", "S1=nan", "S1=3parsec"])
def test_an_amount_that_is_none_is_refused_in_a_sentence(lemel, written):
    assert lemel("charge", "last", "H1", "--taken", written, code=2)["error"]["do"]
