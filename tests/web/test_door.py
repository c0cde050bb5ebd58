"""The login: who is let in, after how many tries, and for how long."""

from __future__ import annotations

import pytest
from django.test import Client, override_settings

from lemel.web import clear_password, door, set_password

WORDS = "wren under the anvil"


@pytest.fixture
def locked(folder, monkeypatch):
    """A book with a login; its hash is a quick one here, so that many tries take no time."""
    monkeypatch.setattr(door, "tries", door.Tries())
    with override_settings(PASSWORD_HASHERS=["django.contrib.auth.hashers.MD5PasswordHasher"]):
        set_password(folder, WORDS)
        yield folder


def _in(client, password=WORDS, **more):
    return client.post("/door/", {"password": password, **more})


def test_a_book_without_login_opens_at_once(client):
    assert client.get("/").status_code == 200


@pytest.mark.parametrize("place", ["/", "/scrap/", "/does/O6.1/"])
def test_a_book_with_a_login_shows_nothing_before_it(locked, place):
    answer = Client().get(place)
    assert answer.status_code == 302
    assert answer["Location"].startswith("/door/")
    page = Client().get("/door/").content
    assert b"Quillmarsh" not in page
    assert b"3\xe2\x80\xaf693" not in page


def test_the_api_asks_for_the_login_too(locked):
    assert Client().get("/api/head").status_code == 401


def test_the_password_opens_the_book_and_leads_back_to_the_page(locked):
    client = Client()
    assert _in(client, next="/scrap/")["Location"] == "/scrap/"
    assert client.get("/scrap/").status_code == 200


def test_a_wrong_password_is_said_at_its_field(locked):
    answer = _in(Client(), "sparrow")
    assert answer.status_code == 422
    page = answer.content.decode()
    assert 'aria-invalid="true"' in page
    assert "That was another one." in page
    assert "sparrow" not in page


@pytest.mark.parametrize("place", ["//elsewhere.example/", "https://elsewhere.example/", "\\\\e.x"])
def test_it_leads_to_no_other_host(locked, place):
    assert _in(Client(), next=place)["Location"] == "/"


def test_after_five_wrong_ones_it_waits_even_for_the_right_one(locked):
    client = Client()
    for _ in range(5):
        _in(client, "sparrow")
    answer = _in(client)
    assert answer.status_code == 422
    assert b"Wait 15 min" in answer.content


def test_many_callers_share_a_limit():
    tries = door.Tries(most=5, within_s=900)
    for n in range(20):
        tries.wrong(f"192.0.2.{n}", 100.0 + n)
    assert tries.wait_s("192.0.2.99", 200.0) > 0
    assert tries.wait_s("192.0.2.99", 2000.0) == 0


def test_leaving_closes_the_book(locked):
    client = Client()
    _in(client)
    client.post("/door/leave/")
    assert client.get("/").status_code == 302


def test_a_new_password_throws_everybody_out(locked):
    client = Client()
    _in(client)
    set_password(locked, "another wren altogether")
    assert client.get("/").status_code == 302
    clear_password(locked)
    assert client.get("/").status_code == 200


def test_the_cookie_is_signed_and_kept_from_scripts(locked):
    client = Client()
    _in(client)
    cookie = client.cookies["lemel"]
    assert cookie["httponly"]
    assert cookie["samesite"] == "Strict"
    client.cookies["lemel"] = cookie.value[:-3] + "abc"
    assert client.get("/").status_code == 302


def test_another_books_cookie_opens_nothing(locked, tmp_path):
    from lemel.book import open_book
    from lemel.serve import point_at

    client = Client()
    _in(client)
    open_book(tmp_path / "other", create=True).close()
    set_password(tmp_path / "other", WORDS)
    point_at(tmp_path / "other")
    assert client.get("/").status_code == 302
