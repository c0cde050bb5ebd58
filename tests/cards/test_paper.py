"""Papers for the desk: read back as a reader would."""

from __future__ import annotations

import pytest

from lemel.cards import Column, Facts, Leaf, Ruled, Sheet, Signed, Ticks, Tree, Words, paper_pdf
from lemel.errors import BadInput

from .paper import pages_of, plain

LONG = "plan-0112/H1-2-a-rest-of-the-second-bar/O10.1-and-its-offcut-scrap"


def rows(count):
    return tuple((f"L{n}", "spoon " * (n % 9), f"{n}.000", "") for n in range(1, count + 1))


def paper(count=60, last=()):
    columns = (Column("Lot", "short"), Column("What"), Column("Gross", "figures"),
               Column("Weighed", "pencil"))  # fmt: skip
    table = Ruled(columns, (("In the store",), *rows(count), ("All", "", "9.000", "")), "Metal", 1)
    return Sheet(
        "Receipt", "for Ada", (Facts((("Left by", "Ada"),)), table, *last), "R-0001", "foot"
    )


def test_a_long_list_goes_on_overleaf_under_the_same_heads():
    pages = pages_of(paper_pdf([paper(90)]))
    assert len(pages) > 2
    for page in pages:
        assert page.name.endswith("Receipt R-0001")
        assert "Lot" in page.text
        assert "Gross" in page.text
    assert [page.number for page in pages] == [(n, len(pages)) for n in range(1, len(pages) + 1)]
    told = plain(" ".join(page.text for page in pages))
    assert all(f"L{n}" in told for n in range(1, 91))


@pytest.mark.parametrize("count", range(28, 44))
def test_lines_to_sign_on_never_stand_alone_on_a_page(count):
    """Whatever the length of the list, what is signed for stands on the same page."""
    last = (Words(("This is what counts.",)), Signed(("Ada", "Bo"), "day, hour"))
    page = pages_of(paper_pdf([paper(count, last)]))[-1]
    assert "day, hour" in page.text
    assert "This is what counts." in page.text


def test_the_same_paper_is_the_same_bytes():
    assert paper_pdf([paper()]) == paper_pdf([paper()])


def test_nothing_runs_off_the_page_and_nothing_is_coloured():
    wide = Sheet(
        LONG, LONG,
        (Facts(((LONG, LONG),)), Words((LONG * 4,), LONG, "mind"), Words((LONG,), "", "stop"),
         Ticks((LONG * 3,)), Tree(tuple(Leaf(n, LONG, "41.200 g") for n in range(12)), "Way"),
         Ruled((Column("Heap", "short"), Column("Told"), Column("Gross", "figures")),
               ((LONG, LONG * 2, "1234.567"),)), Signed((LONG,), "day")),
        "R-0001", "foot",
    )  # fmt: skip
    for page in pages_of(paper_pdf([wide])):
        ink = page.ink.astype(int)
        assert (abs(ink[:, :, 0] - ink[:, :, 2]) <= 2).all()
        edge = round(ink.shape[1] * 8 / 210)
        assert (ink[:, -edge:] > 250).all()
        assert (ink[:, :edge] > 250).all()


def test_the_type_is_large_enough_to_read():
    sizes = {size for page in pages_of(paper_pdf([paper()])) for size in page.sizes}
    assert min(sizes) >= 10


def test_a_row_has_a_text_for_each_column():
    with pytest.raises(BadInput, match="Line them up"):
        Ruled((Column("a"), Column("b"), Column("c")), (("1", "2"),))
    with pytest.raises(BadInput):
        Column("a", "picture")
    with pytest.raises(BadInput):
        Words(("a",), "", "loud")
    with pytest.raises(BadInput, match="one paper"):
        paper_pdf([])
