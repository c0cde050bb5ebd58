"""What the house decided: its rules one by one, and its prices with their day and source."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django.http import HttpRequest, HttpResponseBase
from django.urls import path

from lemel.book import Book
from lemel.errors import BadInput
from lemel.metal import standards
from lemel.tables import shipped
from lemel.values import METALS, Saying
from lemel.web import given, shell
from lemel.web.books_parts import link, once, sheet
from lemel.web.plan_view import COURSES
from lemel.web.reader import say

__all__ = ["urlpatterns"]

_PERCENT = 100.0
#: Rules that are a share and are shown as percent.
_SHARES = ("probability",)
_NUMBERS = {
    "probability": ("%", 50.0, 99.99), "hold_limit_min": ("min", 0.0, 600.0),
    "remelts_most": ("", 0.0, 100.0), "oldest_first_per_day": ("", 0.0, 1.0),
    "hold_days": ("days", 0.0, 400.0),
}  # fmt: skip
_PLAIN_PRICES = (
    "labour_per_h", "energy_per_kwh", "gas_per_kg", "wear_per_melt", "dealer_spread",
    "refining_least", "postage", "assay_fee",
)  # fmt: skip


def rules(request: HttpRequest) -> HttpResponseBase:
    """Every rule of the house, each changed by itself."""
    book = shell.book()
    with shell.faults(request):
        if request.method == "POST":
            return once(request, lambda: _rule(request, book))
    return sheet(request, "web/tools/rules.html", {"rows": _rows(book)})


def _choices() -> dict[str, list[tuple[str, str]]]:
    places = dict.fromkeys(one.jurisdiction for one in standards())
    return {
        "course": list(COURSES.items()),
        "promise_per": [("heat", "each heat"), ("plan", "the whole plan")],
        "jurisdiction": [(one, one) for one in places],
    }


def _rows(book: Book) -> list[dict[str, Any]]:
    standing = book.bench.rules()
    rows: list[dict[str, Any]] = []
    for name in ("probability", "promise_per", "course", "jurisdiction", "hold_limit_min",
                 "remelts_most", "oldest_first_per_day", "closing_time"):  # fmt: skip
        value = getattr(standing, name)
        if name in _SHARES:
            value = round(_PERCENT * value, 4)
        rows.append(_rule_row(name, value))
    days = shipped().with_overrides(book.bench.figures()).row("scrap_figures", "hold_days")
    rows.append(_rule_row("hold_days", days.number("value")))
    for work, share in sorted(standing.allowances.items()):
        row = _rule_row(f"allowances.{work}", round(_PERCENT * share, 4))
        rows.append({**row, "unit": "%"})
    return rows


def _rule_row(name: str, value: Any) -> dict[str, Any]:
    unit = _NUMBERS.get(name, ("", 0, 0))[0]
    shown = f"{value:.6f}".rstrip("0").rstrip(".") if isinstance(value, float) else str(value)
    family, dot, work = name.partition(".")
    return {
        "name": name, "value": shown, "unit": unit, "choices": _choices().get(name, []),
        "word": say(Saying(f"web.rule.{family}", {"work": work.replace("_", " ")} if dot else {})),
        "why": say(Saying(f"web.rule.{family}.why")),
        "said": dict(_choices().get(name, [])).get(shown, shown),
    }  # fmt: skip


def _rule(request: HttpRequest, book: Book) -> str:
    known = [row["name"] for row in _rows(book)]
    name = given.choice(request, "rule", known)
    book.bench.set_rule(name, _rule_value(request, name), by=given.text(request, "by", need=False))
    shell.tell(request, "The rule holds from the next plan on; plans that were made stay.")
    return link("tools-rules")


def _rule_value(request: HttpRequest, name: str) -> Any:
    if name in _choices():
        return given.choice(request, name, dict(_choices()[name]))
    if name == "closing_time":
        return _hour(request, name)
    if name.startswith("allowances."):
        return given.number(request, name, "%", most=_PERCENT) / _PERCENT
    unit, least, most = _NUMBERS[name]
    if name in ("remelts_most", "hold_days"):
        return given.whole(request, name, most=int(most))
    value = given.number(request, name, unit, least=least, most=most)
    return value / _PERCENT if name in _SHARES else value


def _hour(request: HttpRequest, name: str) -> str:
    said = given.text(request, name, need=False, longest=5)
    hour, colon, minute = said.partition(":")
    fits = colon and hour.isdigit() and minute.isdigit() and len(minute) == 2
    if said and not (fits and int(hour) < 24 and int(minute) < 60):
        raise BadInput(name, said, "an hour such as 17:00", "Write it so, or leave it empty.")
    return said


def prices(request: HttpRequest) -> HttpResponseBase:
    """Today's prices, each with its day and source, and a new one by hand."""
    book = shell.book()
    with shell.faults(request):
        if request.method == "POST":
            return once(request, lambda: _price(request, book))
    lines = book.bench.price_lines()
    now = book.bench.prices()
    names = [f"fine/{one}" for one in METALS] + [f"scrap_paid/{one}" for one in METALS]
    names += [*_PLAIN_PRICES, *(one.what for one in lines)]
    today = book.bench.today()
    context = {
        "lines": [{"line": one, "word": _what(one.what), "old": (today - one.on).days}
                  for one in lines],
        "currency": now.currency if now else "", "today": today.isoformat(),
        "names": [(one, _what(one)) for one in dict.fromkeys(names)],
    }  # fmt: skip
    return sheet(request, "web/tools/prices.html", context)


def _what(name: str) -> str:
    """A price by its name, in words."""
    head, *rest = name.split("/")
    values = {"of": " ".join(rest)} if rest else {}
    return say(Saying(f"web.price.{head}", values))


def _price(request: HttpRequest, book: Book) -> str:
    what = given.text(request, "what", longest=80)
    amount = given.number(request, "amount", most=1e6)
    day = given.day(request, "on")
    if day > book.bench.today():
        raise BadInput("on", day.isoformat(), "today or earlier", "Enter it when it holds.")
    book.bench.set_price(
        what, Decimal(str(amount)), on=day, source=given.text(request, "source"),
        currency=given.text(request, "currency", need=False, longest=3).upper(),
    )  # fmt: skip
    shell.tell(request, f"{_what(what)}: {amount:g}, from {day.isoformat()} on.")
    return link("tools-prices")


urlpatterns = [
    path("rules/", rules, name="tools-rules"),
    path("prices/", prices, name="tools-prices"),
]
