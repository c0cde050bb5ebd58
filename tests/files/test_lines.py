"""The line on which a key stands, for naming faults."""

from __future__ import annotations

import json

from hypothesis import given
from hypothesis import strategies as st

from lemel.files.locate import lines_of_json, lines_of_toml

TOML = '''\
format = "x"
owners = { a = "A", b = "B" }

[rules]
promise = 99     # [not, a, header]
text = """
[[mould]]
id = "no"
"""

[[mould]]
id = "first"
preheat = [
  150,
  200,
]

[[mould]]
id = "second"
[mould.own]
h = 3
[[mould.fault]]
kind = "pipe"
'''


def test_toml_tables_lists_and_inline_tables_have_their_lines():
    lines = lines_of_toml(TOML)
    assert lines["owners", "b"] == 2
    assert lines["rules", "promise"] == 5
    assert lines["mould", 0, "id"] == 12
    assert lines["mould", 0, "preheat"] == 13
    assert lines["mould", 1, "id"] == 19
    assert lines["mould", 1, "own", "h"] == 21
    assert lines["mould", 1, "fault", 0, "kind"] == 23


def test_what_stands_in_a_long_text_is_no_header():
    assert ("mould", 2) not in lines_of_toml(TOML)


def test_json_members_and_entries_have_their_lines():
    text = '{\n "lots": [\n  {"id": "a",\n   "mass": 1},\n  {"id": "b"}\n ],\n "n": 3\n}'
    lines = lines_of_json(text)
    assert lines["lots", 0, "id"] == 3
    assert lines["lots", 0, "mass"] == 4
    assert lines["lots", 1, "id"] == 5
    assert lines["n",] == 7


def _ways(data, way=()):
    yield way
    if isinstance(data, dict):
        for key, item in data.items():
            yield from _ways(item, (*way, key))
    elif isinstance(data, list):
        for position, item in enumerate(data):
            yield from _ways(item, (*way, position))


KEYS = st.text(alphabet="abcdef_", min_size=1, max_size=4)
DATA = st.recursive(
    st.one_of(st.integers(), st.booleans(), st.none(), st.text(max_size=5)),
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(KEYS, inner, max_size=3)),
    max_leaves=12,
)


@given(st.dictionaries(KEYS, DATA, max_size=4), st.sampled_from([None, 1]))
def test_every_way_into_a_json_text_has_a_line(data, indent):
    text = json.dumps(data, indent=indent)
    lines = lines_of_json(text)
    assert set(_ways(data)) <= set(lines)
    assert max(lines.values()) <= text.count("\n") + 1


@given(st.text(max_size=200))
def test_finding_lines_never_fails_whatever_the_text(text):
    lines_of_toml(text)
    lines_of_json(text)
