"""The page about the command line knows every verb, option, exit code and variable."""

from __future__ import annotations

import re
from pathlib import Path

import click
import pytest

from lemel.cli.run import cli
from lemel.cli.verbs import VERBS

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "docs" / "cli.md").read_text("utf-8")
#: Options that only give a size of a piece; `lemel blank --help` lists them.
SIZES = {"--inside", "--length", "--diameter", "--wire", "--profile", "--count", "--kerf"}


@pytest.mark.parametrize("verb", VERBS)
def test_a_verb_and_its_options_are_on_the_page(verb):
    assert f"`lemel {verb}" in PAGE
    command = cli.get_command(click.Context(cli), verb)
    options = {one for param in command.params for one in param.opts if one.startswith("--")}
    assert not [one for one in options - SIZES if one not in PAGE]


@pytest.mark.parametrize("verb", VERBS)
def test_a_verb_says_in_one_line_what_it_is_for(verb):
    assert VERBS[verb][1].endswith(".")
    assert len(VERBS[verb][1]) < 70


def test_every_exit_code_is_on_the_page():
    assert re.findall(r"^\| (\d+) \|", PAGE, re.M) == ["0", "2", "3", "1", "130"]


def test_every_variable_of_the_environment_is_on_the_page():
    code = " ".join(path.read_text() for path in (ROOT / "src" / "lemel" / "cli").glob("*.py"))
    assert not [name for name in set(re.findall(r"LEMEL_[A-Z]+", code)) if name not in PAGE]
