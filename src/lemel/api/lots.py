"""Scrap: weigh in, readings, questions before the pot, photographs, the register of purchases."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any, Literal

from django.http import HttpResponse
from ninja import Router, Schema, UploadedFile
from ninja.params import functions as params
from pydantic import Field

from lemel.api.frame import act, as_done, book
from lemel.api.happened import Happening
from lemel.api.now import Most
from lemel.api.people import Ids
from lemel.api.shapes import Name, Objected, Text, many_out, plain_out, shape_out, value_in
from lemel.api.taken import AdditionIn, BarIn, ConsentIn, Grams, Hand, LotIn, Plain, ReadingIn
from lemel.book import Bought, GateAnswer, Photo, find_lots, take_bags
from lemel.errors import BadInput
from lemel.files import read_bags
from lemel.scrap import ScrapProblem, believe
from lemel.values import Addition, Bar, Consent, Lot, Reading

__all__ = ["router"]

router = Router(tags=["scrap"])
#: What comes as a form with a file.
_FILE: Any = params.File(...)
_NO: Any = params.Form(False)
_BY: Any = params.Form("", max_length=120)
_ABOUT: Any = params.Form(..., min_length=1, max_length=120)
_OF: Any = params.Form("mark")


class Lots(Schema):
    """Some lots; `after` asks for the next ones ("": there are none)."""

    lots: list[shape_out(Lot)]  # type: ignore[valid-type]
    after: str


class WeighIn(Plain):
    """What comes in, all or none: owners by id and name, lots with their readings and consents,
    clean additions, bars. `by` is who weighed."""

    owners: dict[Name, Text] = Field({})
    lots: list[LotIn] = Field([], max_length=2000)
    readings: list[ReadingIn] = Field([], max_length=5000)
    consents: list[ConsentIn] = Field([], max_length=500)
    additions: list[AdditionIn] = Field([], max_length=100)
    bars: list[BarIn] = Field([], max_length=500)
    by: Name | None = None


class Weighed(Schema):
    """The entries that brought it in: number, and the body that each is about."""

    entries: list[int]
    ids: list[str]


class Readings(Plain):
    """Evidence as it was taken."""

    readings: list[ReadingIn] = Field(min_length=1, max_length=5000)


class Belief(Schema):
    """What is believed of a lot's main metal, millesimal: mean, one sd, and how sure it is that
    the lot is what it is taken for."""

    lot: str
    main: str
    mean_millesimal: float
    sd_millesimal: float
    doubt: float
    composition_millesimal: dict[str, float]
    readings: int


class Gates(Schema):
    """What still keeps a lot out of the pot, and every answer that was given."""

    lot: str
    may_melt: bool
    open: list[Objected]
    answers: list[shape_out(GateAnswer)]  # type: ignore[valid-type]


class Answered(Plain):
    """yes: the trouble is there. `seen` says what was seen or weighed."""

    lot: Name
    gate: Name
    answer: Literal["yes", "no", "unknown"]
    seen: Text = ""
    by: Name | None = None


class Picture(Schema):
    """A photograph that the book keeps, by the SHA-256 of its bytes."""

    digest: str
    size_bytes: int


class Purchase(Plain):
    """What was bought of whom: the least that a register keeps."""

    lot: Name
    seller: Name
    described: Text


class Split(Hand):
    """New lots out of one, by weight; `whole`: nothing is left in the old bag."""

    body: Name
    parts_g: dict[Name, Grams] = Field(min_length=1, max_length=100)
    whole: bool = False
    answered: bool = False


class Merge(Hand):
    """Lots into one bag, of one owner or by a consent to mix."""

    bodies: list[Name] = Field(min_length=2, max_length=100)
    into: Name
    owner: Text = ""
    consent: Text = ""


@router.get("/lots", response=Lots)
def lots(
    request: Any,  # noqa: ARG001
    words: Text = "",
    owner: Text = "",
    after: Text = "",
    most: Most = 50,
) -> Any:
    """Lots with metal in the store at the mass they have now, a page at a time. Each of the
    `words` stands in the id or in what was written of the lot."""
    some = find_lots(book(), words, owner=owner, after=after, most=most)
    return {"lots": plain_out(some.lots), "after": some.after}


def _lot(name: str) -> Lot:
    found = find_lots(book(), ids=[name]).lots
    if not found:
        raise BadInput("lot", name, "a lot with metal in the store", "Look it up in /api/lots.")
    return found[0]


@router.get("/lot", response=shape_out(Lot))
def lot(request: Any, id: Name) -> Any:  # noqa: ARG001
    """One lot as it is now."""
    return plain_out(_lot(id))


@router.post("/lots", response={201: Weighed})
def weigh_in(request: Any, body: WeighIn) -> Any:
    """Weigh in: all of it or nothing. The same again changes nothing; another thing under the
    same id is refused."""
    made = {
        "lots": [value_in(Lot, one) for one in body.lots],
        "readings": [value_in(Reading, one) for one in body.readings],
        "consents": [value_in(Consent, one) for one in body.consents],
        "additions": [value_in(Addition, one) for one in body.additions],
        "bars": [value_in(Bar, one) for one in body.bars],
    }

    def weighed(shop: Any) -> Any:
        sealed = shop.weigh_in(**made, owners=body.owners, by=body.by or "")
        ids = [one.id for kind in ("lots", "additions", "bars") for one in made[kind]]
        return {"entries": [one.number for one in sealed], "ids": ids}

    return act(request, weighed, 201)


class Told(Schema):
    """One fault of one row: where, what stood there, what is allowed, what to do."""

    field: str
    value: str
    allowed: str
    do: str


class Bags(Schema):
    """What a file of bags brought, or why not; with faults nothing was written."""

    written: bool
    lots: list[str]
    readings: list[str]
    faults: list[Told]


@router.post("/lots/file", response=Bags)
def weigh_in_file(
    request: Any,
    file: UploadedFile = _FILE,
    dry_run: bool = _NO,
    by: str = _BY,
) -> Any:
    """Many bags from one CSV or .xlsx file as docs/files.md has it; `dry_run` looks it over."""
    name, data = str(file.name), file.read()

    def taken(shop: Any) -> Any:
        found = take_bags(shop, read_bags(name, data), dry_run=dry_run, by=by)
        faults = [
            {
                "field": one.field,
                "value": str(one.value)[:200],
                "allowed": one.allowed,
                "do": one.do,
            }
            for one in found.faults
        ]
        return {
            "written": found.written, "lots": [one.id for one in found.lots],
            "readings": [one.id for one in found.readings], "faults": faults,
        }  # fmt: skip

    return act(request, taken, alone=True)


@router.get("/belief", response=Belief)
def belief(request: Any, lot: Name) -> Any:  # noqa: ARG001
    """What is believed of a lot by all its readings, errors that it shares with others apart."""
    shop, one = book(), _lot(lot)
    found = tuple(r for r in shop.readings(lot) if not r.withdrawn)
    beliefs = believe(ScrapProblem((one,), found)).beliefs
    mean = beliefs.mean[0]
    return {
        "lot": lot, "main": one.main, "mean_millesimal": mean.share(one.main) * 1000,
        "sd_millesimal": beliefs.sd(lot) * 1000, "doubt": beliefs.doubt[0],
        "composition_millesimal": plain_out(mean), "readings": len(found),
    }  # fmt: skip


@router.get("/readings", response=many_out(Reading))
def readings(request: Any, about: Name) -> Any:  # noqa: ARG001
    """All evidence on a lot, bar or heat; what was withdrawn is marked so."""
    return plain_out(book().readings(about))


@router.post("/readings", response={201: Ids})
def enter_readings(request: Any, body: Readings) -> Any:
    """Evidence as it was taken; it changes no balance by itself."""
    taken = [value_in(Reading, one) for one in body.readings]

    def entered(shop: Any) -> Any:
        shop.enter_readings(taken)
        return {"ids": [one.id for one in taken]}

    return act(request, entered, 201)


@router.get("/gates", response=Gates)
def gates(
    request: Any,  # noqa: ARG001
    lot: Name,
    on: Annotated[date | None, Field(ge=date(1800, 1, 1), le=date(2300, 1, 1))] = None,
) -> Any:
    """May this lot be melted (on a day)? What stands against it, and every answer."""
    bench = book().bench
    found = bench.open_gates(lot, on)
    return {
        "lot": lot, "may_melt": not any(one.grade in ("stop", "ask") for one in found),
        "open": plain_out(found), "answers": plain_out(bench.gate_answers(lot)),
    }  # fmt: skip


@router.post("/gates", response={201: shape_out(GateAnswer)})
def answer_gate(request: Any, body: Answered) -> Any:
    """Answer a question that comes before the pot, by what was seen or weighed."""
    return act(
        request,
        lambda shop: shop.bench.answer_gate(
            body.lot, body.gate, body.answer, seen=body.seen, by=body.by or ""
        ),
        201,
    )


@router.get("/photos", response=many_out(Photo))
def photos(request: Any, about: Name) -> Any:  # noqa: ARG001
    """The registered pictures of a lot, bar or piece."""
    return plain_out(book().bench.photos(about))


@router.get("/photo", response={200: bytes})
def photo(request: Any, digest: Text) -> Any:  # noqa: ARG001
    """A picture's bytes, by its digest and nothing else."""
    data, media = book().bench.photo(digest)
    return HttpResponse(data, media)


@router.post("/photos", response={201: Picture})
def keep_photo(
    request: Any,
    file: UploadedFile = _FILE,
    about: str = _ABOUT,
    of: Literal["mark", "whole", "damage"] = _OF,
    by: str = _BY,
) -> Any:
    """A picture of a mark, the whole thing or a damage: PNG, JPEG or WebP up to 12 MiB. Its
    file's name is not looked at."""
    data = file.read()

    def kept(shop: Any) -> Any:
        made = shop.bench.keep_photo(about, data, of=of, by=by)
        return {"digest": made.digest, "size_bytes": made.size_bytes}

    return act(request, kept, 201)


@router.get("/purchases", response=many_out(Bought))
def purchases(request: Any) -> Any:  # noqa: ARG001
    """The register of what was bought in."""
    return plain_out(book().purchases())


@router.post("/purchases", response={201: Ids})
def enter_purchase(request: Any, body: Purchase) -> Any:
    """A lot was bought of somebody."""

    def entered(shop: Any) -> Any:
        return {"ids": [shop.enter_purchase(body.lot, body.seller, body.described).lot]}

    return act(request, entered, 201)


@router.post("/lots/split", response={201: Happening})
def split(request: Any, body: Split) -> Any:
    """New lots out of one, by weight."""
    return act(
        request,
        lambda shop: as_done(
            shop.mishaps.split(
                body.body, body.parts_g, whole=body.whole, answered=body.answered, **body.hand
            )
        ),
        201,
    )


@router.post("/lots/merge", response={201: Happening})
def merge(request: Any, body: Merge) -> Any:
    """Lots into one bag: of one owner, or by a consent to mix; of one metal and family."""
    return act(
        request,
        lambda shop: as_done(
            shop.mishaps.merge(
                body.bodies, body.into, owner=body.owner, consent=body.consent, **body.hand
            )
        ),
        201,
    )
