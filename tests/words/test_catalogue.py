"""Every code that a room says has words, and no words wait for a code that nobody says."""

from __future__ import annotations

import ast
import re

from lemel.words import codes, template
from tests.house.reading import SOURCE, Module, agree, calls, modules, pattern_of, texts

#: Words that stand for themselves, each with why.
MARKED = {"house.example.mass": "the example of the catalogue's own page and tests"}
CODE = re.compile(r"[a-z_]+(\.[a-z0-9_\-]+)+")


def _said(module: Module) -> list[tuple[str, int]]:
    """Codes (\\0 where a value goes) that a module gives to a Saying, Objection or Caution."""
    found = []
    for call in calls(module, {"Saying", "Objection", "Caution"}):
        given = [k.value for k in call.keywords if k.arg == "code"] or call.args[:1]
        for node in given:
            choices = [node.body, node.orelse] if isinstance(node, ast.IfExp) else [node]
            found += [(pattern_of(choice), call.lineno) for choice in choices]
    return [(code, line) for code, line in found if code]


def _fits(pattern: str, code: str) -> bool:
    gaps = "[a-z0-9_.-]+".join(re.escape(part) for part in pattern.split("\0"))
    return re.fullmatch(gaps, code) is not None


def test_every_code_that_is_said_has_words():
    known = codes()
    agree(
        f"{module.place}:{line} {code!r}"
        for module in modules()
        for code, line in _said(module)
        if not any(_fits(code, one) for one in known)
    )


def test_no_words_wait_for_a_code_that_nobody_says():
    literal: set[str] = set()
    patterns: set[str] = set()
    for module in modules():
        for text in texts(module):
            if "\0" in text and CODE.fullmatch(text.replace("\0", "x")):
                patterns.add(text)
            literal.add(text)
    for path in [*SOURCE.rglob("data/*.csv"), *SOURCE.rglob("data/*.json")]:
        literal |= set(re.split(r'[\s,;"]+', path.read_text("utf-8")))
    agree(
        code
        for code in codes()
        if code not in literal
        and code not in MARKED
        and not (code.endswith(".do") and code.removesuffix(".do") in codes())
        and not any(_fits(pattern, code) for pattern in patterns)
    )


def test_words_are_plain_sentences():
    for code in codes():
        text = template(code) or ""
        assert "  " not in text, code
        assert not re.search(r"\b(please|sorry|oops|invalid|illegal)\b", text, re.IGNORECASE), code
        assert "!" not in text, code


def test_each_code_lies_in_its_rooms_file():
    for path in (SOURCE / "words" / "en").glob("*.toml"):
        for line in path.read_text("utf-8").splitlines():
            found = re.match(r'"([a-z_]+)\.', line)
            if found:
                assert found[1] == path.stem, f"{path.name}: {line[:60]}"
