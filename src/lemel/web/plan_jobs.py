"""Plans in the making and plans that were made: the jobs of the book, opened as plans."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from lemel.book import Book, Job
from lemel.errors import BadInput
from lemel.plan import Plan
from lemel.values import from_plain
from lemel.web.furnace_heats import accepted, kept_plan

__all__ = ["ABOUT", "Made", "made", "planned", "preview", "recent"]

#: What a job of these pages is about.
ABOUT = "plan"
_RECENT_MOST = 8


@dataclass(frozen=True, slots=True)
class Made:
    """A plan under the name that its pages have: a job's, or its own once it is accepted.

    `accepted`: it stands in the book. `job` None: it came without one, or that is forgotten.
    """

    name: str
    plan: Plan
    accepted: bool
    job: Job | None = None


def recent(book: Book) -> tuple[Job, ...]:
    """Plans that were asked for lately, the newest first."""
    return book.jobs.recent(ABOUT)[:_RECENT_MOST]


def made(book: Book, name: str) -> Made:
    """A plan by the name of its job or by its own; BadInput where there is none (yet)."""
    known = {job.id: job for job in book.jobs.recent(ABOUT)}
    if name not in known:
        return Made(name, kept_plan(book, name), True)
    job = known[name]
    if job.state != "done":
        raise BadInput("plan", name, "a plan that is made", "Wait for it, or ask again.")
    plan = planned(job.id, _Whole(job.answer))
    return Made(name, plan, _is_kept(book, plan.id), job)


def _is_kept(book: Book, plan: str) -> bool:
    """Whether a plan was accepted once, dropped since or not."""
    return plan in accepted(book) or plan in book.filed("dropped_plan")


def preview(job: Job) -> Plan | None:
    """What a job has found so far."""
    return None if job.preview is None else from_plain(Plan, job.preview)


class _Whole:
    """An answer that is only looked at where it is not known by its name yet."""

    def __init__(self, plain: Mapping[str, Any]) -> None:
        self.plain = plain

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Whole)

    def __hash__(self) -> int:
        return 0


@lru_cache(maxsize=8)
def planned(name: str, whole: _Whole) -> Plan:  # noqa: ARG001
    """A job's answer as a plan; a job that is done never changes."""
    return from_plain(Plan, whole.plain)
