"""Plans: asked for, watched, compared, accepted, dropped; their steps and cards."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any

from django.http import HttpResponse
from ninja import Router, Schema
from pydantic import Field

from lemel.api.compared import compared
from lemel.api.frame import act, book
from lemel.api.happened import Taken
from lemel.api.kept import kept_plan
from lemel.api.shapes import Name, many_out, plain_out
from lemel.api.taken import Id, Plain
from lemel.book import Book, Job, PlanStep, plans_at_work
from lemel.cards import month_pdf
from lemel.errors import BadInput
from lemel.plan import Plan, PlanOptions, to_document
from lemel.values import from_plain, to_plain
from lemel.words import say

__all__ = ["plan_of", "router"]

router = Router(tags=["plans"])
_Day = Annotated[date, Field(ge=date(1800, 1, 1), le=date(2300, 1, 1))]


class Asked(Plain):
    """A plan from the book as it is now: for all open lines or some, on a day, with wishes.

    `use_first` lots go in as far as the promise holds, `leave_out` stay in their bags, `moulds`
    are the only ones poured into; `finer` searches on at a tenth of the gap.
    """

    as_of: _Day | None = None
    lines: list[Name] | None = Field(None, max_length=500)
    seed: int = Field(1, ge=0, le=2**31)
    gap: float = Field(1e-3, ge=1e-6, le=0.5)
    work_most: int = Field(400_000, ge=1, le=10_000_000)
    use_first: list[Name] = Field([], max_length=500)
    leave_out: list[Name] = Field([], max_length=500)
    moulds: list[Name] = Field([], max_length=100)
    finer: bool = False
    by: Name | None = None


class AskedJob(Schema):
    """A piece of long work: running, done, refused, stopped or lost; `done` is the share through.

    `plan` is the finished plan as a document, `preview` one that is good already.
    """

    id: str
    kind: str
    about: str
    state: str
    made_at: str
    done: float
    best: float | None
    bound: float | None
    fault: dict[str, Any]
    plan: dict[str, Any] | None = None
    preview: dict[str, Any] | None = None


class Named(Plain):
    """A job or a plan by its id."""

    id: Name


class Accept(Plain):
    """The job whose plan is accepted."""

    job: Name


class Freed(Schema):
    """How many mg were reserved and are free again."""

    id: str
    freed_mg: int


class PlanRow(Schema):
    """An accepted plan that the shop works by."""

    id: str
    as_of: str
    heats: list[str]
    lines: int
    unmet: int


class Changed(Schema):
    """What two plans say otherwise of one thing."""

    about: str
    before: str
    after: str


class Compared(Schema):
    """What differs from plan `a` to plan `b`: how lines are met, what heats take, what is left
    over, and the question itself (inputs, readings, tables)."""

    a: str
    b: str
    asked: list[Changed]
    lines: list[Changed]
    heats: list[Changed]
    worth: list[Changed]


def _job(one: Job, whole: bool) -> dict[str, Any]:
    """A job; `whole` with its plan as a document."""
    told = {name: getattr(one, name) for name in AskedJob.model_fields if hasattr(one, name)}
    told["fault"], told["preview"] = dict(one.fault), None
    if whole and one.kind == "plan":
        told["plan"] = to_document(from_plain(Plan, one.answer), say) if one.answer else None
        told["preview"] = to_document(from_plain(Plan, one.preview), say) if one.preview else None
    return told


@router.get("/jobs", response=list[AskedJob])
def jobs(request: Any) -> Any:  # noqa: ARG001
    """The jobs that the book remembers, the newest first, without their answers."""
    return [_job(one, whole=False) for one in book().jobs.recent()]


@router.get("/job", response=AskedJob)
def job(request: Any, id: Name) -> Any:  # noqa: ARG001
    """How far a job has come, and its plan once it is done."""
    return _job(book().jobs.job(id), whole=True)


@router.post("/jobs", response={202: Id})
def start(request: Any, body: Asked) -> Any:
    """Ask for a plan; it is made in a process of its own. Look at /job for it."""
    wishes = {"use_first": body.use_first, "leave_out": body.leave_out, "moulds": body.moulds}
    options = PlanOptions(
        body.seed, body.gap, body.work_most, **{key: tuple(one) for key, one in wishes.items()}
    )

    def started(shop: Book) -> Any:
        problem = shop.bench.problem(body.as_of, lines=body.lines, options=options)
        if not problem.orders:
            raise BadInput("lines", body.lines, "an open order line", "Enter an order first.")
        asked = {"problem": to_plain(problem), "finer": body.finer}
        return {"id": shop.jobs.start("plan", asked, about="api", by=body.by or "")}

    return act(request, started, 202, alone=True)


@router.post("/jobs/stop", response=Id)
def stop(request: Any, body: Named) -> Any:
    """Ask a job to stop; one that is over stays as it is."""

    def stopped(shop: Book) -> Any:
        shop.jobs.stop(body.id)
        return {"id": body.id}

    return act(request, stopped, alone=True)


@router.get("/plans", response=list[PlanRow])
def plans(request: Any) -> Any:  # noqa: ARG001
    """The plans that the shop works by, the one accepted last first."""
    shop = book()
    return [
        {
            "id": plan.id, "as_of": plan.made_from.as_of, "heats": [one.id for one in plan.heats],
            "lines": len(plan.lines), "unmet": len(plan.unmet),
        }
        for plan in (kept_plan(shop, name) for name in plans_at_work(shop))
    ]  # fmt: skip


@router.get("/plan", response=dict[str, Any])
def plan(request: Any, id: Name) -> Any:  # noqa: ARG001
    """An accepted plan whole, as `lemel plan --json` writes it; nothing is computed anew."""
    return to_document(kept_plan(book(), id), say)


def plan_of(shop: Book, name: str) -> Plan:
    """An accepted plan, or the one that a job of this id has made."""
    if name in {one.id for one in shop.jobs.recent()}:
        done = shop.jobs.job(name)
        if done.kind != "plan" or done.answer is None:
            raise BadInput("job", name, "a job that has made its plan", f"It is {done.state}.")
        return from_plain(Plan, done.answer)
    return kept_plan(shop, name)


@router.post("/plans/accept", response={201: Taken})
def accept(request: Any, body: Accept) -> Any:
    """Keep the plan that a job made, whole, and reserve what it takes, in mg by heap."""
    return act(request, lambda shop: shop.accept(plan_of(shop, body.job)), 201)


@router.post("/plans/drop", response=Freed)
def drop(request: Any, body: Named) -> Any:
    """Free what is still reserved for a plan; what was done under it stays done."""
    return act(request, lambda shop: {"id": body.id, "freed_mg": shop.drop_plan(body.id)})


@router.get("/plans/compare", response=Compared)
def compare(request: Any, a: Name, b: Name) -> Any:  # noqa: ARG001
    """What differs between two plans, accepted or made by a job."""
    shop = book()
    return compared(plan_of(shop, a), plan_of(shop, b))


@router.get("/steps", response=many_out(PlanStep))
def steps(request: Any, plan: Name) -> Any:  # noqa: ARG001
    """The steps of an accepted plan in order: what each takes and gives in mg, and whether done."""
    return plain_out(book().steps(plan))


@router.get("/cards", response={200: bytes})
def cards(request: Any, plan: Name) -> Any:  # noqa: ARG001
    """The bench cards of a plan as PDF."""
    return HttpResponse(month_pdf(plan_of(book(), plan)), "application/pdf")
