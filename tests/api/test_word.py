"""The API keeps its word: once by key, a remedy with each refusal, nobody from elsewhere."""

from __future__ import annotations

import io
import threading

import pytest
from django.test import Client

from lemel.api.frame import KEY_HEADER
from lemel.book import new_token, open_book
from lemel.serve import application
from lemel.serve.server import make_server
from lemel.web import clear_password, set_password


def _owners(name: str) -> dict:
    return {"owners": {name: name.title()}}


def test_the_same_key_and_content_is_answered_as_before_and_done_once(api):
    body = {"places": ["store"]}
    first = api.post("stock-takes", body, key="count-0001")
    again = api.post("stock-takes", body, key="count-0001")
    assert (first.status_code, first.json()) == (again.status_code, again.json())
    assert api.post("stock-takes", body, key="count-0002").json() != first.json()


def test_spacing_and_order_of_keys_do_not_make_another_act(api):
    def send(text: str):
        return api.client.post(
            "/api/owners/unit", text, content_type="application/json",
            headers={KEY_HEADER: "unit-00001"},
        )  # fmt: skip

    owner = next(iter(api.book.owners()))
    assert send(f'{{"owner": "{owner}", "unit": "g"}}').status_code == 200
    assert send(f'{{"unit":"g",  "owner":"{owner}"}}').status_code == 200


def test_the_same_key_with_another_content_is_refused(api, problem_of):
    assert api.post("owners", _owners("zed"), key="owners-001").status_code == 201
    told = problem_of(api.post("owners", _owners("amy"), key="owners-001"), 409)
    assert told["field"] == "key"
    assert "amy" not in api.book.owners()
    assert api.post("owners/erase", {"owner": "zed"}, key="owners-001").status_code == 409


def test_a_refused_act_does_not_use_its_key_up(api, problem_of):
    line = {"line": "O99.1", "how": "met"}
    problem_of(api.post("orders/close", line, key="close-0001"), 422)
    good = {"line": "O6.1", "how": "met"}
    assert api.post("orders/close", good, key="close-0001").status_code == 200


def test_a_picture_sent_twice_with_its_key_is_kept_once_whatever_its_wrapping(api):
    def send() -> dict:
        file = io.BytesIO(b"\xff\xd8\xff" + b"1" * 50)
        file.name = "mark.jpg"
        sent = {"file": file, "about": "S1"}
        return api.client.post("/api/photos", sent, headers={KEY_HEADER: "photo-0001"}).json()

    assert send() == send()
    assert len(api.book.bench.photos("S1")) == 1


def test_a_key_is_plain(api, problem_of):
    told = problem_of(api.post("owners", _owners("zed"), key="a b"), 422)
    assert told["field"] == KEY_HEADER


def test_the_same_act_from_many_at_once_is_done_once(api):
    body, found = {"places": ["store"]}, []

    def send() -> None:
        answer = Client().post(
            "/api/stock-takes", body, content_type="application/json",
            headers={KEY_HEADER: "count-all-1"},
        )  # fmt: skip
        found.append((answer.status_code, answer.content))
        api.book.close()

    threads = [threading.Thread(target=send) for _ in range(6)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    assert len(set(found)) == 1
    assert found[0][0] == 201
    assert len(api.book.filed("stock_take") or api.book.filed("stock-take")) <= 1


@pytest.mark.parametrize(
    ("sent", "field"),
    [
        ({"lots": [{"id": "S1"}]}, "lots.0"),
        ({"lots": [{"id": "S9", "main": "Ag", "form": "sheet", "mass_g": 1, "owner": ""}]}, "own"),
        ({"lot": []}, "lot"),
        ({"owners": {"": "x"}}, "owners"),
    ],
)  # fmt: skip
def test_each_fault_stands_at_its_field_with_what_to_do(api, problem_of, sent, field):
    told = problem_of(api.post("lots", sent), 422)
    assert field in told["field"]
    assert told["allowed"]
    assert told["do"]
    assert told["errors"][0]["field"] == told["field"]


def test_several_faults_come_at_once(api, problem_of):
    told = problem_of(api.post("orders/close", {"how": "eaten"}), 422)
    assert {one["field"] for one in told["errors"]} == {"line", "how"}


@pytest.mark.parametrize(
    ("path", "status"),
    [("nothing", 404), ("lot?id=none", 404), ("statement?owner=nobody", 404),
     ("plan?id=none", 404), ("lots?most=0", 422), ("lots?most=x", 422)],
)  # fmt: skip
def test_what_is_not_there_is_told_so(api, problem_of, path, status):
    problem_of(api.get(path), status)


def test_another_method_and_another_form_are_refused(api, problem_of):
    answer = api.client.delete("/api/lots")
    problem_of(answer, 405)
    assert "POST" in answer["Allow"]
    form = api.client.post("/api/owners", "owners=x", content_type="text/plain")
    problem_of(form, 415)
    problem_of(api.client.post("/api/owners", "{", content_type="application/json"), 400)


def test_too_much_is_refused_before_it_is_read(api, problem_of):
    many = {"owners": {"zed": "z" * 3_000_000}}
    problem_of(api.post("owners", many), 413)
    file = io.BytesIO(b"\xff\xd8\xff" + b"1" * (12 * 1024 * 1024))
    file.name = "mark.jpg"
    problem_of(api.client.post("/api/photos", {"file": file, "about": "S1"}), 422)
    file = io.BytesIO(b"1" * (17 * 1024 * 1024))
    file.name = "mark.jpg"
    problem_of(api.client.post("/api/photos", {"file": file, "about": "S1"}), 413)


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://evil.example"}, {"Origin": "null"}, {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
    ],
)  # fmt: skip
def test_pages_of_other_sites_may_not_speak_here(api, problem_of, headers):
    problem_of(api.post("owners", _owners("zed"), **headers), 403)
    problem_of(api.client.get("/api/lots", headers=headers), 403)
    assert "zed" not in api.book.owners()


def test_a_page_of_ours_may(api):
    same = {"Origin": "http://testserver", "Sec-Fetch-Site": "same-origin"}
    assert api.post("owners", _owners("zed"), **same).status_code == 201


def test_another_name_is_not_served(api, problem_of):
    problem_of(Client(headers={"host": "evil.example"}).get("/api/head"), 400)


def test_with_a_password_a_device_needs_its_token(api, problem_of):
    set_password(api.folder, "a long pass phrase")
    answer = api.get("head")
    problem_of(answer, 401)
    assert answer["WWW-Authenticate"].startswith("Bearer")
    token = new_token(api.folder, "balance")
    bearer = {"Authorization": f"Bearer {token}"}
    assert api.client.get("/api/head", headers=bearer).status_code == 200
    assert api.post("owners", _owners("zed"), **bearer).status_code == 201
    for wrong in (f"Bearer {token}x", "Bearer ", f"Basic {token}", token):
        problem_of(api.client.get("/api/head", headers={"Authorization": wrong}), 401)
    pages = api.client.get("/", headers=bearer)
    assert pages.status_code == 302
    clear_password(api.folder)
    assert api.get("head").status_code == 200


def test_whoever_has_logged_in_may_ask_too(api):
    set_password(api.folder, "a long pass phrase")
    api.client.post("/door/", {"password": "a long pass phrase"})
    assert api.get("head").status_code == 200


def test_over_the_wire_too_large_a_request_is_refused_and_the_next_is_answered(api):
    import http.client

    server = make_server(application(api.folder), 0)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    try:
        asked = http.client.HTTPConnection("127.0.0.1", server.effective_port, timeout=30)
        asked.request("POST", "/api/owners", "1" * 3_000_000, {"Content-Type": "application/json"})
        assert asked.getresponse().status == 413
        asked.close()
        asked = http.client.HTTPConnection("127.0.0.1", server.effective_port, timeout=30)
        asked.request("GET", "/api/head")
        assert asked.getresponse().status == 200
        asked.close()
    finally:
        server.close()
        server.task_dispatcher.shutdown()
    with open_book(api.folder) as book:
        assert book.audit().whole
