"""Reading the words of all rooms into one catalogue per language."""

from __future__ import annotations

import string
import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Any

from lemel.errors import BadInput, Broken

__all__ = ["LANGUAGES", "codes", "placeholders", "template"]

LANGUAGES = ("en",)


def codes(language: str = "en") -> tuple[str, ...]:
    """Every code that has words, sorted."""
    return tuple(sorted(_catalogue(language)))


def template(code: str, language: str = "en") -> str | None:
    """The words of a code with their placeholders in braces; None where there are none."""
    return _catalogue(language).get(code)


@cache
def placeholders(text: str) -> tuple[str, ...]:
    """The names in braces, in order of appearance, each once."""
    names = (name for _, name, _, _ in string.Formatter().parse(text) if name is not None)
    return tuple(dict.fromkeys(names))


@cache
def _catalogue(language: str) -> Mapping[str, str]:
    if language not in LANGUAGES:
        raise BadInput("language", language, ", ".join(LANGUAGES), "Choose one of these.")
    folder = resources.files("lemel.words") / language
    words: dict[str, str] = {}
    home: dict[str, str] = {}
    for file in sorted(folder.iterdir(), key=lambda entry: entry.name):
        if not file.name.endswith(".toml"):
            continue
        for code, text in _flat(tomllib.loads(file.read_text("utf-8"))):
            if code in words:
                raise Broken(f"the code {code} has words in {home[code]} and in {file.name}")
            words[code], home[code] = text, file.name
    return MappingProxyType(words)


def _flat(table: Mapping[str, Any], under: str = "") -> Iterator[tuple[str, str]]:
    """Codes written flat in quotes, as dotted keys or as sections all mean the same."""
    for key, value in table.items():
        code = f"{under}{key}"
        if isinstance(value, Mapping):
            yield from _flat(value, f"{code}.")
        elif isinstance(value, str):
            yield code, value
        else:
            raise Broken(f"the words of {code} are not a text")
