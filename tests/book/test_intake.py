"""Bags from a CSV or a spreadsheet: looked over row by row, then all of them or none."""

from __future__ import annotations

from io import BytesIO

import openpyxl
import pytest

from lemel.book import take_bags
from lemel.demo import quillmarsh
from lemel.errors import BadInput
from lemel.files import read_bags, read_plan

HEADER = ["lot", "owner", "metal", "form", "mass_g", "stated", "received_on"]
GOOD = ["B1", "ada", "Ag", "offcut", 12.5, "Ag=925 Cu=75", "2031-10-02"]


def csv_of(*rows, kind="lots", header=HEADER):
    lines = [f'# format = "lemel-{kind} 1"', ",".join(header)]
    return "\n".join([*lines, *(",".join(map(str, row)) for row in rows)]).encode()


def sheet_of(**tables):
    made = openpyxl.Workbook()
    made.remove(made.active)
    for name, rows in tables.items():
        sheet = made.create_sheet(name)
        for row in rows:
            sheet.append(row)
    sink = BytesIO()
    made.save(sink)
    return sink.getvalue()


def test_a_csv_and_a_spreadsheet_say_the_same(book):
    readings = [["reading", "on", "method", "fineness"], ["r1", "B1", "xrf-hand-abraded", 921]]
    by_csv = read_bags("bags.csv", csv_of(GOOD))
    by_sheet = read_bags("bags.xlsx", sheet_of(lots=[HEADER, GOOD], readings=readings))
    assert [lot for lot, _ in by_csv.lots] == [lot for lot, _ in by_sheet.lots]
    assert by_sheet.readings[0][0].on == "B1"
    done = take_bags(book, by_sheet)
    assert done.written
    assert [lot.id for lot in book.lots()] == ["B1"]
    assert [one.id for one in book.readings("B1")] == ["r1"]


def test_every_problem_is_told_by_its_row_and_nothing_is_written(book):
    rows = [
        GOOD,
        ["B2", "nobody", "Ag", "offcut", 3, "", ""],
        ["B3", "ada", "Xx", "offcut", -1, "", ""],
        GOOD,
        ["B5", "ada", "Ag", "offcut", 3, "", "yesterday"],
    ]
    done = take_bags(book, read_bags("bags.csv", csv_of(*rows)))
    said = [fault.field for fault in done.faults]
    assert [line for line in range(3, 8) if any(f"line {line}" in one for one in said)] == [
        4, 5, 6, 7,
    ]  # fmt: skip
    assert len([one for one in said if "line 5" in one]) == 2
    assert not done.written
    assert book.lots() == ()
    assert book.head()[0] == 0


def test_a_dry_run_finds_nothing_wrong_and_writes_nothing(book):
    bags = read_bags("bags.csv", csv_of(GOOD))
    done = take_bags(book, bags, dry_run=True)
    assert (done.faults, done.written) == ((), False)
    assert book.lots() == ()
    assert take_bags(book, bags).written
    again = take_bags(book, bags)
    assert [fault.value for fault in again.faults] == ["B1"]


def test_the_months_own_files_are_taken_in_like_the_month(book):
    month = read_plan(quillmarsh())
    metals = {lot.id: lot.main for lot in month.lots}
    for name in ("lots.csv", "readings.csv"):
        bags = read_bags(quillmarsh() / name, metals=metals)
        assert bags.faults == ()
        assert take_bags(book, bags, owners=month.workshop.owners).written
    assert {lot.id for lot in book.lots()} == {lot.id for lot in month.lots}
    assert len(book.readings()) == len(month.readings)


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("bags.xlsx", b"no spreadsheet"),
        ("bags.xlsx", sheet_of(other=[["a"]])),
        ("bags.csv", b"\xff\xfe\x00"),
    ],
)
def test_a_file_that_is_no_such_file_is_refused_by_name(name, data):
    with pytest.raises(BadInput, match=r"bags\."):
        read_bags(name, data)


def test_a_spreadsheet_that_unpacks_to_a_mountain_is_refused():
    import zipfile

    sink = BytesIO()
    with zipfile.ZipFile(sink, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/worksheets/sheet1.xml", b" " * 101_000_000)
    with pytest.raises(BadInput, match="unpacked"):
        read_bags("bags.xlsx", sink.getvalue())
