"""What cannot be meant is refused by name."""

from __future__ import annotations

import copy
import json
from pathlib import Path

import pytest

from lemel import blend
from lemel.errors import BadInput

DATA = json.loads((Path(__file__).parent / "instances" / "open_03.json").read_text())


def broken(change):
    data = copy.deepcopy(DATA)
    change(data)
    with pytest.raises(BadInput) as fault:
        blend.from_instance(data)
    return fault.value


def put(*path):
    *way, key, value = path

    def change(data):
        for step in way:
            data = data[step]
        data[key] = value

    return change


@pytest.mark.parametrize(
    ("field", "change"),
    [
        ("lots[0].mass", put("lots", 0, "mass", float("nan"))),
        ("lots[0].mass", put("lots", 0, "mass", -3)),
        ("lots[0].mass", put("lots", 0, "mass", 0)),
        ("lots[0].mass", put("lots", 0, "mass", "heavy")),
        ("lots[0].mass", put("lots", 0, "mass", True)),
        ("lots[1].comp.Ag", put("lots", 1, "comp", "Ag", -1)),
        ("lots[1].comp.Xx", put("lots", 1, "comp", "Xx", 1)),
        ("lots[1].comp", put("lots", 1, "comp", "Cu", 500)),
        ("lots[2].sd.Ag", put("lots", 2, "sd", "Ag", float("inf"))),
        ("lots[2].source_sd.Dogwood", put("lots", 2, "source_sd", "Dogwood", -1)),
        ("lots.id", put("lots", 1, "id", "L-001")),
        ("heats.id", put("heats", 1, "id", "H1")),
        ("additions.id", put("additions", 1, "id", "grain-fine")),
        ("lots[0].owner", put("lots", 0, "owner", "nobody")),
        ("heats[1].owner", put("heats", 1, "owner", "nobody")),
        ("lots[0].kind", put("lots", 0, "kind", "half")),
        ("lots[0].weight", put("lots", 0, "weight", 3)),
        ("colour", put("colour", "red")),
        ("heats[0].prob", put("heats", 0, "prob", 1.5)),
        ("heats[0].prob", put("heats", 0, "prob", None)),
        ("heats[0].mass_max", put("heats", 0, "mass_max", 10)),
        ("heats", put("heats", [])),
        ("lots", put("lots", {})),
        ("format", put("format", "something 2")),
        ("main_element", put("main_element", "Fe")),
        ("demand[0].heats", put("demand", [{"heats": ["H9"], "min_total": 3}])),
        ("additions[0].stock", put("additions", 0, "stock", -1)),
    ],
)
def test_a_broken_instance_names_the_field(field, change):
    fault = broken(change)
    assert fault.field == field
    assert fault.do


def test_an_instance_without_lots_and_additions_is_refused():
    def emptied(data):
        data["lots"], data["additions"] = [], []

    assert broken(emptied).field == "lots"


def test_all_faults_come_at_once():
    def many(data):
        data["lots"][0]["mass"] = -1
        data["lots"][3]["kind"] = "half"
        data["heats"][0]["standard"] = "fine"

    fields = [fault.field for fault in broken(many).all]
    assert fields == ["lots[0].mass", "lots[3].kind", "heats[0].standard"]


def test_a_missing_key_is_named():
    assert broken(lambda data: data["heats"][0].pop("standard")).field == "heats[0].standard"


@pytest.mark.parametrize("data", [None, [], "text", 7])
def test_a_file_that_is_no_object_is_refused(data):
    with pytest.raises(BadInput):
        blend.from_instance(data)


def test_a_listed_owner_without_a_heat_is_welcome():
    data = copy.deepcopy(DATA)
    data["lots"][0]["owner"] = "Fern"
    data["owners"] = ["Fern", "Wren"]
    assert blend.from_instance(data).lots[0].owner == "Fern"
