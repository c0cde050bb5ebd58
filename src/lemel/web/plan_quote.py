"""A quotation for a customer, from an accepted plan."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from lemel.web import given, shell
from lemel.web.plan_jobs import made

__all__ = ["quote", "quote_pdf"]

_MOST_ASSAYS, _MOST_DAYS = 50, 365


def quote(request: HttpRequest, name: str) -> HttpResponse:
    """What an order costs by its plan, with everything that was assumed."""
    book = shell.book()
    found = made(book, name)
    orders = dict.fromkeys(line.order for line in found.plan.lines if line.met_by != "unmet")
    with shell.faults(request):
        if request.method == "POST":
            paper = book.papers.quote(
                found.plan.id, given.choice(request, "order", orders),
                given.choice(request, "owner", book.owners()),
                assays=given.whole(request, "assays", most=_MOST_ASSAYS),
                valid_days=given.whole(request, "valid_days", least=1, most=_MOST_DAYS),
                by=given.text(request, "by", need=False),
            )  # fmt: skip
            return redirect("quote-pdf", paper.number)
    context = {
        "name": name, "plan": found.plan, "accepted": found.accepted,
        "orders": [(order, order) for order in orders], "owners": book.owners().items(),
    }  # fmt: skip
    return shell.show(request, "web/plan/quote.html", context)


def quote_pdf(request: HttpRequest, number: str) -> HttpResponse:  # noqa: ARG001
    """A quotation as it was given out, to print."""
    book = shell.book()
    paper = book.papers.read_quote(number)
    answer = HttpResponse(book.papers.pdf(paper), "application/pdf")
    answer["Content-Disposition"] = f'inline; filename="quotation-{paper.number}.pdf"'
    return answer
