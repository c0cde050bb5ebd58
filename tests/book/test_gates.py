"""Questions before a melt, and pictures of marks: answered by what was seen, kept as they were."""

from __future__ import annotations

import hashlib
from datetime import date

import pytest

from lemel.book import open_book
from lemel.errors import BadInput
from lemel.values import (
    Lot,
)

from .at_bench import STERLING, spoons

PNG = b"\x89PNG\r\n\x1a\n" + bytes(64)
JPEG = b"\xff\xd8\xff\xe0" + bytes(64)
WEBP = b"RIFF\x10\x00\x00\x00WEBPVP8 " + bytes(64)


class TestGates:
    def test_the_newest_answer_shows_and_the_earlier_ones_stay(self, book):
        book.weigh_in([spoons(flags={"magnet": "unknown"})])
        book.bench.answer_gate("L1", "magnet", "yes", seen="a steel pin pulls", by="bo")
        book.bench.answer_gate("L1", "magnet", "no", seen="pin is out", by="cy")
        assert book.lots()[0].flags["magnet"] == "no"
        assert [(a.answer, a.by) for a in book.bench.gate_answers("L1")] == [
            ("yes", "bo"), ("no", "cy"),
        ]  # fmt: skip

    def test_an_answer_says_what_was_seen_and_only_to_what_is_asked(self, book):
        book.weigh_in([spoons()])
        for gate, answer, seen in (
            ("magnet", "no", " "), ("magnet", "perhaps", "x"), ("luck", "no", "x"),
            ("consent_destroy", "no", "she said so"), ("hold_period", "no", "long ago"),
            ("remelt_count", "no", "x"),
        ):  # fmt: skip
            with pytest.raises(BadInput):
                book.bench.answer_gate("L1", gate, answer, seen=seen)
        assert book.bench.gate_answers("L1") == ()

    def test_what_is_open_ends_when_it_is_answered(self, book, month):
        book.bench.enter_workshop(month.workshop)
        lot = Lot(
            "S", "shop", "Ag", "jewellery", 30.0, scrap_class="maker_marked", stated=STERLING,
            received_on=date(2031, 1, 1),
        )  # fmt: skip
        book.weigh_in([lot])
        asked = {one.code.split(".")[2] for one in book.bench.open_gates("S")}
        assert "magnet" in asked
        for gate in asked - {"unknown_alloy"}:
            book.bench.answer_gate("S", gate, "no", seen="looked at under the lamp")
        assert book.bench.open_gates("S") == ()

    def test_a_trouble_found_after_the_plan_stops_the_charge_and_nothing_is_written(
        self, taken, plan
    ):
        taken.accept(plan)
        lot = next(x.body for x in plan.heats[0].charge.lines if x.kind == "lot")
        taken.bench.answer_gate(lot, "magnet", "yes", seen="filings jump to the magnet", by="cy")
        entries = taken.head()
        stopped = taken.charge(plan.id, plan.heats[0].id)
        assert stopped.entry is None
        assert [one.code for one in stopped.objections] == ["scrap.gate.magnet.yes"]
        assert taken.head() == entries
        taken.bench.answer_gate(lot, "magnet", "no", seen="sorted again", by="cy")
        assert taken.charge(plan.id, plan.heats[0].id).entry

    def test_a_mark_is_photographed_before_the_pot(self, taken, plan):
        taken.accept(plan)
        lot = next(x.body for x in plan.heats[0].charge.lines if x.kind == "lot")
        taken.bench.answer_gate(lot, "marks_unrecorded", "yes", seen="a lion and a date letter")
        stopped = taken.charge(plan.id, plan.heats[0].id)
        assert [one.code for one in stopped.objections] == ["scrap.gate.marks_unrecorded.yes"]
        taken.bench.keep_photo(lot, PNG, of="whole")
        assert taken.charge(plan.id, plan.heats[0].id).entry is None
        taken.bench.keep_photo(lot, JPEG, of="mark", by="bo")
        assert taken.charge(plan.id, plan.heats[0].id).entry
        assert taken.bench.gate_answers(lot)[-1].answer == "no"


class TestPhotographs:
    @pytest.mark.parametrize(
        ("data", "media"), [(PNG, "image/png"), (JPEG, "image/jpeg"), (WEBP, "image/webp")]
    )
    def test_a_picture_is_kept_by_its_digest_and_read_back(self, book, data, media):
        book.weigh_in([spoons()])
        kept = book.bench.keep_photo("L1", data, taken_on=date(2031, 10, 8), by="bo")
        assert kept.digest == hashlib.sha256(data).hexdigest()
        assert (book.folder / kept.file).read_bytes() == data
        assert book.bench.photo(kept.digest) == (data, media)
        assert book.bench.keep_photo("L1", data, taken_on=date(2031, 10, 8), by="bo") == kept
        assert book.bench.photos("L1") == (kept,)

    @pytest.mark.parametrize("data", [b"", b"GIF89a....", b"<svg/>", PNG + bytes(12 << 20)])
    def test_what_is_no_picture_or_too_large_is_refused_and_leaves_no_file(self, book, data):
        book.weigh_in([spoons()])
        with pytest.raises(BadInput, match="photo"):
            book.bench.keep_photo("L1", data)
        assert list((book.folder / "photos").iterdir()) == []
        with pytest.raises(BadInput, match="about"):
            book.bench.keep_photo("L9", PNG)

    def test_the_audit_misses_a_picture_that_is_gone_or_changed(self, book):
        book.weigh_in([spoons()])
        kept = book.bench.keep_photo("L1", PNG)
        assert book.audit().whole
        (book.folder / kept.file).write_bytes(PNG[:-1])
        [fault] = book.audit().faults
        assert (fault.code, fault.about) == ("book.audit.photo_changed", "L1")
        (book.folder / kept.file).unlink()
        [fault] = book.audit().faults
        assert fault.code == "book.audit.photo_missing"
        with pytest.raises(BadInput, match="audit"):
            book.bench.photo(kept.digest)

    def test_a_backup_brings_the_pictures_and_an_export_does_without(self, book, tmp_path):
        from lemel.book import restore

        book.weigh_in([spoons()])
        kept = book.bench.keep_photo("L1", PNG)
        zipped, _ = book.backup()
        assert restore(zipped, tmp_path / "restored").whole
        with open_book(tmp_path / "restored") as other:
            assert other.bench.photo(kept.digest)[0] == PNG
        with open_book(tmp_path / "imported", create=True) as other:
            assert other.read_in(book.export()).whole
            assert [f.code for f in other.audit().faults] == ["book.audit.photo_missing"]
