"""Every page that a link leads to: it opens, it is one page, it fits, it asks nobody outside."""

from __future__ import annotations

from collections import Counter
from html.parser import HTMLParser
from urllib.parse import unquote, urljoin

import pytest
from django.urls import Resolver404, resolve

from lemel.book import open_book, plans_at_work

HOME = "http://testserver"
#: So many pages of one kind are looked at; the kinds are told by the names of their addresses.
OF_A_KIND = 3
PHONE = {"width": 360, "height": 740}
_FREE = ("hidden", "submit", "button", "image", "reset")
_VOID = ("input", "select", "textarea")


class Page(HTMLParser):
    """What of a page can be told without a browser."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.links: list[str] = []
        self.heads = Counter[str]()
        self.ids = Counter[str]()
        self.title = ""
        self.faults: list[str] = []
        self._labels: set[str] = set()
        self._fields: list[dict[str, str]] = []
        self._open: list[str] = []
        self.feed(text)
        self.faults += [f"no label: {one}" for one in self._fields if not self._labelled(one)]
        self.faults += [f"id twice: {one}" for one, n in self.ids.items() if n > 1]

    def _labelled(self, field: dict[str, str]) -> bool:
        return field.get("aria-label", "") != "" or field.get("id") in self._labels

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        facts = {name: value or "" for name, value in attrs}
        self.heads[tag] += 1
        if facts.get("id"):
            self.ids[facts["id"]] += 1
        self.links += [facts[name] for name in ("href", "src", "hx-get") if facts.get(name)]
        if tag == "label" and facts.get("for"):
            self._labels.add(facts["for"])
        if tag in _VOID and facts.get("type") not in _FREE and "label" not in self._open:
            self._fields.append(facts)
        if tag == "img" and "alt" not in facts:
            self.faults.append(f"no words for a picture: {facts.get('src')}")
        if "style" in facts or tag == "style" or (tag == "script" and "src" not in facts):
            self.faults.append(f"inline: {tag} {facts}")
        self.faults += [f"inline: {name}" for name in facts if name.startswith("on")]
        if tag in ("label", "title"):
            self._open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if self._open and self._open[-1] == tag:
            self._open.pop()

    def handle_data(self, data: str) -> None:
        if "title" in self._open:
            self.title += data


def _further(home: str, page: Page) -> tuple[list[str], list[str]]:
    """Addresses of this house that a page links to, and those that lie elsewhere."""
    inside, outside = [], []
    for link in page.links:
        whole = urljoin(HOME + home, link).partition("#")[0]
        if link.startswith("data:"):
            continue
        (inside if whole.startswith(HOME + "/") else outside).append(whole.removeprefix(HOME))
    return inside, outside


@pytest.fixture
def month(folder):
    """A month under way: one heat closed, one poured, one in the pot, a bag with its receipt."""
    book = open_book(folder)
    [plan] = plans_at_work(book)
    for heat in ("H1", "H3"):
        book.charge(plan, heat)
        book.molten(plan, heat)
        book.pour(plan, heat)
    book.close_heat(plan, "H3")
    book.charge(plan, "H2")
    book.papers.receipt("corvalho", ["S4"], gets="own_metal_back", by="leif")
    book.papers.stock_take(by="leif")
    return plan


def _kind(address: str) -> str:
    """What kind of page an address is; "" for the shop's own files and for nothing known."""
    try:
        return str(resolve(unquote(address.partition("?")[0])).view_name)
    except Resolver404:
        return ""


def _walk(client):
    """From / along every link; of one kind of page only the first few."""
    todo, seen, kinds = ["/"], {"/": "the start"}, Counter()
    while todo:
        address = todo.pop(0)
        name = _kind(address)
        if name and kinds[name] >= OF_A_KIND:
            continue
        kinds[name] += 1
        answer = client.get(address)
        page = None
        if answer.get("Content-Type", "").startswith("text/html") and answer.status_code == 200:
            page = Page(answer.content.decode())
        yield address, seen[address], answer, page
        links = [] if page is None else _further(address, page)[0]
        if answer.status_code in (301, 302):
            links = [urljoin(address, answer["Location"]).partition("#")[0]]
        for link in links:
            if link not in seen:
                seen[link] = address
                todo.append(link)
        answer.close()


def test_every_link_leads_to_a_page_that_is_whole(client, month):
    wrong, walked = [], 0
    for address, came_from, answer, page in _walk(client):
        walked += 1
        if answer.status_code not in (200, 301, 302):
            wrong.append((answer.status_code, address, "from", came_from))
        if page is None or "/drawing" in address or address.endswith(".svg"):
            continue
        told = [*page.faults, *(f"outside: {one}" for one in _further(address, page)[1])]
        if page.heads["html"] and (page.heads["h1"] != 1 or page.heads["title"] < 1):
            told.append(f"{page.heads['h1']} h1, {page.heads['title']} title")
        if page.heads["html"] and not page.title.strip():
            told.append("an empty title")
        wrong += [(address, one) for one in told]
    assert walked > 60
    assert not wrong, wrong


@pytest.fixture
def kinds(client, month):
    """One address of each kind of page."""
    found = {}
    for address, _, _, page in _walk(client):
        if page is not None and page.heads["html"]:
            found.setdefault(_kind(address), address)
    return found


_OPEN_ALL = "document.querySelectorAll('details').forEach(one => one.open = true)"


def _serious(page):
    """What axe finds that keeps somebody from using the page."""
    from axe_playwright_python.sync_playwright import Axe

    return [
        (one["id"], [node["html"][:120] for node in one["nodes"]][:3])
        for one in Axe().run(page).response["violations"]
        if one["impact"] in ("serious", "critical")
    ]


def test_every_kind_of_page_fits_a_phone_keeps_to_itself_and_is_open_to_all(open_page, kinds):
    # The policy is tested elsewhere; axe could not be brought into the page under it.
    page = open_page(viewport=PHONE, bypass_csp=True)
    found = {}
    for address in kinds.values():
        page.emulate_media(color_scheme="light")
        page.goto(address)
        page.wait_for_load_state("networkidle")
        page.evaluate(_OPEN_ALL)
        across = page.evaluate("document.documentElement.scrollWidth")
        told = [f"{across} px wide"] if across > PHONE["width"] else []
        told += _serious(page)
        page.emulate_media(color_scheme="dark")
        told += _serious(page)
        if told:
            found[address] = told
    assert not found, found
