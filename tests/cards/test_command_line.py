"""Cards from the command line: charge cards of single heats, and paths that are told."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

import pytest

from tests.cards.paper import pages_of, plain
from tests.cli.speaking import Speaker


@pytest.fixture
def speak(capsys) -> Speaker:
    return Speaker(capsys)


def example(name: str) -> str:
    return str(resources.files("lemel.demo") / "examples" / name)


@pytest.mark.parametrize(
    ("verb", "file", "told"),
    [("melt", "melt.toml", "Set bench furnace"), ("blend", "blend.json", "No fire is planned")],
)
def test_a_single_heat_leaves_its_charge_card(speak, tmp_path, verb, file, told):
    done = speak(verb, example(file), "--cards", str(tmp_path), "--json")
    assert done.code == 0, done.err
    paths = done.data["cards"]
    assert paths
    for path in paths:
        (page,) = pages_of(Path(path).read_bytes())
        assert told in plain(page.text)


def test_without_a_folder_no_card_is_made(speak):
    done = speak("melt", example("melt.toml"), "--json")
    assert done.data["cards"] == []


def test_a_folder_that_cannot_be_written_is_bad_input(speak, tmp_path):
    (tmp_path / "file").write_text("", "utf-8")
    done = speak("melt", example("melt.toml"), "--cards", str(tmp_path / "file"), "--json")
    assert done.code == 2
    assert done.data["error"]["field"] == "--cards"
