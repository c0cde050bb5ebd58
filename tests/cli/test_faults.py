"""Bad input: one clear sentence, exit 2 or 3, no traceback, and the same in JSON."""

from __future__ import annotations

import pytest

from lemel.demo import examples

EXAMPLES = examples()


def _told(lemel, *arguments, code=2):
    """The faults of a run, once text and JSON agree on them."""
    spoken = lemel(*arguments)
    written = lemel(*arguments, "--json")
    assert spoken.code == written.code == code
    assert not spoken.out
    assert not written.err
    error = written.data["error"]
    assert set(error) == {"field", "value", "allowed", "do"}
    assert written.data["errors"][0] == error
    sentences = spoken.err.strip().splitlines()
    assert len(sentences) == len(written.data["errors"])
    for sentence, one in zip(sentences, written.data["errors"], strict=True):
        assert one["field"] in sentence
        assert one["do"] in sentence
        assert sentence.endswith((".", "?"))
    return written.data["errors"]


def _changed(tmp_path, name, *changes):
    text = (EXAMPLES / name).read_text("utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    path = tmp_path / name
    path.write_text(text)
    return path


def test_an_unknown_element(lemel):
    (error,) = _told(lemel, "alloy", "Ag=925", "Xx=75")
    assert error["field"] == "composition, Xx"


def test_parts_that_do_not_sum_to_a_thousand(lemel):
    (error,) = _told(lemel, "alloy", "Ag=925", "Cu=35")
    assert error["value"] == "sum 960"


@pytest.mark.parametrize(
    ("verb", "name", "old"),
    [
        ("melt", "melt.toml", "mass_g = 88.20"),
        ("pour", "pour.toml", "mass_g = 242.00"),
        ("mill", "mill.toml", "mass_g = 33.60"),
        ("cut", "cut.toml", "mass_g = 108.70"),
        ("correct", "correct.toml", "mass_g = 100"),
        ("believe", "believe_one.toml", "mass_g = 14.62"),
        ("plan", "plan.toml", "mass_g = 60.00"),
    ],
)
def test_a_negative_mass(lemel, tmp_path, verb, name, old):
    path = _changed(tmp_path, name, (old, "mass_g = -3"))
    errors = _told(lemel, verb, path)
    assert any("mass_g" in e["field"] and str(e["value"]).startswith("-3") for e in errors)
    assert name in errors[0]["field"]


def test_a_negative_mass_in_an_instance(lemel, tmp_path):
    path = _changed(tmp_path, "blend.json", ('"mass": 47.90', '"mass": -47.90'))
    (error,) = _told(lemel, "blend", path)
    assert error["field"] == "blend.json line 8, lots[3].mass"


@pytest.mark.parametrize("verb", ["believe", "correct", "melt", "pour", "mill", "cut", "plan"])
def test_a_file_that_is_no_toml(lemel, tmp_path, verb):
    path = tmp_path / "torn.toml"
    path.write_text('format = "lemel\nmass_g = ')
    (error,) = _told(lemel, verb, path)
    assert "torn.toml" in error["field"]
    assert "line 1" in error["value"]


def test_an_unknown_key_with_its_near_neighbour(lemel, tmp_path):
    path = _changed(tmp_path, "mill.toml", ('temper = "soft"', 'tempre = "soft"'))
    (error,) = _told(lemel, "mill", path)
    assert error["do"] == "Did you mean temper?"
    assert "line 14" in error["field"]


def test_a_missing_mould(lemel, tmp_path):
    text = (EXAMPLES / "pour.toml").read_text("utf-8").split("[mould]")[0]
    path = tmp_path / "pour.toml"
    path.write_text(text)
    (error,) = _told(lemel, "pour", path)
    assert error["field"].endswith("mould")


def test_a_file_that_is_not_there(lemel, tmp_path):
    (error,) = _told(lemel, "melt", tmp_path / "nothing.toml")
    assert error["value"] == "missing"


@pytest.mark.parametrize(
    "words",
    [
        ("fry",),
        ("alloy",),
        ("alloy", "Ag=1000", "--hot"),
        ("alloy", "Ag=1000", "--at", "warm"),
        ("alloy", "Ag=nan", "Cu=1000"),
        ("alloy", "Ag"),
        ("alloy", "Ag=900", "--balance", "Qq"),
        ("convert", "2"),
        ("convert", "2", "oz", "g"),
        ("convert", "x", "g", "mm"),
        ("convert", "2", "g", "mm"),
        ("gauge", "18"),
        ("gauge", "18", "--system", "XYZ"),
        ("gauge", "999", "--system", "AWG"),
        ("size", "ring", "14"),
        ("weigh", "--air", "20", "--water", "21", "--water-temp", "20"),
        ("weigh", "--air", "20", "--water", "18", "--water-temp", "90"),
        ("weigh", "--air", "20", "--water", "18", "--water-temp", "20", "--metals", "Ag"),
        ("weigh", "--air", "20", "--water", "18"),
        ("size", "foot", "UK L"),
        ("blank", "ring", "UK L", "--width", "3"),
        ("blank", "ring", "UK L", "--width", "-3", "--thickness", "1"),
        ("blank", "disc", "--diameter", "20", "--thickness", "1", "--count", "1.5"),
        ("blend", str(EXAMPLES / "blend.json"), "--gap", "0"),
        ("explain", "nothing_of_this_name"),
        ("plan", "/nowhere/at/all"),
        ("melt", str(EXAMPLES / "pour.toml")),
    ],
)
def test_wrong_words_on_the_command_line(lemel, words):
    assert _told(lemel, *words)


def test_a_near_miss_of_a_verb_or_option_is_answered_with_the_right_one(lemel):
    assert _told(lemel, "aloy", "Ag=1000")[0]["do"] == "Did you mean alloy?"
    assert "--system" in _told(lemel, "gauge", "18", "--sistem", "AWG")[0]["do"]


def test_an_option_without_its_value(lemel):
    heard = lemel("alloy", "Ag=1000", "--json", "--at")
    assert heard.code == 2
    assert heard.data["error"]["field"] == "--at"


def test_every_fault_of_a_file_is_told_and_not_only_the_first(lemel, tmp_path):
    path = _changed(
        tmp_path,
        "melt.toml",
        ("mass_g = 88.20", "mass_g = -1"),
        ("power_w = 1200", "power_w = 0"),
        ("volume_cm3 = 110", "volume_cm = 110"),
    )
    assert len(_told(lemel, "melt", path)) == 4
