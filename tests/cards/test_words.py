"""Labels and few-word forms belong to what they stand for."""

from __future__ import annotations

import re
from importlib import resources

import pytest

from lemel.cards.hand import Hand
from lemel.cards.ids import file_name, listed
from lemel.values import Section
from lemel.words import codes, placeholders, template
from tests.house.reading import agree

SHORT = "cards.short."


def test_the_templates_ask_for_just_the_labels_that_there_are():
    folder = resources.files("lemel.cards") / "templates"
    asked = {
        label
        for file in folder.iterdir()
        for label in re.findall(r'\bL\("([a-z_]+)"\)', file.read_text("utf-8"))
    }
    known = {c.removeprefix("cards.label.") for c in codes() if c.startswith("cards.label.")}
    assert asked == known


def test_few_words_stand_for_a_sentence_that_a_room_says():
    agree(
        code
        for code in codes()
        if code.startswith(SHORT) and template(code.removeprefix(SHORT)) is None
    )


def test_few_words_want_no_figure_that_the_sentence_lacks():
    for code in codes():
        if code.startswith(SHORT):
            whole = template(code.removeprefix(SHORT)) or ""
            assert set(placeholders(template(code) or "")) <= set(placeholders(whole)), code


def test_few_words_are_few():
    for code in codes():
        if code.startswith(SHORT):
            assert len((template(code) or "").split()) <= 20, code


@pytest.mark.parametrize(
    ("ids", "told"),
    [
        ([], ""),
        (["O1.1"], "O1.1"),
        (["O1.1", "O1.2"], "O1.1, O1.2"),
        (["O1.1", "O1.2", "O1.3"], "O1.1–O1.3"),
        (["O1.9", "O1.10", "O1.11", "X"], "O1.9–O1.11, X"),
        (["A", "B", "A"], "A, B"),
    ],
)
def test_a_run_of_ids_is_told_by_its_ends(ids, told):
    assert listed(ids) == told


@pytest.mark.parametrize("text", ["../../etc", "a/b", "C:\\x", "", "...", "ring «L»"])
def test_no_id_leads_a_file_out_of_its_folder(text):
    name = file_name(text)
    assert name
    assert not set(name) & set("/\\:")
    assert not name.startswith(".")


def test_a_hand_rounds_to_what_it_can_set():
    hand = Hand()
    assert hand.band(953, 968) == "960 °C"
    assert hand.band(949.9, 962) == "950–960 °C"
    assert hand.mass(13.8649) == "13.86 g"
    assert hand.size(0.42) == "0.42 mm"
    assert hand.size(4.917) == "4.9 mm"
    assert hand.length(12018) == "12.02 m"
    assert hand.length(226.9) == "227 mm"
    assert hand.minutes(0.2) == "1 min"
    assert hand.minutes(128) == "2 h 08"
    assert hand.section(Section.flat(1.6, 5.03)) == "flat 1.6 × 5.05 mm"
