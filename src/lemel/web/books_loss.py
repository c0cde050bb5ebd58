"""Is metal leaking? Loss by operation and person against what may be, as rows and as a plot."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from django.http import HttpRequest, HttpResponse
from django.urls import path
from django.utils.safestring import SafeString

from lemel.book import FineLoss, LossRow
from lemel.web import shell
from lemel.web.books_owner import period
from lemel.web.books_parts import kind_word, sheet, weight

__all__ = ["Limits", "limits", "urlpatterns"]

_WIDE = 192.0
_LOOK, _STOP = 2, 3
#: The running sum that finds a slow leak speaks from here on.
_LEAK_MOST = 5.0
_GRADES = {
    "fine": "within what may be", "look": "look: beyond two sd", "stop": "stop: beyond three sd",
    "leak": "a slow leak", "unweighed": "nobody weighed: it stands in no sum",
}  # fmt: skip
_MG_IN_NG = 1e-6


@dataclass(frozen=True, slots=True)
class Limits:
    """A loss on its scale of 192 units: what may be (mean, 2 sd, 3 sd), what was, and nought."""

    said: str
    smears: tuple[tuple[float, float], ...]
    allowed: float
    real: float
    nought: float
    least: SafeString
    most: SafeString


def limits(lost_mg: float, allowed_mg: float, sd_mg: float) -> Limits:
    """Where a loss lies against what may be lost; left of nought is a gain.

    >>> limits(770.0, 770.0, 385.0).real == limits(770.0, 770.0, 385.0).allowed
    True
    """
    ends = (0.0, lost_mg, allowed_mg - 3.5 * sd_mg, allowed_mg + 3.5 * sd_mg)
    least, most = min(ends), max(ends)
    wide = (most - least) or 1.0

    def at(mg: float) -> float:
        return round((mg - least) / wide * _WIDE, 1)

    def smear(n: int) -> tuple[float, float]:
        begins = at(allowed_mg - n * sd_mg)
        return begins, round(at(allowed_mg + n * sd_mg) - begins, 1)

    said = (
        f"lost {lost_mg / 1000:.3f} g; expected {allowed_mg / 1000:.3f} g, "
        f"give or take {sd_mg / 1000:.3f} g"
    )
    return Limits(
        said,
        (smear(_STOP), smear(_LOOK)),
        at(allowed_mg),
        at(lost_mg),
        at(0.0),
        weight(least),
        weight(most),
    )


def losses(request: HttpRequest) -> HttpResponse:
    """Operation by operation, perhaps person by person; then what each owner misses."""
    book = shell.book()
    since, until = period(request)
    by_person = bool(request.GET.get("by_person"))
    before = (date.fromisoformat(until) + timedelta(1)).isoformat() if until else "9999"
    rows = [_row(one) for one in book.losses(since, before, by_person)]
    owners = [
        {
            "one": one,
            "plot": limits(
                one.unaccounted_ng * _MG_IN_NG, one.allowed_ng * _MG_IN_NG, one.sd_ng * _MG_IN_NG
            ),
            "off": weight(one.unaccounted_ng * _MG_IN_NG),
            "steps": weight(one.steps_ng * _MG_IN_NG),
            "counts": weight(one.stock_take_ng * _MG_IN_NG),
            "assays": weight(one.assay_ng * _MG_IN_NG),
            "told": weight(one.told_ng * _MG_IN_NG),
            "grade": _GRADES.get(one.grade, one.grade),
        }
        for one in book.papers.unaccounted(since, before)
    ]
    context = {
        "rows": rows, "missing": owners, "since": since, "until": until, "by_person": by_person,
    }  # fmt: skip
    return sheet(request, "web/books/loss.html", context)


def _row(one: LossRow) -> dict[str, object]:
    return {
        "one": one, "word": kind_word(one.operation),
        "plot": limits(one.loss_mg, one.allowed_mg, one.sd_mg) if one.steps else None,
        "lost": weight(one.loss_mg), "allowed": weight(one.allowed_mg), "sd": weight(one.sd_mg),
        "handled": weight(one.handled_mg), "gain": one.loss_mg < 0,
        "grade": _GRADES.get(one.grade, one.grade), "leaks": abs(one.leak) >= _LEAK_MOST,
        "fine": [_fine(part) for part in one.fine],
    }  # fmt: skip


def _fine(part: FineLoss) -> dict[str, object]:
    return {
        "part": part, "lost": weight(part.loss_ng * _MG_IN_NG),
        "allowed": weight(part.allowed_ng * _MG_IN_NG),
    }  # fmt: skip


urlpatterns = [path("loss/", losses, name="books-loss")]
