"""Labels: readable codes of the id, all words on them, sheets that are filled place by place."""

from __future__ import annotations

import pypdfium2
import pytest

from lemel.cards import LABEL_SIZES, Label, label_pdf
from lemel.errors import BadInput

BAG = Label("S4", "Corvalho", "old tray, cut", "41.20 g", "919 +- 4", ("lead solder: keep apart",))


def text_of(pdf):
    pages = pypdfium2.PdfDocument(pdf)
    return [page.get_textpage().get_text_range() for page in pages]


def test_a_label_says_whose_what_and_how_much():
    [page] = text_of(label_pdf([BAG]))
    for word in ("S4", "Corvalho", "old tray, cut", "41.20 g", "919", "lead solder"):
        assert word in page


@pytest.mark.parametrize("size", list(LABEL_SIZES))
def test_a_sheet_is_filled_and_then_the_next_begun(size):
    room = LABEL_SIZES[size].across * LABEL_SIZES[size].down
    many = [Label(f"L{n}", "house", "wire", "1.00 g") for n in range(room + 1)]
    assert len(text_of(label_pdf(many[:-1], size))) == 1
    assert len(text_of(label_pdf(many, size))) == 2
    assert len(text_of(label_pdf(many[:-1], size, skip=1))) == 2


def test_a_label_of_a_plans_bar_shows_the_short_id_and_codes_the_whole():
    [page] = text_of(label_pdf([Label("plan-1/H1-2", "house", "bar", "88.00 g")], "bar"))
    assert "H1-2" in page
    assert "plan-1" not in page


def test_the_same_labels_give_the_same_bytes():
    assert label_pdf([BAG]) == label_pdf([BAG])


@pytest.mark.parametrize(
    ("made", "size", "skip"), [([], "bag", 0), ([BAG], "crate", 0), ([BAG], "bag", 24)]
)
def test_what_cannot_be_printed_is_refused_by_name(made, size, skip):
    with pytest.raises(BadInput):
        label_pdf(made, size, skip=skip)
