"""Orders: what is to be made, line by line; the plan for it stands in `plan`."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import groupby
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import include, path

from lemel import cut, metal
from lemel.book import Book, Wanted, plans_at_work
from lemel.errors import BadInput
from lemel.metal import standards
from lemel.tables import shipped
from lemel.values import COLOURS, ORIGINS, WHATS, Composition, OrderLine
from lemel.web import given, shell
from lemel.web.naming import piece
from lemel.web.orders_sizes import KINDS, measures, sizes_of
from lemel.web.plan_jobs import recent

__all__ = ["urlpatterns"]

_STATES = {
    "open": "to be planned", "planned": "planned", "made": "made", "met": "met",
    "dropped": "dropped",
}  # fmt: skip
_COLOUR_WORDS = {
    "none": "as it comes", "yellow": "yellow", "rose": "rose", "red": "red", "green": "green",
    "white_pd": "white, with palladium", "white_ni": "white, with nickel",
}  # fmt: skip
_CLAIMS = {"": "none", "post_consumer": "from used things", "refined_declared": "refined, declared"}
_WHAT_WORDS = {
    "ring": "ring", "bangle": "bangle", "disc": "disc", "jump_ring": "jump rings", "chain": "chain",
    "outline": "blank by its outline", "stock": "stock",
}  # fmt: skip


#: Sizes that the page asks for under another name.
_ON_PAGE = {"side_mm": "diameter_mm", "height_mm": "thickness_mm", "path_mm": "drawing"}


def index(request: HttpRequest) -> HttpResponse:
    """Orders with how far each line is, the plans, and the work on plans."""
    book = shell.book()
    every = "all" in request.GET
    lines = book.bench.orders(open_only=not every)
    grouped = [
        (order, own, _said(own))
        for order, found in groupby(lines, key=lambda one: one.line.order)
        for own in [list(found)]
    ]
    context = {
        "orders": grouped, "every": every, "states": _STATES, "owners": book.owners(),
        "plans": plans_at_work(book), "jobs": recent(book), "whats": _WHAT_WORDS.items(),
        "left": sum(1 for one in lines if one.left),
    }  # fmt: skip
    return shell.show(request, "web/orders/index.html", context)


def _said(lines: Sequence[Wanted]) -> str:
    """What an order wants in all: "6 rings, a bangle"."""
    counts: dict[str, int] = {}
    for one in lines:
        counts[one.line.what] = counts.get(one.line.what, 0) + one.line.count
    first = {one.line.what: one.line for one in reversed(lines)}
    return ", ".join(piece(first[what], count) for what, count in counts.items())


def enter(request: HttpRequest, what: str) -> HttpResponse:
    """One order line, or one a ring size."""
    book = shell.book()
    if what not in WHATS:
        raise BadInput("what", what, ", ".join(WHATS), "Choose a kind of piece.")
    with shell.faults(request):
        if request.method == "POST":
            lines = _lines(request, book, what)
            customer = given.text(request, "customer", need=False, longest=80)
            customers = {lines[0].order: customer} if customer else {}
            book.bench.enter_orders(lines, customers=customers)
            for line in lines:
                said = measures(str(line.sizes["size"])) if "size" in line.sizes else ""
                shell.tell(request, f"{line.id} is entered. {said}".strip())
            return redirect("orders")
    order = str(request.GET.get("order", "")) or _next_order(book)
    context = {
        "what": what, "word": _WHAT_WORDS[what], "sizes": KINDS[what], "order": order,
        "first": _first(book, order), "owners": book.owners().items(),
        "standards": _standards(book), "colours": _COLOUR_WORDS.items(),
        "claims": _CLAIMS.items(), "whats": _WHAT_WORDS.items(),
        "house": book.bench.workshop().house,
    }  # fmt: skip
    return shell.show(request, "web/orders/enter.html", context)


def _standards(book: Book) -> list[tuple[str, str]]:
    """The standards of the house's own place first, silver before gold."""
    own = book.bench.rules().jurisdiction
    found = sorted(standards(), key=lambda s: (s.jurisdiction != own, s.jurisdiction, s.main, s.id))
    return [(one.id, one.id) for one in found]


def _next_order(book: Book) -> str:
    lines = book.bench.orders(open_only=False)
    numbers = [int(m[1]) for one in lines if (m := re.fullmatch(r"O(\d+)", one.line.order))]
    return f"O{max(numbers, default=0) + 1}"


def _first(book: Book, order: str) -> int:
    """The number of the first new line of an order."""
    own = [one.line.id for one in book.bench.orders(open_only=False) if one.line.order == order]
    ends = [int(m[1]) for name in own if (m := re.search(r"\.(\d+)$", name))]
    return max(ends, default=0) + 1


def _lines(request: HttpRequest, book: Book, what: str) -> list[OrderLine]:
    order = given.text(request, "order", longest=40)
    first = given.whole(request, "first", least=1, most=9999)
    standard = given.choice(request, "standard", [one.id for one in standards()])
    common: dict[str, Any] = {
        "order": order, "owner": given.choice(request, "owner", book.owners()), "what": what,
        "count": given.whole(request, "count", least=1, most=10_000), "standard": standard,
        "due_on": given.day(request, "due_on") if request.POST.get("due_on") else None,
        "claim": given.choice(request, "claim", ("", *ORIGINS)) or None,
        "colour": given.choice(request, "colour", COLOURS),
        "use_lots": _lots(request, book), "note": given.text(request, "note", need=False),
    }  # fmt: skip
    made = [
        OrderLine(id=f"{order}.{first + n}", sizes=sizes, **common)
        for n, sizes in enumerate(sizes_of(request, what))
    ]
    _check(made, standard)
    return made


def _lots(request: HttpRequest, book: Book) -> tuple[str, ...]:
    named = given.text(request, "use_lots", need=False, longest=300)
    chosen = tuple(dict.fromkeys(one.strip() for one in named.split(",") if one.strip()))
    known = {lot.id for lot in book.lots()} if chosen else set()
    for one in chosen:
        if one not in known:
            raise BadInput("use_lots", one, "bags of the house", "Look the number up under Scrap.")
    return chosen


def _check(lines: list[OrderLine], standard: str) -> None:
    """Sizes that cannot be cut are said at their field before anything is written."""
    one = metal.standard(standard)
    main = Composition.of({one.main: one.least}, 1 - one.least if one.least < 1 else 0.0)
    try:
        cut.need(lines, {standard: main}, tables=shipped())
    except BadInput as fault:
        first = fault.all[0]
        name = first.field.rpartition(".")[2]
        name = _ON_PAGE.get(name, name)
        raise BadInput(name, first.value, first.allowed, first.do) from None


def close(request: HttpRequest, line: str) -> HttpResponse:
    """A line is met or dropped by hand."""
    book = shell.book()
    with shell.faults(request):
        if request.method == "POST":
            how = given.choice(request, "how", ("met", "dropped"))
            book.bench.close_order(line, how)
            shell.tell(request, f"{line} is {how}.")
            return redirect("orders")
    return index(request)


urlpatterns = [
    path("", index, name="orders"),
    path("new/<str:what>/", enter, name="order-enter"),
    path("close/<path:line>/", close, name="order-close"),
    path("plan/", include("lemel.web.plan")),
]
