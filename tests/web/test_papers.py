"""What can be printed, labels with their warnings, and the class."""

from __future__ import annotations

import pypdfium2
import pytest

from lemel.book import Account, open_book, plans_at_work
from lemel.values import Composition, Holding, Lot, Reading
from lemel.web.papers_labels import beware, label_of, labels_of
from tests.web.test_books import plain, read, refused

PDF = b"%PDF"


@pytest.fixture
def book(folder):
    return open_book(folder)


def words(pdf):
    paper = pypdfium2.PdfDocument(pdf)
    return " ".join(page.get_textpage().get_text_range() for page in paper)


def test_every_paper_on_the_page_is_a_pdf(client, book):
    import re

    receipt = book.papers.receipt("haldorsen", ["G8"], gets="work_from_it")
    said = read(client, "/papers/")
    found = set(re.findall(r'href="([^"]+\.pdf)"', said))
    assert f"/papers/receipt/{receipt.number}.pdf" in found
    assert "/papers/values.pdf" in found
    for place in found:
        if "/cards/" not in place:
            answer = client.get(place)
            assert answer["Content-Type"] == "application/pdf", place
            assert answer.content.startswith(PDF)
            assert "attachment" not in answer["Content-Disposition"]


def test_a_card_of_its_own_for_each_heat(client, book):
    plan = plans_at_work(book)[0]
    said = read(client, f"/papers/cards/{plan}/")
    assert f"{plan}-H2" in said
    assert client.get(f"/papers/cards/{plan}/{plan}-H2.pdf").content.startswith(PDF)
    read(client, f"/papers/cards/{plan}/../secret.pdf", 404)
    read(client, "/papers/gossip/R-0001.pdf", 404)


def test_a_value_list_without_a_price_says_what_is_missing(empty):
    from django.test import Client

    assert "wants a price" in plain(read(Client(), "/papers/"))
    read(Client(), "/papers/values.pdf", 404)


def test_labels_are_chosen_and_set(client):
    page = "/papers/labels/"
    assert "checked" in read(client, f"{page}?body=S1")
    answer = client.post(page, {"body": ["S1", "S4"], "size": "bag", "skip": "0"})
    assert answer.content.startswith(PDF)
    said = words(answer.content)
    assert "S1" in said
    assert "Ines Corvalho" in said


@pytest.mark.parametrize(
    ("name", "bad"), [("body", ""), ("body", "Z99"), ("size", "door"), ("skip", "24")]
)
def test_labels_that_cannot_be_set_say_why(client, name, bad):
    said = {"body": "S1", "size": "bag", "skip": "0", name: bad}
    assert f"f-{name}" in refused(client, "/papers/labels/", **said)


def lot(**more):
    main = Composition.from_millesimal({"Ag": 925, "Cu": 75})
    return Lot(id="X1", owner="ada", main="Ag", form="hollowware", mass_g=20.0, stated=main, **more)


def made(one, readings=(), suspect=False):
    metal = Holding.of(20_000, Composition.from_millesimal({"Ag": 925, "Cu": 75}))
    return label_of(Account("ada", "store", "X1"), metal, "Ada", one, readings, suspect)


def test_a_hazard_stands_on_the_label_by_its_word():
    assert beware(lot(flags={"mercury": "yes"})) == ("MERCURY, never heat",)
    assert beware(lot(flags={"cadmium_solder": "unknown"})) == ("CADMIUM solder?",)
    assert beware(lot(flags={"stones": "no", "mercury": "no"})) == ()
    assert made(lot(), suspect=True).beware[0].startswith("SUSPECT")


def test_fineness_is_told_until_it_is_tested():
    assert made(lot()).fineness == "Ag 925 told"
    xrf = Reading("r1", "X1", "xrf-bench", {"Ag": 0.897}, source="college")
    assert made(lot(), [xrf]).fineness == "Ag 897 by X-ray"
    melt = Reading("r2", "X1", "own-melt-predicted", {"Ag": 0.926}, source="H1")
    assert made(lot(), [melt]).fineness == "Ag 926 not proven"


def test_a_label_weighs_what_the_book_weighs(book):
    [label] = labels_of(book, ["S4"])
    mg = book.held(Account("corvalho", "store", "S4")).gross_mg
    assert label.mass == f"{mg / 1000:.2f} g"
    assert label.owner == "Ines Corvalho, evening class"


def test_the_class_sees_who_is_next_and_what_goes_home(client, book):
    said = plain(read(client, "/class/"))
    assert "Ines Corvalho, evening class" in said
    assert "At the fire" in said
    assert "O5.1/1" in said
    assert "Maribeth" not in said.split("Each one")[1]
    assert client.get("/class/labels.pdf?owner=corvalho").content.startswith(PDF)
    read(client, "/class/labels.pdf?owner=nobody", 404)


def test_metal_in_the_pot_is_seen_in_the_class(client, book):
    plan = plans_at_work(book)[0]
    for step in book.steps(plan):
        if step.kind == "top_up" and step.about.endswith("H2"):
            break
    done = book.charge(plan, "H2")
    assert done.entry, done.objections
    assert "metal is in the pot" in plain(read(client, "/class/"))
