"""Scrap: bags, the fast weigh-in, evidence, questions, marks, leave, files, worth."""

from __future__ import annotations

import base64
from datetime import date

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from lemel.book import open_book

PNG = base64.b64decode(
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg=="
)
BAG = {
    "owner": "shop", "form": "wire", "main": "Ag", "note": "cut ends", "mass_g": "41.20",
    "stamp": "stamp-maker", "fineness": "925", "magnet": "no", "leave": "", "bag": "B1",
    "scrap_class": "", "origin": "post_consumer",
}  # fmt: skip


@pytest.fixture
def book(folder):
    return open_book(folder)


def text(answer):
    return answer.content.decode()


def lot(book, name):
    return next(one for one in book.lots() if one.id == name)


def test_each_bag_has_a_row_with_its_mass_its_ruler_and_what_stands_in_the_way(client):
    said = text(client.get("/scrap/"))
    assert "teapot 1911" in said
    assert "fineness 919." in said or "fineness 920." in said
    assert "418.20" in said
    assert "Not into the pot:" in said
    assert "Nothing stands in the way." in said


def test_a_word_picks_bags_out(client):
    said = text(client.get("/scrap/?sought=ostervelt"))
    assert 'id="row-s7"' in said
    assert 'id="row-s1"' not in said


def test_a_bag_is_weighed_in_with_its_stamp_and_the_next_number_is_there(client, book):
    assert client.post("/scrap/weigh-in/", BAG).status_code == 302
    weighed = lot(book, "B1")
    assert (weighed.mass_g, weighed.owner, weighed.main) == (41.2, "shop", "Ag")
    [reading] = book.readings("B1")
    assert reading.method == "stamp-maker"
    assert reading.values["Ag"] == pytest.approx(0.925)
    assert 'value="B2"' in text(client.get("/scrap/weigh-in/"))


def test_what_the_magnet_did_is_kept_as_seen(client, book):
    client.post("/scrap/weigh-in/", BAG)
    [answer] = [one for one in book.bench.gate_answers("B1") if one.gate == "magnet"]
    assert (answer.answer, "lies still" in answer.seen) == ("no", True)


def test_the_same_bag_sent_twice_is_weighed_in_once(client, book):
    client.post("/scrap/weigh-in/", BAG)
    head = book.head()
    assert client.post("/scrap/weigh-in/", BAG).status_code == 302
    assert book.head() == head


@pytest.mark.parametrize(("field", "given", "said"), [
    ("mass_g", "", "Fill this in."), ("mass_g", "-3", "0.001 to"), ("mass_g", "x", "0.001 to"),
    ("mass_g", "1,234", "Is it 1.234 or 1234?"), ("owner", "nobody", "Choose one."),
    ("form", "brick", "Choose one."), ("fineness", "", "Fill this in."),
    ("fineness", "1200", "1 to 1000"), ("bag", "", "Fill this in."),
    ("price_paid", "dear", "Write a number."),
])  # fmt: skip
def test_what_cannot_be_weighed_in_is_said_at_its_field(client, book, field, given, said):
    head = book.head()
    answer = client.post("/scrap/weigh-in/", {**BAG, field: given})
    assert answer.status_code == 422
    assert said in text(answer)
    assert f'href="#f-{field}"' in text(answer)
    assert book.head() == head
    assert 'value="cut ends"' in text(answer)


def test_a_number_that_is_taken_is_refused_and_nothing_is_half_written(client, book):
    head = book.head()
    answer = client.post("/scrap/weigh-in/", {**BAG, "bag": "S1"})
    assert answer.status_code == 422
    assert book.head() == head
    assert len(book.readings("S1")) == 1


def test_somebody_new_is_entered_with_the_first_bag(client, book):
    answer = client.post(
        "/scrap/weigh-in/", {**BAG, "owner": "+", "new_owner": "Wren Halloway", "leave": "signed"}
    )
    assert answer.status_code == 302
    assert book.owners()["wren-halloway"] == "Wren Halloway"
    [leave] = [one for one in book.bench.workshop().consents if one.owner == "wren-halloway"]
    assert (leave.allows, leave.about, bool(leave.document)) == ("destroy", ("B1",), True)


def test_somebody_new_needs_a_name(client, book):
    answer = client.post("/scrap/weigh-in/", {**BAG, "owner": "+", "new_owner": ""})
    assert answer.status_code == 422
    assert 'href="#f-new_owner"' in text(answer)


def test_a_photograph_goes_with_the_bag_and_answers_for_the_marks(client, book):
    sent = {**BAG, "form": "jewellery", "photo": SimpleUploadedFile("x.png", PNG)}
    assert client.post("/scrap/weigh-in/", sent).status_code == 302
    [photo] = book.bench.photos("B1")
    shown = client.get(f"/scrap/picture/{photo.digest}/")
    assert (shown["Content-Type"], shown.content) == ("image/png", PNG)
    assert "marks_unrecorded" not in {one.code for one in book.bench.open_gates("B1")}


def test_a_picture_that_is_none_is_said_and_the_bag_is_in(client, book):
    sent = {**BAG, "photo": SimpleUploadedFile("x.png", b"<svg onload=alert(1)>")}
    client.post("/scrap/weigh-in/", sent)
    assert lot(book, "B1").mass_g == 41.2
    assert "was not kept" in text(client.get("/scrap/weigh-in/"))
    assert book.bench.photos("B1") == ()


def test_a_receipt_is_written_for_the_sitting_and_prints(client, book):
    client.post("/scrap/weigh-in/", {**BAG, "owner": "corvalho"})
    said = {"bag": ["B1"], "gets": "own_metal_back", "by": "Maribeth Osgarde", "stones-B1": "3",
            "back-B1": "3"}  # fmt: skip
    answer = client.post("/scrap/receipt/", said)
    assert answer.status_code == 302
    paper = client.get(answer["Location"])
    assert paper["Content-Type"] == "application/pdf"
    assert paper.content.startswith(b"%PDF")
    assert "No bag of this sitting" in text(client.get("/scrap/receipt/"))


@pytest.mark.parametrize(("said", "field"), [
    ({"bag": []}, "bag"), ({"by": ""}, "by"), ({"gets": "a horse"}, "gets"),
    ({"loss_percent": "200"}, "loss_percent"), ({"stones-B1": "1", "back-B1": "2"}, "returned"),
])  # fmt: skip
def test_a_receipt_that_cannot_be_is_refused(client, said, field):
    client.post("/scrap/weigh-in/", BAG)
    good = {"bag": ["B1"], "gets": "money", "by": "Ada", "back-B1": "0"}
    answer = client.post("/scrap/receipt/", {**good, **said})
    assert answer.status_code == 422
    assert field in text(answer)


def test_bags_of_two_owners_stand_on_two_receipts(client):
    client.post("/scrap/weigh-in/", BAG)
    client.post("/scrap/weigh-in/", {**BAG, "bag": "B2", "owner": "corvalho"})
    answer = client.post("/scrap/receipt/", {"bag": ["B1", "B2"], "gets": "money", "by": "Ada"})
    assert answer.status_code == 422
    assert "Write one for each owner" in text(answer)


READ = {"do": "read", "reading": "S8-9", "method": "xrf-hand-abraded", "fineness": "801",
        "source": "college gun", "taken_on": "2026-10-02", "by": "Ada"}  # fmt: skip


def test_a_reading_moves_the_belief_and_says_how_far(client, book):
    before = text(client.get("/scrap/bag/S8/"))
    assert client.post("/scrap/bag/S8/", READ).status_code == 302
    after = text(client.get("/scrap/bag/S8/"))
    assert "S8-9" not in before.split("<h2")[3]
    assert "S8-9" in after
    assert "X-ray gun, filed spot" in after
    assert "moved by" in after


def test_the_same_reading_twice_is_one(client, book):
    many = len(book.readings("S8"))
    for _ in range(2):
        assert client.post("/scrap/bag/S8/", READ).status_code == 302
    assert len(book.readings("S8")) == many + 1


@pytest.mark.parametrize(("field", "given"), [
    ("fineness", "8010"), ("fineness", ""), ("method", "tasting"), ("source", ""),
    ("taken_on", "yesterday"), ("do", "eat"),
])  # fmt: skip
def test_a_reading_that_cannot_be_is_refused(client, book, field, given):
    many = len(book.readings())
    assert client.post("/scrap/bag/S8/", {**READ, field: given}).status_code == 422
    assert len(book.readings()) == many


def test_a_withdrawn_reading_counts_no_more(client, book):
    client.post("/scrap/bag/S8/", READ)
    assert client.post("/scrap/bag/S8/", {"do": "withdraw", "reading": "S8-9"}).status_code == 302
    assert next(one for one in book.readings("S8") if one.id == "S8-9").withdrawn
    answer = client.post("/scrap/bag/S8/", {"do": "withdraw", "reading": "S8-9"})
    assert answer.status_code == 422


WATER = {"do": "water", "reading": "S8-9", "air_g": "20.00", "water_g": "18.07", "water_c": "20",
         "step_g": "0.01", "beside": "Cu", "water_method": "density-silver", "claimed": "925",
         "water_on": "2026-10-02"}  # fmt: skip


@pytest.mark.outside
def test_weighing_in_water_gives_the_density_of_sterling(client, book):
    # (air x water's density - water x air's density) / loss, with 0.9982 g/cm3 for water at 20 degC
    # (CRC Handbook of Chemistry and Physics, "Standard Density of Water") and 0.0012 for air.
    assert client.post("/scrap/bag/S8/", WATER).status_code == 302
    reading = next(one for one in book.readings("S8") if one.id == "S8-9")
    assert reading.density_g_cm3 == pytest.approx(
        (20.00 * 0.9982 - 18.07 * 0.0012) / 1.93, rel=1e-4
    )
    assert "g/cm³" in text(client.get("/scrap/bag/S8/"))


@pytest.mark.parametrize(("field", "given", "said"), [
    ("water_g", "21", "hang free"), ("water_c", "80", "0 to 40"), ("air_g", "", "Fill this in."),
    ("beside", "Cheese", "metal"),
])  # fmt: skip
def test_a_weighing_in_water_that_cannot_be_is_refused(client, book, field, given, said):
    many = len(book.readings())
    answer = client.post("/scrap/bag/S8/", {**WATER, field: given})
    assert answer.status_code == 422
    assert said in text(answer)
    assert len(book.readings()) == many


def test_questions_are_things_to_see_with_how_either_outcome_looks(client):
    said = text(client.get("/scrap/bag/S10/"))
    assert "Ask how old its solder is" in said
    assert "What was seen or weighed" in said
    assert "Bring the magnet to it: does it jump?" in said


def gate(answer, seen="", gate="soft_solder"):
    return {"do": "gate", "gate": gate, f"answer-{gate}": answer, f"seen-{gate}": seen}


def test_an_answer_needs_what_was_seen(client, book):
    answer = client.post("/scrap/bag/S9/", gate("no"))
    assert answer.status_code == 422
    assert 'href="#f-seen-soft_solder"' in text(answer)
    assert book.bench.gate_answers("S9") == ()


def test_what_was_seen_opens_the_way(client, book):
    assert (
        client.post("/scrap/bag/S9/", gate("no", "scraped: hard, white joints")).status_code == 302
    )
    codes = {one.code for one in book.bench.open_gates("S9")}
    assert not any("soft_solder" in code for code in codes)
    assert "scraped: hard, white joints" in text(client.get("/scrap/bag/S9/"))


def test_trouble_that_was_seen_bars_the_bag_with_its_way_out(client, book):
    client.post("/scrap/bag/S9/", gate("yes", "grey line at the foot"))
    said = text(client.get("/scrap/bag/S9/"))
    assert "Stop." in said
    assert "send S9 to the refiner" in said


def test_what_a_record_answers_no_word_answers(client, book):
    answer = client.post("/scrap/bag/S7/", gate("no", "he nodded", "consent_destroy"))
    assert answer.status_code == 422


def test_leave_is_entered_with_its_limit_and_taken_back(client, book):
    said = {"do": "allow", "consent": "leave S7 1", "allows": "top_up", "limit_g": "12",
            "covers": "all", "given_on": "2026-10-02", "document": "letter 4"}  # fmt: skip
    for _ in range(2):
        assert client.post("/scrap/bag/S7/", said).status_code == 302
    [leave] = [one for one in book.bench.workshop().consents if one.id == "leave S7 1"]
    assert (leave.owner, leave.limit_g, leave.given_on) == ("ostervelt", 12.0, date(2026, 10, 2))
    assert "up to" in text(client.get("/scrap/bag/S7/"))
    gone = client.post("/scrap/bag/S7/", {"do": "take_back", "consent": "leave S7 1"})
    assert gone.status_code == 302
    assert "leave S7 1" not in {one.id for one in book.bench.workshop().consents}


@pytest.mark.parametrize(("said", "field"), [
    ({"allows": "anything"}, "allows"), ({"limit_g": "0"}, "limit_g"),
    ({"given_on": ""}, "given_on"),
    ({"allows": "loss_percent"}, "percent"), ({"allows": "mix_with"}, "mix_owner"),
])  # fmt: skip
def test_a_leave_that_cannot_be_is_refused(client, said, field):
    good = {"do": "allow", "consent": "leave S7 1", "allows": "top_up", "covers": "all",
            "given_on": "2026-10-02"}  # fmt: skip
    answer = client.post("/scrap/bag/S7/", {**good, **said})
    assert answer.status_code == 422
    assert f'href="#f-{field}"' in text(answer)


def test_a_photograph_of_the_marks_is_kept(client, book):
    sent = {"do": "photo", "of": "mark", "photo": SimpleUploadedFile("m.png", PNG)}
    assert client.post("/scrap/bag/S5/", sent).status_code == 302
    assert len(book.bench.photos("S5")) == 1
    assert "Marks of S5" in text(client.get("/scrap/bag/S5/"))


@pytest.mark.parametrize("data", [b"", b"GIF89a", b"%PDF-1.7"])
def test_what_is_no_picture_is_refused(client, book, data):
    sent = {"do": "photo", "of": "mark", "photo": SimpleUploadedFile("m.png", data)}
    assert client.post("/scrap/bag/S5/", sent).status_code == 422
    assert book.bench.photos("S5") == ()


def test_seams_are_priced_both_ways(client):
    said = {"do": "seams", "least": "925", "share": "2", "share_sd": "0.7", "solder": "650",
            "body": "925.7", "minutes": "20"}  # fmt: skip
    answer = client.post("/scrap/bag/S5/", said)
    assert answer.status_code == 200
    assert "drown them" in text(answer)
    assert "saw them out" in text(answer)
    assert client.post("/scrap/bag/S5/", {**said, "share": "90"}).status_code == 422


def test_an_offer_for_the_whole_stands_beside_the_metal(client):
    answer = client.post("/scrap/bag/S5/", {"do": "whole", "offer": "900"})
    assert "It is worth more whole." in text(answer)
    answer = client.post("/scrap/bag/S5/", {"do": "whole", "offer": "9"})
    assert "The metal is worth more" in text(answer)


CSV = (
    b'# format = "lemel-lots 1"\nlot,owner,metal,form,mass_g,stated,note\n'
    b"B7,shop,Ag,offcut,41.20,Ag=925 Cu=75,clippings\n"
)


def sent(data=CSV, do="look", name="bags.csv", **more):
    return {"do": do, "file": SimpleUploadedFile(name, data), **more}


def test_a_file_is_looked_over_and_then_weighed_in(client, book):
    head = book.head()
    looked = client.post("/scrap/file/", sent())
    assert looked.status_code == 200
    assert "is in order" in text(looked)
    assert book.head() == head
    carried = {"do": "weigh", "carried": base64.b64encode(CSV).decode(), "carried-name": "bags.csv"}
    assert client.post("/scrap/file/", carried).status_code == 302
    assert lot(book, "B7").mass_g == 41.2


def test_every_fault_of_a_file_is_listed_by_row_and_nothing_is_written(client, book):
    head = book.head()
    bad = CSV + b"B8,nobody,Ag,offcut,3,,\nB9,shop,Ag,brick,-2,,\nS1,shop,Ag,wire,2,,\n"
    answer = client.post("/scrap/file/", sent(bad, do="weigh"))
    assert answer.status_code == 422
    said = text(answer)
    assert all(f"bags.csv:{n}" in said or f"line {n}" in said for n in (4, 5, 6)), said[-3000:]
    assert book.head() == head


@pytest.mark.parametrize(("name", "data"), [
    ("bags.csv", b"\xff\xfe\x00"), ("bags.xlsx", b"PK not so"), ("../../x.csv", b"colour\nred\n"),
])  # fmt: skip
def test_what_is_no_file_of_bags_is_refused(client, book, name, data):
    head = book.head()
    assert client.post("/scrap/file/", sent(data, name=name)).status_code == 422
    assert book.head() == head


def test_a_cell_that_looks_like_a_formula_is_shown_as_text(client):
    data = CSV.replace(b"clippings", b"=HYPERLINK(1)<script>")
    said = text(client.post("/scrap/file/", sent(data)))
    assert "<script>" not in said.split("<main", 1)[1]


def test_a_bag_that_is_not_there_is_said_to_be_so(client):
    assert client.get("/scrap/bag/NONE/").status_code == 404
    assert client.get("/scrap/picture/beef/").status_code == 404
    assert client.get("/scrap/receipt/R-0.pdf").status_code == 404
