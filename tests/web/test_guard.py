"""What stands before every page: policy, host, size, forms that are ours, no traceback."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from django.test import Client

import lemel.web
from lemel.web.guard import POLICY
from tests.web.places import PLACES

TEMPLATES = sorted((Path(lemel.web.__file__).parent / "templates").rglob("*.html"))


@pytest.mark.parametrize("place", [*PLACES, "/nowhere/", "/door/"])
def test_every_answer_carries_the_headers(client, place):
    answer = client.get(place)
    assert answer["Content-Security-Policy"] == POLICY
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["X-Frame-Options"] == "DENY"
    assert answer["Referrer-Policy"] == "same-origin"
    assert answer["Cache-Control"] == "no-store"


def test_the_policy_lets_nothing_in_from_elsewhere_and_runs_nothing_that_stands_in_a_page():
    rules = dict(rule.split(" ", 1) for rule in POLICY.split("; "))
    assert rules["default-src"] == "'none'"
    for name in ("script-src", "style-src", "connect-src", "form-action"):
        assert rules[name] == "'self'"
    assert "unsafe" not in POLICY
    assert rules["frame-ancestors"] == rules["base-uri"] == "'none'"


def test_what_is_the_same_for_everybody_may_be_kept(client):
    answer = client.get("/static/web/base.css")
    answer.close()
    assert "max-age" in answer["Cache-Control"]
    assert answer["X-Content-Type-Options"] == "nosniff"


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda path: path.name)
def test_no_template_holds_script_or_style_or_asks_elsewhere(template):
    text = re.sub(r"{%.*?%}", "", template.read_text("utf-8"))
    assert not re.search(r"<style|\sstyle=|\son[a-z]+=|javascript:|hx-on|hx-vals='js", text)
    assert not re.search(r"<script(?![^>]*\bsrc=)", text)
    assert not re.search(r"(src|href|action)=\"(https?:)?//", text)


def test_another_hosts_name_is_refused(client):
    answer = client.get("/", HTTP_HOST="elsewhere.example")
    assert answer.status_code == 400
    assert b"scrap" not in answer.content


def test_a_form_that_is_not_ours_is_refused(folder):
    answer = Client(enforce_csrf_checks=True).post("/door/leave/")
    assert answer.status_code == 403
    assert b"gone stale" in answer.content


def test_a_page_that_another_site_sends_is_refused_though_it_has_the_cookie(folder):
    from lemel.web import set_password

    set_password(folder, "wren under the anvil")
    client = Client(enforce_csrf_checks=True)
    page = client.get("/door/").content.decode()
    token = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', page)[1]
    form = {"password": "wren under the anvil", "csrfmiddlewaretoken": token}
    assert client.post("/door/", form, HTTP_ORIGIN="http://elsewhere.example").status_code == 403
    assert client.post("/door/", form).status_code == 302


def test_more_than_a_page_may_send_is_refused_unread(client):
    answer = client.post(
        "/door/leave/", data=b"", content_type="text/plain", CONTENT_LENGTH=str(17 * 1024 * 1024)
    )
    assert answer.status_code == 413
    assert b"16 MB" in answer.content


def test_a_page_that_breaks_shows_a_sentence_and_no_traceback(client, monkeypatch):
    from lemel.web import today

    def breaks(*_):
        raise RuntimeError("the inner works")

    monkeypatch.setattr(today, "_makeable", breaks)
    client.raise_request_exception = False
    answer = client.get("/")
    assert answer.status_code == 500
    assert b"that is our fault" in answer.content
    assert b"inner works" not in answer.content
    assert b"Traceback" not in answer.content


def test_something_unknown_is_a_page_with_a_sentence(client):
    answer = client.get("/does/no-such-line/")
    assert answer.status_code == 404
    assert b"no-such-line" in answer.content
    assert b"O6.1" in answer.content


def test_what_is_typed_is_shown_as_text_and_never_run(client):
    answer = client.get("/does/<script>alert(1)<%2Fscript>/")
    assert answer.status_code == 404
    assert b"<script>alert" not in answer.content
