"""A month's folder: the five files together, each fault with its file and line."""

from __future__ import annotations

import csv
import io
import shutil

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lemel.demo import examples, quillmarsh
from lemel.errors import BadInput
from lemel.files import read_plan, read_plan_folder


@pytest.fixture
def folder(tmp_path):
    return shutil.copytree(quillmarsh(), tmp_path / "month")


def _change(folder, name, *changes):
    path = folder / name
    text = path.read_text("utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    path.write_text(text, "utf-8")


def _fields(folder):
    with pytest.raises(BadInput) as told:
        read_plan_folder(folder)
    return [str(fault.field) for fault in told.value.all]


def test_faults_of_all_five_files_come_at_once(folder):
    _change(folder, "workshop.toml", ("power_w = 1200", "power_w = 0"))
    _change(folder, "lots.csv", ("186.40", "-186.40"))
    _change(folder, "readings.csv", ("S1-1,S1,sheet-cert,925", "S1-1,S1,sheet-cert,92500"))
    _change(folder, "orders.toml", ('what = "bangle"', 'what = "bracelet"'))
    _change(folder, "prices.toml", ('currency = "QMK"', "currency = 7"))
    assert _fields(folder) == [
        "prices.toml line 3, currency",
        "workshop.toml line 38, furnace[1].power_w",
        "lots.csv line 3, mass_g",
        "readings.csv line 3, fineness",
        "orders.toml line 24, order[2].line[1].what",
    ]


@pytest.mark.parametrize(
    ("name", "old", "new", "field", "value"),
    [
        ("lots.csv", "S2,shop,", "S1,shop,", "lots.csv line 4, lot", "S1"),
        ("lots.csv", "S2,shop,", "S2,nobody,", "lots.csv line 4, owner", "nobody"),
        ("readings.csv", "S2-1,S2", "S2-1,S99", "readings.csv line 4, on", "S99"),
        ("readings.csv", "S2-1,S2", "S1-1,S2", "readings.csv line 4, reading", "S1-1"),
        ("orders.toml", '["G8"]', '["G99"]', "use_lots", "G99"),
        ("orders.toml", 'owner = "ostervelt"', 'owner = "oster"', "owner", "oster"),
        ("orders.toml", 'id = "O2"', 'id = "O1"', "order", "O1.1"),
        ("workshop.toml", 'house = "shop"', 'house = "barn"', "line 6, house", "barn"),
        ("workshop.toml", 'id = "dish Ag"', 'id = "graphite S"', "crucibles.id", "graphite S"),
        ("workshop.toml", 'cavity = "square 6 mm"', 'cavity = "6 mm"', "mould[2].cavity", "6 mm"),
        ("workshop.toml", "promise_percent = 99", "promise_percent = 30",
         "workshop.toml line 16, rules.promise_percent", "30.0"),
    ],
)  # fmt: skip
def test_what_does_not_fit_together_is_told_where_it_stands(folder, name, old, new, field, value):
    _change(folder, name, (old, new))
    with pytest.raises(BadInput) as told:
        read_plan_folder(folder)
    assert any(field in f.field and str(f.value) == value for f in told.value.all)
    assert len(told.value.all) <= 2


def test_prices_and_readings_may_be_missing(folder):
    (folder / "prices.toml").unlink()
    (folder / "readings.csv").unlink()
    month = read_plan_folder(folder)
    assert month.workshop.prices is None
    assert month.readings == ()


def test_a_list_of_sizes_is_one_line_each_and_the_rest_is_shared():
    rings = [line for line in read_plan_folder(quillmarsh()).orders if line.order == "O1"]
    assert [line.sizes["size"] for line in rings] == [f"ISO {n}" for n in range(50, 61, 2)]
    assert [line.id for line in rings] == [f"O1.{n}" for n in range(1, 7)]
    assert {line.sizes["width_mm"] for line in rings} == {5.0}


def test_lines_come_by_due_date():
    days = [line.due_on for line in read_plan_folder(quillmarsh()).orders]
    assert days == sorted(days)


def test_a_size_that_the_piece_has_no_use_for_is_refused(folder):
    _change(folder, "orders.toml", ("diameter_mm = 28", "diameter_mm = 28\nwidth_mm = 3"))
    assert _fields(folder) == ["orders.toml line 39, order[3].line[1].width_mm"]


def test_a_folder_in_place_of_a_file_and_a_file_in_place_of_a_folder_are_both_read():
    assert read_plan(quillmarsh()) == read_plan_folder(quillmarsh())
    assert read_plan(examples() / "plan.toml").orders
    with pytest.raises(BadInput):
        read_plan_folder(examples() / "plan.toml")


@pytest.mark.parametrize("name", ["lots.csv", "readings.csv"])
def test_a_spoilt_cell_is_read_or_refused_and_nothing_else(folder, name):
    path = folder / name
    head, *lines = path.read_text("utf-8").splitlines()
    rows = list(csv.reader(lines))

    @settings(max_examples=60)
    @given(
        st.integers(1, len(rows) - 1),
        st.integers(0, len(rows[0]) - 1),
        st.one_of(
            st.text(max_size=12),
            st.sampled_from(["-1", "1e400", "nan", "Ag", "Ag=", "yes", "no: ", ";", "2026-13-01"]),
        ),
    )
    def spoil(row, column, cell):
        changed = [list(one) for one in rows]
        changed[row][column] = cell
        text = io.StringIO()
        csv.writer(text, lineterminator="\n").writerows(changed)
        path.write_text(f"{head}\n{text.getvalue()}", "utf-8")
        try:
            read_plan_folder(folder)
        except BadInput as fault:
            told = fault.all
        else:
            told = ()
        assert all(one.field and one.allowed and one.do for one in told)

    spoil()
