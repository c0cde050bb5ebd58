"""Work on bars: steps of a plan by weight, runs with their passes, undoing."""

from __future__ import annotations

from typing import Annotated, Any

from ninja import Router
from pydantic import Field

from lemel.api.frame import act, as_done, book
from lemel.api.happened import Happening, Step
from lemel.api.shapes import Name, Text, many_out, plain_out, shape_out
from lemel.api.taken import Hand, Id, Plain, Weights
from lemel.book import Book, Run, RunEvent

__all__ = ["router"]

router = Router(tags=["work"])
_Mm = Annotated[float, Field(gt=0, le=100_000, allow_inf_nan=False, description="mm")]
_N = Annotated[int, Field(ge=1, le=10_000)]


class Worked(Hand):
    """A step that parts, mills or cuts a bar: `before_g` the bar, `after_g` what came of it, by
    body in g; what is not told is as planned."""

    plan: Name
    step: Name
    before_g: Weights = Field({})
    after_g: Weights = Field({})
    answers: dict[Name, Text] = Field({})


class OfPlan(Hand):
    """A step of a plan by its name, or the last thing that a heat (H1) went through."""

    plan: Name
    step: Name


class Begun(Plain):
    """Which step is worked on."""

    plan: Name
    step: Name
    by: Name | None = None


class Ticked(Plain):
    """One thing in a run, by its number `n`; `mend` writes it anew."""

    run: Name
    n: _N
    note: Text = ""
    mend: bool = False
    by: Name | None = None

    @property
    def common(self) -> dict[str, Any]:
        """What every tick has."""
        return {"note": self.note, "mend": self.mend, "by": self.by or ""}


class Pass(Ticked):
    """Pass `n` is done; sizes as they were measured after it, mm. What nobody measured is left
    out and is not guessed."""

    thickness_mm: _Mm | None = None
    width_mm: _Mm | None = None
    length_mm: _Mm | None = None


class Crack(Ticked):
    """A crack was seen: its place from the leading end and its depth, mm."""

    place_mm: Annotated[float, Field(ge=0, le=100_000, allow_inf_nan=False)] | None = None
    depth_mm: _Mm | None = None


class Ended(Plain):
    """The run is done, or why it stopped."""

    run: Name
    how: Annotated[str, Field(min_length=1, max_length=200, pattern=r"^[^\x00-\x1f]+$")] = "done"
    by: Name | None = None


@router.post("/steps/work", response={201: Step})
def work(request: Any, body: Worked) -> Any:
    """Take, part, mill or cut a bar by a plan, from real weights."""
    return act(
        request,
        lambda shop: as_done(
            shop.work(
                body.plan,
                body.step,
                before=body.before_g,
                after=body.after_g,
                answers=body.answers,
                **body.hand,
            )
        ),
        201,
    )


@router.post("/steps/undo", response={201: Happening})
def undo(request: Any, body: OfPlan) -> Any:
    """Take a step back by a reversal, as long as its heat is open and nothing stands on it."""
    return act(
        request,
        lambda shop: as_done(shop.mishaps.undo_step(body.plan, body.step, **body.hand)),
        201,
    )


@router.get("/runs", response=many_out(Run))
def runs(
    request: Any,  # noqa: ARG001
    plan: Name,
    step: Name | None = None,
) -> Any:
    """The working runs of a plan or of one step, with their passes in order."""
    return plain_out(book().bench.runs(plan, step))


@router.post("/runs", response={201: Id})
def begin(request: Any, body: Begun) -> Any:
    """The run of a step: the one under way, or a new one."""

    def begun(shop: Book) -> Any:
        return {"id": shop.bench.begin_run(body.plan, body.step, by=body.by or "")}

    return act(request, begun, 201)


@router.post("/runs/pass", response={201: shape_out(RunEvent)})
def tick_pass(request: Any, body: Pass) -> Any:
    """Pass n is done. The same n with the same content is the same pass."""
    sizes = {
        name: size
        for name in ("thickness_mm", "width_mm", "length_mm")
        if (size := getattr(body, name)) is not None
    }
    return act(
        request, lambda shop: shop.bench.tick_pass(body.run, body.n, sizes, **body.common), 201
    )


@router.post("/runs/anneal", response={201: shape_out(RunEvent)})
def tick_anneal(request: Any, body: Ticked) -> Any:
    """The bar was made soft."""
    return act(request, lambda shop: shop.bench.tick_anneal(body.run, body.n, **body.common), 201)


@router.post("/runs/crack", response={201: shape_out(RunEvent)})
def tick_crack(request: Any, body: Crack) -> Any:
    """A crack was seen. What it does to the heat is told by /faults."""
    return act(
        request,
        lambda shop: shop.bench.tick_crack(
            body.run, body.n, place_mm=body.place_mm, depth_mm=body.depth_mm, **body.common
        ),
        201,
    )


@router.post("/runs/end", response=Id)
def end(request: Any, body: Ended) -> Any:
    """The run is over."""

    def ended(shop: Book) -> Any:
        shop.bench.end_run(body.run, body.how, by=body.by or "")
        return {"id": body.run}

    return act(request, ended)
