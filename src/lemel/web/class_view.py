"""Class: many owners with a few grams each, one torch, one mill. No logins: the teacher's page."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import path
from django.utils.safestring import SafeString

from lemel.book import PLACES, Account, Book, PlanStep, find_heaps, place_sums, plans_at_work
from lemel.cards import label_pdf
from lemel.errors import BadInput
from lemel.values import Holding
from lemel.web import shell
from lemel.web.books_parts import fine, house_of, pdf, place_word, sheet, weight
from lemel.web.furnace_heats import kept_plan
from lemel.web.papers_labels import labels_of

__all__ = ["Turn", "queue", "urlpatterns"]

_MELT, _TOP_UP = "melt_and_pour", "top_up"
#: Which tool a step needs; those without one are done at one's own bench peg.
_AT = {_MELT: "fire", "mill": "mill", "cut": "saw", "part": "saw", "take": "saw"}
_TELLING = ("outside", "loss", "assay_difference", "stock_take")
_HERE = tuple(one for one in PLACES if one not in _TELLING)
_POT = "process"
#: So many heaps of one owner are shown: a student has few. So many are looked up together.
_SHOWN, _MANY = 50, 500
_HOME = ("piece", "store")
#: What the saw makes of stock that nobody takes home as it is.
_NOT_HOME = ("-kerf", "-scrap")
_AT_WORDS = {"fire": "At the fire", "mill": "At the mill", "saw": "At the saw"}


@dataclass(frozen=True, slots=True)
class Turn:
    """One step that waits for a tool: whose it is, and whether its metal is there yet."""

    owner: str
    plan: str
    step: str
    about: str
    ready: bool


@dataclass(slots=True)
class Student:
    """One owner as the teacher sees them."""

    id: str
    name: str
    gross: SafeString
    fine: list[tuple[str, SafeString]]
    where: str = "nothing planned"
    turn: int = 0
    home: list[tuple[str, str, SafeString]] = field(default_factory=list)
    to_come: list[tuple[str, SafeString]] = field(default_factory=list)
    #: How many heaps more there are than are shown.
    others: int = 0


def index(request: HttpRequest) -> HttpResponse:
    """Who is where, who is next at each tool, and what each takes home."""
    book = shell.book()
    held, house = _held(book), house_of(book)
    lines = queue(book, held)
    queues = []
    for tool, word in _AT_WORDS.items():
        shown = [one for one in lines[tool] if one.ready or one.owner != house]
        if shown:
            queues.append((word, shown, len(lines[tool]) - len(shown)))
    context = {"queues": queues, "students": _students(book, held, lines)}
    return sheet(request, "web/class_view/index.html", context)


def _held(book: Book) -> dict[Account, Holding]:
    """The first heaps of each owner who is not the shop, and what is in a pot."""
    house = house_of(book)
    found = dict(find_heaps(book, place=_POT, most=_MANY).heaps)
    for owner in place_sums(book):
        if owner != house:
            found |= dict(find_heaps(book, owner=owner, places=_HERE, most=_SHOWN).heaps)
    return found


def queue(book: Book, held: Mapping[Account, Holding]) -> dict[str, list[Turn]]:
    """Who waits for the fire, the mill and the saw: those whose metal is there first, in the
    plan's order."""
    pots = {one.body for one in held if one.place == _POT}
    there = _there(book)
    lines: dict[str, list[Turn]] = {tool: [] for tool in _AT_WORDS}
    for plan in plans_at_work(book):
        owners = _owners(book, plan)
        for step in book.steps(plan):
            if step.done or step.kind not in _AT:
                continue
            ready = step.about in pots or all(body in there for body in step.takes_mg)
            owner = owners.get(step.name) or next(
                (there[body] for body in step.takes_mg if body in there), ""
            )
            lines[_AT[step.kind]].append(Turn(owner, plan, step.name, _about(step), ready))
    return {tool: sorted(turns, key=lambda one: not one.ready) for tool, turns in lines.items()}


def _there(book: Book) -> dict[str, str]:
    """Whose each body in the store is, of those that a step still takes."""
    steps = (step for plan in plans_at_work(book) for step in book.steps(plan))
    taken = sorted({body for step in steps if not step.done for body in step.takes_mg})
    found = {}
    for n in range(0, len(taken), _MANY):
        some = taken[n : n + _MANY]
        page = find_heaps(book, place="store", bodies=some, most=_MANY)
        found.update({one.body: one.owner for one, _ in page.heaps})
    return found


def _about(step: PlanStep) -> str:
    return step.about.removeprefix(f"{step.plan}/")


def _owners(book: Book, plan: str) -> dict[str, str]:
    """Whose each step is, by the plan: that of its heat or bar."""
    kept = kept_plan(book, plan)
    found = {one.id: one.charge.owner for one in kept.heats}
    for work in kept.stock:
        found.update({one.bar.id: one.bar.owner for one in work.bars})
    named: dict[str, str] = {}
    for step in book.steps(plan):
        about = _about(step)
        owner = found.get(about) or found.get(about.rpartition("-")[0])
        if owner:
            named[step.name] = owner
    return named


def _students(
    book: Book, held: Mapping[Account, Holding], lines: Mapping[str, Iterable[Turn]]
) -> list[Student]:
    house = house_of(book)
    rows, coming, sums = [], _to_come(book), place_sums(book)
    for owner, name in book.owners().items():
        if owner == house or owner not in sums:
            continue
        own = {one: metal for one, metal in held.items() if one.owner == owner}
        whole = sum((one.metal for one in sums[owner].values()), Holding.nothing())
        heaps = sum(one.heaps for one in sums[owner].values())
        rows.append(
            Student(
                owner, name or owner, weight(whole.gross_mg), fine(whole.as_dict()),
                home=[(one.body, place_word(one.place), weight(metal.gross_mg))
                      for one, metal in own.items()],
                to_come=coming.get(owner, []), others=heaps - len(own),
            )
        )  # fmt: skip
    for row in rows:
        _place(row, held, lines)
    return rows


def _place(row: Student, held: Mapping[Account, Holding], lines: Mapping[str, Any]) -> None:
    """Where a student stands: in the pot, next at a tool, or waiting for one."""
    if any(one.owner == row.id and one.place == _POT for one in held):
        row.where = "metal is in the pot"
        return
    for tool, turns in lines.items():
        for n, turn in enumerate(turns, 1):
            if turn.owner == row.id and turn.ready:
                word = _AT_WORDS[tool].lower()
                row.where, row.turn = (f"next {word}" if n == 1 else f"number {n} {word}"), n
                return
    if any(turn.owner == row.id for turns in lines.values() for turn in turns):
        row.where = "waits for its own bar"


def _to_come(book: Book) -> dict[str, list[tuple[str, SafeString]]]:
    """What accepted plans are still to make of each owner's metal: pieces and remnants."""
    found: dict[str, list[tuple[str, SafeString]]] = {}
    for plan in plans_at_work(book):
        owners = _owners(book, plan)
        for step in book.steps(plan):
            if step.kind != "cut" or step.done:
                continue
            found.setdefault(owners.get(step.name, ""), []).extend(
                (own, weight(mg))
                for own, mg in step.gives_mg.items()
                if not own.endswith(_NOT_HOME) and own != step.name
            )
    return found


def _at_home(book: Book, owner: str) -> list[str]:
    """All that a student may take along."""
    found: list[Account] = []
    after = -1
    while after:
        page = find_heaps(book, owner=owner, places=_HOME, after=max(after, 0), most=_MANY)
        found += [one for one, _ in page.heaps]
        after = page.after
    return [one.body for one in sorted(found)]


def labels(request: HttpRequest) -> HttpResponse:
    """Bag labels for everything that is to be taken home, student after student."""
    book = shell.book()
    house, only = house_of(book), str(request.GET.get("owner", ""))
    bodies = [
        body
        for owner in sorted(book.owners())
        if owner != house and only in ("", owner)
        for body in _at_home(book, owner)
    ]
    if not bodies:
        raise BadInput("owner", only[:40], "a student with metal here", "Weigh it in first.")
    return pdf("class labels", label_pdf(labels_of(book, bodies), "bag"))


urlpatterns = [
    path("", index, name="class_view"),
    path("labels.pdf", labels, name="class-labels"),
]
