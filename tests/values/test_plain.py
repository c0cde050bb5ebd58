"""Values to plain data and back: nothing is lost, nothing unknown slips in."""

from __future__ import annotations

import dataclasses
import json
from datetime import date
from typing import NamedTuple

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lemel import values
from lemel.errors import BadInput
from lemel.values import from_plain, to_plain
from tests.strategies import value_kinds, value_of

CLASSES = [
    getattr(values, name)
    for name in values.__all__
    if isinstance(getattr(values, name), type) and dataclasses.is_dataclass(getattr(values, name))
]


def test_every_shared_value_has_a_strategy():
    assert set(CLASSES) == set(value_kinds())


@pytest.mark.parametrize("kind", CLASSES, ids=lambda kind: kind.__name__)
def test_a_value_survives_the_way_through_json(kind):
    @given(value_of(kind))
    def survives(value):
        text = json.dumps(to_plain(value), allow_nan=False)
        assert from_plain(kind, json.loads(text)) == value

    survives()


@given(st.sampled_from(CLASSES), st.data())
def test_an_unknown_key_is_refused_by_name(kind, data):
    plain = to_plain(data.draw(value_of(kind)))
    with pytest.raises(BadInput) as fault:
        from_plain(kind, {**plain, "colour_of_the_moon": 1})
    assert fault.value.field == "colour_of_the_moon"


def test_a_missing_key_is_refused_by_name():
    with pytest.raises(BadInput) as fault:
        from_plain(values.Quantity, {"value": 3.0})
    assert fault.value.field == "unit"


@dataclasses.dataclass(frozen=True)
class Bag:
    flags: frozenset[str]


def test_sets_of_words_come_back_as_sets():
    bag = Bag(frozenset({"lead", "plate"}))
    assert to_plain(bag) == {"flags": ["lead", "plate"]}
    assert from_plain(Bag, to_plain(bag)) == bag


class Line(NamedTuple):
    body: str
    made: tuple[date, ...]


def test_named_tuples_come_back_with_their_names():
    line = Line("S1", (date(2031, 10, 9),))
    assert to_plain(line) == ["S1", ["2031-10-09"]]
    assert from_plain(Line, to_plain(line)).made == line.made
    with pytest.raises(BadInput):
        from_plain(Line, ["S1"])


@pytest.mark.parametrize(
    ("kind", "change", "field"),
    [
        (values.Quantity, {"value": "much"}, "value"),
        (values.Bar, {"section": {"kind": "round", "dims_mm": [["side", 3]]}}, "section.dims_mm"),
        (values.Money, {"amount": "twelve"}, "amount"),
        (values.Balance, {"calibrated_on": "9 October"}, "calibrated_on"),
        (values.Saw, {"straight_only": "yes"}, "straight_only"),
        (values.Lot, {"remelts": 1.5}, "remelts"),
        (values.Lot, {"solder_share": [0.1]}, "solder_share"),
        (values.Lot, {"parents": ["S1", 7]}, "parents.1"),
        (values.Furnace, {"parameters": []}, "parameters"),
    ],
)
def test_a_wrong_entry_is_refused_with_its_place(kind, change, field):
    @given(value_of(kind))
    @settings(max_examples=3)
    def refused(value):
        with pytest.raises(BadInput) as fault:
            from_plain(kind, {**to_plain(value), **change})
        assert fault.value.field == field

    refused()


@given(st.sampled_from([values.Saying, values.Objection, values.Caution]), st.data())
def test_what_is_said_can_be_gathered_in_sets(kind, data):
    said = data.draw(value_of(kind))
    assert len({said, from_plain(kind, to_plain(said))}) == 1
