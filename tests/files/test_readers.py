"""The readers of whole files: unknown keys, all faults at once, and never anything but BadInput."""

from __future__ import annotations

import copy
import json
import shutil
import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lemel import files
from lemel.demo import examples
from lemel.errors import BadInput

READERS = {
    "believe.json": files.read_believe,
    "believe_one.toml": files.read_believe,
    "blend.json": files.read_blend,
    "correct.toml": files.read_correct,
    "melt.toml": files.read_melt,
    "pour.toml": files.read_pour,
    "day.toml": files.read_day,
    "tend.toml": files.read_tend,
    "mill.toml": files.read_mill,
    "cut.toml": files.read_cut,
    "plan.toml": files.read_plan,
    "calibrate.toml": files.read_calibrate,
}


@pytest.fixture(autouse=True)
def _log_beside(tmp_path):
    """A calibration's log lies beside its file, wherever a test puts that."""
    shutil.copy(examples() / "calibrate_log.csv", tmp_path)


def _data(name):
    text = (examples() / name).read_text("utf-8")
    return json.loads(text) if name.endswith(".json") else tomllib.loads(text)


def _plain(data):
    return json.dumps(data, default=str)


@pytest.mark.parametrize("name", READERS)
def test_every_example_is_read(name):
    assert READERS[name](examples() / name)


@pytest.mark.parametrize("name", READERS)
def test_an_example_reads_the_same_from_json(name, tmp_path):
    path = tmp_path / "same.json"
    path.write_text(_plain(_data(name)))
    assert READERS[name](path) == READERS[name](examples() / name)


def _tables(data, way=()):
    """Every table of a file with the way to it."""
    if isinstance(data, dict):
        yield way, data
        for key, item in data.items():
            yield from _tables(item, (*way, key))
    elif isinstance(data, list):
        for position, item in enumerate(data):
            yield from _tables(item, (*way, position))


#: Tables whose keys are the user's own names.
FREE = {"owners", "allowances_percent", "source_sd", "lots", "about"}


@pytest.mark.parametrize("name", READERS)
def test_an_unknown_key_in_any_table_is_refused_by_name(name, tmp_path):
    data = _data(name)
    refused = 0
    for way, _ in _tables(data):
        if way and way[-1] in FREE:
            continue
        changed = copy.deepcopy(data)
        spot = changed
        for step in way:
            spot = spot[step]
        spot["sidecar"] = "no"
        path = tmp_path / "changed.json"
        path.write_text(_plain(changed))
        with pytest.raises(BadInput) as told:
            READERS[name](path)
        assert any("sidecar" in str(fault.field) for fault in told.value.all), way
        refused += 1
    assert refused


def test_a_near_miss_is_answered_with_the_right_key(tmp_path):
    path = tmp_path / "pour.toml"
    text = (examples() / "pour.toml").read_text("utf-8")
    path.write_text(text.replace("mass_g = 242.00", "mas_g = 242.00"))
    with pytest.raises(BadInput) as told:
        files.read_pour(path)
    assert [fault.do for fault in told.value.all if "mas_g" in fault.field] == [
        "Did you mean mass_g?"
    ]
    assert "pour.toml line 4, mas_g" in [fault.field for fault in told.value.all]


def test_all_faults_of_a_file_come_at_once(tmp_path):
    path = tmp_path / "melt.toml"
    text = (examples() / "melt.toml").read_text("utf-8")
    text = text.replace("mass_g = 150.00", "mass_g = -150.00").replace("power_w = 1200", "powr = 1")
    path.write_text(text.replace("Ag = 925, Cu = 75", "Ag = 925, Cu = 35"))
    with pytest.raises(BadInput) as told:
        files.read_melt(path)
    fields = [fault.field for fault in told.value.all]
    assert any("charge[1].mass_g" in field for field in fields)
    assert any("charge[2].composition" in field for field in fields)
    assert any("furnace[1].powr" in field for field in fields)
    assert any("furnace[1].power_w" in field for field in fields)


@pytest.mark.parametrize("name", [n for n in READERS if n != "blend.json"])
def test_a_wrong_format_is_refused_with_the_right_one(name, tmp_path):
    data = {**_data(name), "format": "lemel-future 9"}
    path = tmp_path / "wrong.json"
    path.write_text(_plain(data))
    with pytest.raises(BadInput) as told:
        READERS[name](path)
    assert "lemel-" in told.value.allowed


HEAT = {
    "lots": [
        {"lot": "A", "mass_g": 100, "metal": "Ag", "readings": [
            {"method": "xrf-hand-abraded", "fineness": 910, "source": "gun"}]},
        {"lot": "B", "mass_g": 50, "metal": "Ag", "readings": [
            {"method": "xrf-hand-abraded", "fineness": 925, "source": "gun"}]},
        {"lot": "C", "mass_g": 5, "metal": "Au", "readings": []},
    ],
    "heats": [
        {"heat": "H1", "metal": "Ag", "lots": {"A": 100, "B": 50}, "fine_g": 0, "metal_g": 149.5,
         "readings": [{"method": "silver-iso-11427", "fineness": 912.0, "source": "office"}]}
    ],
}  # fmt: skip


def test_an_assayed_heat_comes_with_its_own_readings(tmp_path):
    path = tmp_path / "heat.json"
    path.write_text(json.dumps(HEAT))
    given = files.read_believe(path)
    assert given.heats == (("H1", (("A", 100.0), ("B", 50.0)), 0.0, 149.5),)
    assert [(one.id, one.on) for one in given.readings] == [
        ("A-1", "A"), ("B-1", "B"), ("H1-1", "H1")
    ]  # fmt: skip


@pytest.mark.parametrize("stranger", ["C", "Z"])
def test_a_heat_of_lots_that_are_not_there_or_of_another_metal_is_refused(tmp_path, stranger):
    data = copy.deepcopy(HEAT)
    data["heats"][0]["lots"][stranger] = 3
    path = tmp_path / "heat.json"
    path.write_text(json.dumps(data))
    with pytest.raises(BadInput) as told:
        files.read_believe(path)
    assert told.value.field.endswith(f"heats[1].lots.{stranger}")


LEAVES = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(10**20), 10**20),
    st.floats(allow_nan=False, allow_infinity=False),
    st.text(max_size=12),
    st.just([]),
    st.just({}),
    st.just([1, "x"]),
    st.just({"Ag": -1}),
)


def _spots(data, way=()):
    if isinstance(data, dict):
        for key, item in data.items():
            yield (*way, key)
            yield from _spots(item, (*way, key))
    elif isinstance(data, list):
        for position, item in enumerate(data):
            yield (*way, position)
            yield from _spots(item, (*way, position))


@pytest.mark.parametrize("name", READERS)
def test_a_spoilt_file_is_read_or_refused_and_nothing_else(name, tmp_path):
    whole = json.loads(_plain(_data(name)))
    spots = list(_spots(whole))
    path = tmp_path / "spoilt.json"

    @settings(max_examples=150)
    @given(st.sampled_from(spots), LEAVES, st.booleans())
    def spoil(way, leaf, drop):
        data = copy.deepcopy(whole)
        spot = data
        for step in way[:-1]:
            spot = spot[step]
        if drop and isinstance(spot, dict):
            del spot[way[-1]]
        else:
            spot[way[-1]] = leaf
        path.write_text(json.dumps(data))
        try:
            READERS[name](path)
        except BadInput as fault:
            for one in fault.all:
                assert one.field
                assert one.allowed
                assert one.do

    spoil()


@pytest.mark.parametrize("name", READERS)
def test_any_bytes_at_all_are_read_or_refused_and_nothing_else(name, tmp_path):
    path = tmp_path / "noise.toml"

    @settings(max_examples=40)
    @given(st.one_of(st.binary(max_size=80), st.text(max_size=80).map(str.encode)))
    def noise(raw):
        path.write_bytes(raw)
        try:
            READERS[name](path)
        except BadInput:
            return

    noise()
