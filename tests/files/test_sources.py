"""Files that cannot be read, and rows of CSV as spreadsheets write them."""

from __future__ import annotations

import io
import sys
from types import SimpleNamespace

import pytest

from lemel.errors import BadInput
from lemel.files import read_believe, read_data, read_plan_folder
from lemel.files.source import MOST_BYTES, rows_of


def _written(folder, name, content):
    path = folder / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("a.toml", "x = ", "TOML that can be read"),
        ("a.toml", "x = 1\nx = 2", "TOML that can be read"),
        ("a.json", '{"x": 1,}', "JSON that can be read"),
        ("a.json", '{"x": 1, "x": 2}', "each key once"),
        ("a.json", '{"x": NaN}', "finite numbers"),
        ("a.json", '{"x": Infinity}', "finite numbers"),
        ("a.json", '{"x": ' + "[" * 100_000 + "]" * 100_000 + "}", "can be read"),
        ("a.json", '{"x": ' + "9" * 10_000 + "}", "JSON that can be read"),
        ("a.toml", "x = " + "9" * 10_000, "TOML that can be read"),
        ("a.json", b"\xff\xfe{}", "UTF-8"),
        ("a.json", "[1, 2]", "an object at the top"),
        ("a.toml", b"\x00\x01", "TOML that can be read"),
    ],
)
def test_a_file_that_cannot_be_read_is_bad_input(tmp_path, name, content, words):
    with pytest.raises(BadInput, match=words):
        read_data(_written(tmp_path, name, content))


def test_json_faults_name_the_line(tmp_path):
    with pytest.raises(BadInput) as told:
        read_data(_written(tmp_path, "a.json", '{\n"x": 1\n"y": 2}'))
    assert told.value.field == "a.json line 3"


def test_a_missing_file_and_a_folder_in_its_place_are_bad_input(tmp_path):
    for path in (tmp_path / "none.toml", tmp_path):
        with pytest.raises(BadInput):
            read_data(path)


def test_a_file_beyond_all_measure_is_refused(tmp_path):
    path = _written(tmp_path, "a.toml", b"#" * (MOST_BYTES + 1))
    with pytest.raises(BadInput, match="Split it"):
        read_data(path)


def test_a_dash_reads_stdin(monkeypatch):
    text = b'{"lot": "A", "mass_g": 3, "metal": "Ag", "readings": []}'
    monkeypatch.setattr(sys, "stdin", SimpleNamespace(buffer=io.BytesIO(text)))
    assert read_believe("-").lots[0].id == "A"


def test_a_byte_order_mark_is_not_part_of_the_text(tmp_path):
    data, _ = read_data(_written(tmp_path, "a.toml", b"\xef\xbb\xbfx = 1"))
    assert data == {"x": 1}


HEAD = '# format = "lemel-lots 1"'


@pytest.mark.parametrize(
    "text",
    [
        f"{HEAD}\nlot,note\nA,3\n",
        f"{HEAD}\nlot;note\nA;3\n",
        f"{HEAD}\nlot\tnote\nA\t3\n",
        f"{HEAD},,\r\n\r\nlot,note\r\n# said\r\nA,3\r\n,,\r\n",
        '"# format = ""lemel-lots 1""",,\nlot,note\nA,3\n',
    ],
)
def test_rows_are_read_as_spreadsheets_write_them(text):
    assert [row for row, _ in rows_of(text, "lots.csv", "lots")] == [{"lot": "A", "note": "3"}]


def test_a_row_knows_its_line():
    rows = list(rows_of(f"{HEAD}\nlot,note\n\nA,3\n", "lots.csv", "lots"))
    assert str(rows[0][1].at("note")) == "lots.csv line 4, note"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "Make this the first line"),
        ("lot,note\nA,3", "Make this the first line"),
        ('# format = "lemel-lots 2"\nlot\nA', "Make this the first line"),
        (HEAD, "Name the columns"),
        (f"{HEAD}\nlot,lot\nA,B", "each column once"),
        (f"{HEAD}\nlot,note\nA,3,4", "2 cells"),
        (f'{HEAD}\nlot,note\n"A,3', "Mend the quotes"),
    ],
)
def test_tables_that_are_out_of_shape_are_refused(text, words):
    with pytest.raises(BadInput, match=words):
        list(rows_of(text, "lots.csv", "lots"))


def test_a_folder_without_the_files_names_each_of_them(tmp_path):
    with pytest.raises(BadInput) as told:
        read_plan_folder(tmp_path)
    named = " ".join(str(fault.field) for fault in told.value.all)
    for name in ("workshop.toml", "lots.csv", "orders.toml"):
        assert name in named
