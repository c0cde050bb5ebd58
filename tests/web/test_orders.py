"""Orders: each kind of piece entered, refused where it cannot be, closed."""

from __future__ import annotations

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from lemel.book import open_book

COMMON = {"order": "O20", "first": "1", "count": "1", "standard": "UK Ag 925", "owner": "shop",
          "due_on": "2026-11-02", "colour": "none", "claim": "", "customer": ""}  # fmt: skip
PIECES = {
    "ring": {"size": "ISO 54", "width_mm": "5", "thickness_mm": "1.6", "profile": "flat"},
    "bangle": {"inside_diameter_mm": "63", "width_mm": "4", "thickness_mm": "2.2",
               "profile": "half_round"},
    "disc": {"diameter_mm": "28", "thickness_mm": "0.7"},
    "jump_ring": {"inside_diameter_mm": "4", "wire_diameter_mm": "1"},
    "chain": {"length_mm": "450", "inside_diameter_mm": "3.2", "wire_diameter_mm": "0.8"},
    "outline": {"thickness_mm": "1", "length_mm": "40", "width_mm": "25", "grain": "along"},
    "stock": {"section": "round", "diameter_mm": "0.6", "length_mm": "1200"},
}  # fmt: skip


@pytest.fixture
def book(folder):
    return open_book(folder)


@pytest.fixture
def enter(client):
    def enters(what, **said):
        return client.post(f"/orders/new/{what}/", {**COMMON, **PIECES[what], **said})

    return enters


def lines(book, order="O20"):
    return [one.line for one in book.bench.orders(open_only=False) if one.line.order == order]


def text(answer):
    return answer.content.decode()


@pytest.mark.parametrize("what", PIECES)
def test_every_kind_of_piece_is_entered_as_it_was_told(client, book, enter, what):
    assert client.get(f"/orders/new/{what}/").status_code == 200
    answer = enter(what)
    assert answer.status_code == 302, text(answer)[-1500:]
    [line] = lines(book)
    assert (line.id, line.what, line.standard) == ("O20.1", what, "UK Ag 925")
    book.bench.problem(lines=["O20.1"])


@pytest.mark.parametrize(("section", "named"), [
    ("square", {"section": "square", "side_mm": 2.0, "length_mm": 1200.0}),
    ("flat", {"section": "flat", "width_mm": 5.0, "thickness_mm": 1.5, "length_mm": 1200.0}),
    ("half_round", {"section": "half_round", "width_mm": 5.0, "height_mm": 1.5,
                    "length_mm": 1200.0}),
])  # fmt: skip
def test_stock_is_named_by_the_sizes_of_its_section(book, enter, section, named):
    flat = section != "square"
    said = {"diameter_mm": "" if flat else "2", "width_mm": "5" if flat else "",
            "thickness_mm": "1.5" if flat else ""}  # fmt: skip
    assert enter("stock", section=section, **said).status_code == 302
    assert dict(lines(book)[0].sizes) == named


def test_several_ring_sizes_make_a_line_each_and_say_what_they_measure(client, book, enter):
    assert enter("ring", size="ISO 50, UK L, US 7").status_code == 302
    assert [one.sizes["size"] for one in lines(book)] == ["ISO 50", "UK L", "US 7"]
    said = text(client.get("/orders/"))
    assert "ISO 50: 50.0 mm around, 15.92 mm across" in said


def test_the_same_order_sent_twice_is_one_order(book, enter):
    for _ in range(2):
        assert enter("ring").status_code == 302
    assert len(lines(book)) == 1


def test_the_customer_is_kept_apart(book, enter):
    enter("disc", customer="Wren Halloway")
    [wanted] = [one for one in book.bench.orders() if one.line.order == "O20"]
    assert wanted.customer == "Wren Halloway"


@pytest.mark.parametrize(("what", "said", "field"), [
    ("ring", {"size": "54"}, "size"), ("ring", {"size": "ISO 400"}, "size"),
    ("ring", {"width_mm": ""}, "width_mm"), ("ring", {"width_mm": "wide"}, "width_mm"),
    ("ring", {"profile": "star"}, "profile"), ("ring", {"standard": "UK Ag 1"}, "standard"),
    ("disc", {"count": "0"}, "count"), ("disc", {"count": "1.5"}, "count"),
    ("disc", {"owner": "nobody"}, "owner"), ("disc", {"due_on": "soon"}, "due_on"),
    ("disc", {"use_lots": "S1, NONE"}, "use_lots"), ("disc", {"dome_height_mm": "-1"}, "dome"),
    ("bangle", {"inside_diameter_mm": ""}, "inside_"), ("chain", {"length_mm": "0"}, "length_mm"),
    ("outline", {"length_mm": ""}, "length_mm"), ("stock", {"diameter_mm": ""}, "diameter_mm"),
    ("stock", {"section": "square", "diameter_mm": ""}, "diameter_mm"),
])  # fmt: skip
def test_what_cannot_be_made_is_said_at_its_field(book, enter, what, said, field):
    answer = enter(what, **said)
    assert answer.status_code == 422
    assert f'href="#f-{field}' in text(answer)
    assert lines(book) == []


def test_an_outline_comes_from_a_drawing(book, enter):
    svg = b'<svg xmlns="http://www.w3.org/2000/svg" width="30mm" height="20mm" viewBox="0 0 30 20">'
    svg += b'<path d="M0 0H30V20Z"/></svg>'
    sent = SimpleUploadedFile("leaf.svg", svg)
    assert enter("outline", length_mm="", width_mm="", drawing=sent).status_code == 302
    assert str(lines(book)[0].sizes["path_mm"]).startswith("M ")


@pytest.mark.parametrize("data", [b"<svg", b"\xff\xfe", b"<!DOCTYPE x [<!ENTITY a 'b'>]><svg/>"])
def test_what_is_no_drawing_is_refused(book, enter, data):
    answer = enter("outline", drawing=SimpleUploadedFile("leaf.svg", data))
    assert answer.status_code == 422
    assert 'href="#f-drawing"' in text(answer)
    assert lines(book) == []


def test_a_line_is_closed_by_hand_and_stays_to_be_seen(client, book, enter):
    enter("disc")
    assert client.post("/orders/close/O20.1/", {"how": "dropped"}).status_code == 302
    assert "O20" not in {one.line.order for one in book.bench.orders()}
    assert "dropped" in text(client.get("/orders/?all"))


def test_a_closing_that_makes_no_sense_is_refused(client, enter):
    enter("disc")
    assert client.post("/orders/close/O20.1/", {"how": "eaten"}).status_code == 422
    assert client.post("/orders/close/O99.1/", {"how": "met"}).status_code == 422


def test_an_unknown_kind_of_piece_is_said_to_be_so(client):
    assert client.get("/orders/new/teapot/").status_code == 404
