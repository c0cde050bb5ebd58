"""Bags from a CSV or a spreadsheet: looked over row by row, then all of them or none."""

from __future__ import annotations

import base64
import binascii
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from lemel.book import Book, TakenBags, take_bags
from lemel.errors import BadInput
from lemel.files import read_bags
from lemel.web import given, shell
from lemel.web.scrap_acts import upload
from lemel.web.scrap_beliefs import lots

__all__ = ["from_file"]

_MOST = 8 * 1024 * 1024
#: A file up to this is carried from the look-over to the weigh-in; a larger one is chosen again.
_CARRIED_MOST = 900_000
_NAME = "carried-name"


def from_file(request: HttpRequest) -> HttpResponse:
    """Look a file over and list what is not right with it; weigh its bags in."""
    book = shell.book()
    context: dict[str, Any] = {}
    with shell.faults(request):
        if request.method == "POST":
            do = given.choice(request, "do", ("look", "weigh"))
            name, data = _content(request)
            found = _take(request, book, name, data, dry_run=do == "look")
            if found.written:
                shell.tell(request, f"{len(found.lots)} bags are weighed in from {name}.")
                return redirect("scrap")
            context = {"found": found, "name": name, "grams": sum(x.mass_g for x in found.lots)}
            if not found.faults and len(data) <= _CARRIED_MOST:
                context["carried"] = base64.b64encode(data).decode()
    status = 422 if context and context["found"].faults else None
    context["owners"] = book.owners().items()
    return shell.show(request, "web/scrap/file.html", context, status=status)


def _content(request: HttpRequest) -> tuple[str, bytes]:
    """The file that was chosen, or the one that was looked over just now."""
    sent = upload(request, "file", _MOST)
    if sent is not None:
        # A name of a file is shown and its ending read; nothing is ever opened by it.
        return sent[0].replace("\\", "/").rpartition("/")[2][:80], sent[1]
    carried = str(request.POST.get("carried", ""))
    if not carried:
        raise BadInput("file", "", "a CSV or an .xlsx file", "Choose the file.")
    try:
        return given.text(request, _NAME, longest=80), base64.b64decode(carried, validate=True)
    except binascii.Error:
        raise BadInput("file", "", "a CSV or an .xlsx file", "Choose the file again.") from None


def _take(request: HttpRequest, book: Book, name: str, data: bytes, *, dry_run: bool) -> TakenBags:
    metals = {lot.id: lot.main for lot in lots(book)}
    try:
        bags = read_bags(name, data, metals)
    except BadInput as fault:
        raise BadInput("file", fault.value, fault.allowed, fault.do) from None
    return take_bags(book, bags, owners=_owners(request), dry_run=dry_run,
                     by=given.text(request, "by", need=False))  # fmt: skip


def _owners(request: HttpRequest) -> dict[str, str]:
    """New owners, one a line: short name = name."""
    found = {}
    for line in given.text(request, "new_owners", need=False, longest=2000).splitlines():
        code, mark, name = line.partition("=")
        if not mark or not code.strip() or not name.strip():
            raise BadInput("new_owners", line[:40], "lines like lena = Lena", "Write it so.")
        found[code.strip()] = name.strip()
    return found
