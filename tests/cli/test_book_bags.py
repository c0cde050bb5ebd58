"""`lemel book take-in` and the backups that nobody has to think of."""

from __future__ import annotations

import pytest

from lemel.book import open_book

HEAD = '# format = "lemel-lots 1"\nlot,owner,metal,form,mass_g,stated\n'
BAG = "B1,lena,Ag,offcut,12.5,Ag=925 Cu=75\n"


@pytest.fixture
def place(tmp_path):
    with open_book(tmp_path / "book", create=True) as book:
        book.enter_owners({"ada": "Ada"})
    return tmp_path / "book"


@pytest.fixture
def bags(tmp_path):
    file = tmp_path / "bags.csv"
    file.write_text(HEAD + BAG)
    return file


def held(place):
    with open_book(place) as book:
        return {lot.id: lot.mass_g for lot in book.lots()}


def test_a_dry_run_tells_what_would_come_in_and_writes_nothing(lemel, place, bags):
    words = ("book", "take-in", bags, "--new-owner", "lena=Lena", "--book", place)
    told = lemel(*words, "--look-over", "--json").data
    assert (told["lots"], told["mass_g"], told["written"]) == (["B1"], 12.5, False)
    assert held(place) == {}
    assert lemel(*words, "--json").data["written"]
    assert held(place) == {"B1": 12.5}


def test_every_fault_is_told_by_its_row_and_nothing_is_written(lemel, place, bags):
    bags.write_text(HEAD + BAG + "B2,ada,Ag,offcut,-3,\n" + "B3,ada,Ag,offcut,3,\n")
    said = lemel("book", "take-in", bags, "--book", place, "--json")
    assert said.code == 2
    fields = [one["field"] for one in said.data["errors"]]
    assert any("line 3" in one for one in fields)
    assert any("line 4" in one for one in fields)
    assert held(place) == {}


def test_a_readings_file_may_come_with_its_bags_in_any_order(lemel, place, bags, tmp_path):
    readings = tmp_path / "readings.csv"
    readings.write_text(
        '# format = "lemel-readings 1"\nreading,on,method,fineness\nr1,B1,xrf-hand-abraded,921\n'
    )
    words = (readings, bags, "--new-owner", "lena=Lena", "--book", place, "--json")
    assert lemel("book", "take-in", *words).data["readings"] == ["r1"]


def test_the_first_change_of_a_day_makes_its_backup_and_a_look_makes_none(lemel, place, bags):
    words = ("book", "take-in", bags, "--new-owner", "lena=Lena", "--book", place)
    lemel(*words)
    lemel("book", "balance", "--book", place)
    assert lemel("book", "backups", "--book", place, "--json").data["backups"] == []
    lemel("book", "place", "B1", "drawer 2", "--book", place)
    lemel("book", "place", "B1", "drawer 3", "--book", place)
    [kept] = lemel("book", "backups", "--book", place, "--json").data["backups"]
    assert kept["made"] == "daily"
    lemel("book", "backup", "--book", place)
    made = [
        one["made"] for one in lemel("book", "backups", "--book", place, "--json").data["backups"]
    ]
    assert sorted(made) == ["by hand", "daily"]


def test_a_backup_that_cannot_be_made_is_said_and_the_bench_goes_on(
    lemel, place, bags, monkeypatch
):
    lemel("book", "take-in", bags, "--new-owner", "lena=Lena", "--book", place)

    def full(*_):
        raise OSError("no space left")

    monkeypatch.setattr("lemel.book.safe.backup", full)
    said = lemel("book", "place", "B1", "drawer 2", "--book", place)
    assert "no space left" in said.err
