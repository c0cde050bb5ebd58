"""`lemel alloy --plot` keeps one whole drawing, or says why it cannot."""

from __future__ import annotations

import subprocess
import sys
from xml.etree import ElementTree

import pytest

STERLING = ("alloy", "Ag=925", "Cu=75")


def test_section_and_liquid_share_lie_in_one_file_and_the_answer_says_where(lemel, tmp_path):
    path = tmp_path / "sterling.svg"
    heard = lemel(*STERLING, "--at", "850", "--plot", path, "--json")
    assert heard.code == 0
    assert heard.data["plot"] == str(path)
    text = path.read_text("utf-8")
    ElementTree.fromstring(text)
    for word in (">solidus, as cast<", ">850 °C<", ">metal as cast<"):
        assert word in text
    assert [one.name for one in tmp_path.iterdir()] == ["sterling.svg"]


def test_people_are_told_where_it_lies(lemel, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    heard = lemel(*STERLING, "--plot", "a.svg")
    assert "a.svg" in heard.out
    assert (tmp_path / "a.svg").is_file()


def test_without_the_option_there_is_no_such_key(lemel):
    assert "plot" not in lemel(*STERLING, "--json").data


@pytest.mark.parametrize("name", ["nowhere/a.svg", "a.png", "", "folder", "folder.svg"])
def test_a_place_that_cannot_be_is_named_as_the_field_plot(lemel, tmp_path, name):
    for folder in ("folder", "folder.svg"):
        (tmp_path / folder).mkdir()
    heard = lemel(*STERLING, "--plot", tmp_path / name if name else "", "--json")
    assert heard.code == 2
    assert heard.data["error"]["field"] == "plot"
    assert sorted(one.name for one in tmp_path.iterdir()) == ["folder", "folder.svg"]


def test_a_disk_that_refuses_leaves_the_old_plot_whole(lemel, tmp_path, monkeypatch):
    path = tmp_path / "a.svg"
    path.write_text("old")

    def full(*_args, **_kwargs):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fdopen", full)
    heard = lemel(*STERLING, "--plot", path, "--json")
    assert heard.code == 2
    assert heard.data["error"]["field"] == "plot"
    assert path.read_text() == "old"
    assert list(tmp_path.iterdir()) == [path]


def test_without_a_plot_no_plotting_library_is_loaded():
    code = (
        "import sys, io, contextlib\n"
        "from lemel.cli import run\n"
        "with contextlib.redirect_stdout(io.StringIO()):\n"
        "    run(['alloy', 'Ag=925', 'Cu=75', '--json'])\n"
        "print([m for m in ('matplotlib', 'numpy', 'lemel.sketch') if m in sys.modules])\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
