"""What is done to one bag: a reading, a weighing in water, an answer, a photograph, a leave."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from django.http import HttpRequest

from lemel import metal
from lemel.book import Book, standing_consents
from lemel.errors import BadInput
from lemel.scrap import gate_codes, method_codes
from lemel.tables import shipped
from lemel.values import CONSENTS, Consent, Lot, Quantity, Reading
from lemel.web import given
from lemel.web.reader import say, show
from lemel.web.scrap_words import ALLOWS

__all__ = ["ACTS", "MEDIA", "at_field", "upload"]

#: What a photograph may be.
MEDIA = ("image/png", "image/jpeg", "image/webp")
_ANSWERS = ("yes", "no", "unknown")
_PHOTO_MOST = 12 * 1024 * 1024


def upload(request: HttpRequest, name: str, most: int = _PHOTO_MOST) -> tuple[str, bytes] | None:
    """A file that was sent with a form: its name and bytes; None where none was."""
    sent = request.FILES.get(name)
    if sent is None:
        return None
    if sent.size is None or sent.size > most:
        allowed = f"{most // (1024 * 1024)} MB at most"
        raise BadInput(name, f"{sent.size} bytes", allowed, "Take a smaller one.")
    return str(sent.name), sent.read()


def at_field(fault: BadInput, names: Mapping[str, str]) -> BadInput:
    """The same fault under the name that the field has on the page."""
    field = names.get(fault.field, fault.field)
    return BadInput(field, fault.value, fault.allowed, fault.do, fault.others)


def _read(request: HttpRequest, book: Book, lot: Lot) -> list[str]:
    """Evidence as it was taken."""
    method = given.choice(request, "method", method_codes(shipped()))
    said = given.number(request, "fineness", "‰", most=1000)
    reading = Reading(
        given.text(request, "reading", longest=80), lot.id, method, {lot.main: said / 1000},
        source=given.text(request, "source", need=not method.startswith("stamp")),
        taken_on=given.day(request, "taken_on"), by=given.text(request, "by", need=False),
    )  # fmt: skip
    book.enter_readings([reading])
    return [f"{lot.id}: {said:g} is on record. How far it moved the belief stands below."]


def _water(request: HttpRequest, book: Book, lot: Lot) -> list[str]:
    """Weighed in air and in water: what it can reject; it never proves."""
    method = given.choice(
        request, "water_method", [m for m in method_codes(shipped()) if "density" in m]
    )
    claimed = given.optional_number(request, "claimed", "‰", least=1, most=1000)
    metals = (lot.main, *given.text(request, "beside").split(","))
    found = metal.weigh(
        metal.Weighing(
            given.number(request, "air_g", "g", least=0.001, most=50_000),
            given.number(request, "water_g", "g", least=0.0005, most=50_000),
            given.number(request, "water_c", "°C", most=40),
            metals,
            step_g=given.number(request, "step_g", "g", least=0.0001, most=10),
            claimed=None if claimed is None else claimed / 1000,
        )
    )  # fmt: skip
    reading = Reading(
        given.text(request, "reading", longest=80), lot.id, method,
        source=f"water {given.day(request, 'water_on').isoformat()}",
        density_g_cm3=found.density_g_cm3, taken_on=given.day(request, "water_on"),
        by=given.text(request, "water_by", need=False),
    )  # fmt: skip
    book.enter_readings([reading])
    low, high = found.fineness_interval_95
    told = [
        f"{show(Quantity(found.density_g_cm3, 'g/cm3'))}: between {low:.0f} and {high:.0f} ‰ "
        "19 times in 20.",
        say(found.said),
    ]
    return [*told, *(say(caution) for caution in found.cautions)]


def _withdraw(request: HttpRequest, book: Book, lot: Lot) -> list[str]:
    """A reading that was wrong counts no more; it stays to be seen."""
    known = [one.id for one in book.readings(lot.id) if not one.withdrawn]
    name = given.choice(request, "reading", known)
    book.withdraw(name)
    return [f"{name} counts no more. It stays in the book to be seen."]


def _gate(request: HttpRequest, book: Book, lot: Lot) -> list[str]:
    """An answer with what was seen."""
    gate = given.choice(request, "gate", gate_codes(tables=shipped()))
    try:
        answer = given.choice(request, f"answer-{gate}", _ANSWERS)
        seen = given.text(request, f"seen-{gate}", need=answer != "unknown", longest=300)
        book.bench.answer_gate(lot.id, gate, answer, seen=seen)
    except BadInput as fault:
        names = {"seen": f"seen-{gate}", "answer": f"answer-{gate}", "gate": f"answer-{gate}"}
        raise at_field(fault, names) from None
    return [f"{lot.id}: what was seen is on record."]


def _photo(request: HttpRequest, book: Book, lot: Lot) -> list[str]:
    """A photograph before melting; one of the marks answers the question for them."""
    of = given.choice(request, "of", ("mark", "whole", "damage"))
    sent = upload(request, "photo")
    if sent is None:
        raise BadInput("photo", "", "a PNG, JPEG or WebP picture", "Choose or take one.")
    book.bench.keep_photo(lot.id, sent[1], of=of)
    return [f"The picture of {lot.id} is kept."]


def _allow(request: HttpRequest, book: Book, lot: Lot) -> list[str]:
    """What the owner allows: what, how much, until when it was said."""
    allows = given.choice(request, "allows", ALLOWS)
    if allows == "mix_with":
        allows = f"mix_with:{given.choice(request, 'mix_owner', book.owners())}"
    percent = None
    if allows == "loss_percent":
        percent = given.number(request, "percent", "%", most=100)
    assert allows.partition(":")[0] in CONSENTS
    book.enter_consents([
        Consent(
            given.text(request, "consent", longest=80), lot.owner, allows,
            given.day(request, "given_on"),
            given.optional_number(request, "limit_g", "g", least=0.01, most=100_000),
            given.text(request, "document", need=False) or None,
            (lot.id,) if given.choice(request, "covers", ("bag", "all")) == "bag" else (),
            percent,
        )
    ])  # fmt: skip
    return [f"On record: {book.owners().get(lot.owner, lot.owner)} allows it."]


def _take_back(request: HttpRequest, book: Book, lot: Lot) -> list[str]:
    """A leave that is over."""
    known = [one.id for one in standing_consents(book) if one.owner == lot.owner]
    name = given.choice(request, "consent", known)
    book.withdraw(name)
    return [f"{name} holds no more."]


ACTS: Mapping[str, Callable[[HttpRequest, Book, Lot], list[str]]] = {
    "read": _read, "water": _water, "withdraw": _withdraw, "gate": _gate, "photo": _photo,
    "allow": _allow, "take_back": _take_back,
}  # fmt: skip
