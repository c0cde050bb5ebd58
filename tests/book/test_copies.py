"""Backup, restore, export, import: the copy is the book, or it is refused."""

from __future__ import annotations

import json
import zipfile
from pathlib import Path

import pytest

from lemel.book import Account, open_book, restore
from lemel.errors import BadInput

from .conftest import NOON, clock


def worked(book, plan):
    """A heat poured and one bar milled: every table has rows."""
    book.accept(plan)
    book.charge(plan.id, "H1", by="leif")
    book.molten(plan.id, "H1")
    book.pour(plan.id, "H1")
    book.work(plan.id, "mill H1-1")
    book.stock_take(Account("shop", "store", "S5"), 418.0)
    return book


def test_a_backup_is_the_book_again(stocked, plan, tmp_path):
    worked(stocked, plan)
    (stocked.folder / "photos" / "mark.txt").write_text("lion passant")
    path, found = stocked.backup()
    assert found.whole
    assert path.parent == stocked.folder / "backups"
    assert path.stat().st_mode & 0o777 == 0o600
    restored = restore(path, tmp_path / "again")
    assert (restored.entries, restored.head) == stocked.head()
    with open_book(tmp_path / "again") as again:
        assert again.export() == stocked.export()
        assert again.balances() == stocked.balances()
        assert (again.folder / "photos" / "mark.txt").read_text() == "lion passant"
        assert (again.folder / "secret").read_text() != (stocked.folder / "secret").read_text()


def test_a_backup_that_was_changed_is_refused(stocked, tmp_path):
    path, _ = stocked.backup()
    with zipfile.ZipFile(path) as packed:
        data = packed.read("book.sqlite3")
        manifest = packed.read("manifest.json")
    mark = data.index(b"weigh_in S1")
    bad = tmp_path / "bad.zip"
    with zipfile.ZipFile(bad, "w") as packed:
        packed.writestr("manifest.json", manifest)
        packed.writestr("book.sqlite3", data[:mark] + b"W" + data[mark + 1 :])
    with pytest.raises(BadInput, match="passes its audit"):
        restore(bad, tmp_path / "again")
    assert not (tmp_path / "again").exists()


def test_a_backup_of_an_earlier_day_under_a_later_manifest_is_refused(stocked, tmp_path):
    early, _ = stocked.backup(tmp_path / "early.zip")
    stocked.stock_take(Account("shop", "store", "S5"), 418.0)
    late, _ = stocked.backup(tmp_path / "late.zip")
    mixed = tmp_path / "mixed.zip"
    with zipfile.ZipFile(mixed, "w") as packed:
        packed.writestr("manifest.json", zipfile.ZipFile(late).read("manifest.json"))
        packed.writestr("book.sqlite3", zipfile.ZipFile(early).read("book.sqlite3"))
    with pytest.raises(BadInput, match="passes its audit"):
        restore(mixed, tmp_path / "again")


@pytest.mark.parametrize("name", ["../out.txt", "/out.txt"])
def test_a_zip_that_would_write_elsewhere_is_refused(stocked, tmp_path, name):
    path, _ = stocked.backup()
    with zipfile.ZipFile(path, "a") as packed:
        packed.writestr(name, "x")
    with pytest.raises(BadInput, match="no backup of a book"):
        restore(path, tmp_path / "again")


def test_a_book_is_not_restored_over_another(stocked):
    path, _ = stocked.backup()
    with pytest.raises(BadInput, match="a folder without a book"):
        restore(path, stocked.folder)


def test_what_is_exported_makes_an_identical_book(stocked, plan, tmp_path):
    worked(stocked, plan)
    text = json.dumps(stocked.export())
    with open_book(tmp_path / "again", create=True, clock=clock) as again:
        found = again.read_in(json.loads(text))
        assert (found.entries, found.head) == stocked.head()
        assert json.dumps(again.export()) == text
        assert again.balances() == stocked.balances()
        assert again.plan(plan.id) == plan
        assert again.work(plan.id, "mill H1-2").entry


def test_an_export_that_was_changed_is_not_taken_in(stocked, tmp_path):
    data = stocked.export()
    posting = data["entry"][3]["postings"][0]
    posting[1] += 1
    with open_book(tmp_path / "again", create=True) as again:
        with pytest.raises(BadInput):
            again.read_in(data)
        assert again.balances() == {}
        assert again.owners() == {}


def test_an_export_with_a_moved_gram_that_balances_is_not_taken_in(stocked, tmp_path):
    data = stocked.export()
    data["entry"][3]["about"] = "S99"
    with open_book(tmp_path / "again", create=True) as again:
        with pytest.raises(BadInput, match=r"book\.audit\.changed"):
            again.read_in(data)
        assert again.head() == (0, "")


def test_a_book_in_use_takes_nothing_in(stocked):
    with pytest.raises(BadInput, match="not empty"):
        stocked.read_in(stocked.export())


def test_an_hour_is_written_in_one_way(stocked):
    assert stocked.now() == NOON.strftime("%Y-%m-%dT%H:%M:%SZ")


def test_a_book_of_the_first_schema_is_read_for_ever(tmp_path):
    """The sample is never written anew: later schemas must still read it."""
    sample = json.loads((Path(__file__).parent / "samples" / "lemel-book-1.json").read_text())
    with open_book(tmp_path / "old", create=True) as book:
        found = book.read_in(sample)
        assert found.whole
        assert found.head == "071cebeb107f5897df6bfc476bfdfd0dc526d87383f60b23cb8d6b4f11c9aa1e"
        assert book.held(Account("ada", "store", "C1")).gross_mg == 87_910
        assert book.held(Account("shop", "store", "copper")).gross_mg == 0
        assert [one.by for one in book.readings()] == ["bo"]
        assert book.purchases()[0].seller == "Orla Fenwick"
