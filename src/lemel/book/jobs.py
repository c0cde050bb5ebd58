"""Long work asked for through the book: started, looked at, stopped; its answer kept a while.

How far a job has come is known to the process that started it; that it was asked, what it
showed on the way and what it answered stands in the book.
"""

from __future__ import annotations

import json
import secrets
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from lemel import work
from lemel.book import engine, ledger, models, people
from lemel.errors import BadInput

__all__ = ["STATES", "Job", "Jobs"]

#: How a job stands; the last four are ends.
STATES = ("running", "done", "refused", "stopped", "lost")
#: So many ended jobs are kept; older ones are forgotten with their answers.
KEPT_MOST = 40
#: A child that has not stopped so many s after it was asked to is ended.
_GRACE_S = 10.0


@dataclass(frozen=True, slots=True)
class Job:
    """One job as it stands: `done` is the share that is through, `answer` what it gave.

    `preview`: an answer that the job has already and still improves. `fault`: what was refused
    or went wrong, with `faults` by field where the question was at fault.
    """

    id: str
    kind: str
    about: str
    state: str
    made_at: str
    done: float
    best: float | None
    bound: float | None
    preview: Any
    answer: Any
    fault: Mapping[str, Any]


@dataclass(slots=True)
class _Running:
    """What only this process knows of a job."""

    child: work.Child
    told: dict[str, Any] = field(default_factory=dict)
    preview: Any = None
    over: threading.Event = field(default_factory=threading.Event)


_running: dict[str, _Running] = {}


@dataclass(frozen=True, slots=True)
class Jobs:
    """The jobs of one book."""

    alias: str
    folder: Path
    now: Callable[[], str]

    def start(self, kind: str, asked: Mapping[str, Any], *, about: str = "", by: str = "") -> str:
        """Begin a job in a process of its own; its id. Raises BadInput for an unknown kind."""
        if kind not in work.KINDS:
            raise BadInput("kind", kind, ", ".join(work.KINDS), "Ask for one of these.")
        name, now = secrets.token_hex(8), self.now()
        with ledger.writing(self.alias):
            self._forget_old()
            models.Job.objects.using(self.alias).create(
                id=name, kind=kind, about=about, state="running", made_at=now, changed_at=now,
                by=people.person_key(self.alias, by), asked=json.dumps(asked),
            )  # fmt: skip
        running = _running[name] = _Running(work.start(kind, asked))
        threading.Thread(target=self._follow, args=(name, running), daemon=True).start()
        return name

    def job(self, name: str) -> Job:
        """A job as it stands; BadInput for one that the book does not know (any more)."""
        row = models.Job.objects.using(self.alias).filter(pk=name).first()
        if row is None:
            raise BadInput("job", name, "a job of this book", "Ask again.")
        return _job(row)

    def recent(self, about: str | None = None) -> tuple[Job, ...]:
        """The jobs that the book remembers, the newest first."""
        rows = models.Job.objects.using(self.alias).order_by("-made_at", "id")
        return tuple(_job(row) for row in (rows if about is None else rows.filter(about=about)))

    def stop(self, name: str) -> None:
        """Ask a job to stop; one that is over stays as it is."""
        self.job(name)
        running = _running.get(name)
        if running is None:
            return
        running.child.stop()
        threading.Thread(target=_insist, args=(running,), daemon=True).start()

    def wait(self, name: str, seconds: float) -> Job:
        """The job once it is over, or as it stands after so long."""
        running = _running.get(name)
        if running is not None:
            running.over.wait(seconds)
        return self.job(name)

    def sweep(self) -> int:
        """Mark jobs whose process is not ours as lost (at the start of a server); how many."""
        with ledger.writing(self.alias):
            rows = models.Job.objects.using(self.alias).filter(state="running")
            lost = rows.exclude(pk__in=list(_running))
            return int(lost.update(state="lost", changed_at=self.now()))

    def _follow(self, name: str, running: _Running) -> None:
        """Until the child's last line, which goes into the book."""
        word, what = "fault", None
        try:
            for word, what in running.child.lines():
                if word == "told":
                    running.told = what
                elif word == "preview":
                    running.preview = what
            self._end(name, word, what)
        finally:
            _running.pop(name, None)
            running.over.set()
            engine.let_go(self.alias)

    def _end(self, name: str, word: str, what: Any) -> None:
        state = {"answer": "done", "stopped": "stopped"}.get(word, "refused")
        with ledger.writing(self.alias):
            models.Job.objects.using(self.alias).filter(pk=name).update(
                state=state, answer=json.dumps(what), changed_at=self.now()
            )

    def _forget_old(self) -> None:
        rows = models.Job.objects.using(self.alias).exclude(state="running")
        kept = list(rows.order_by("-made_at").values_list("pk", flat=True)[:KEPT_MOST])
        rows.exclude(pk__in=kept).delete()


def _insist(running: _Running) -> None:
    if not running.over.wait(_GRACE_S):
        running.child.kill()


def _job(row: Any) -> Job:
    running = _running.get(row.pk)
    told = running.told if running else {}
    what = json.loads(row.answer) if row.answer else None
    return Job(
        id=row.pk, kind=row.kind, about=row.about, state=row.state, made_at=row.made_at,
        done=1.0 if row.state == "done" else float(told.get("done", 0.0)),
        best=told.get("best"), bound=told.get("bound"),
        preview=running.preview if running else None,
        answer=what if row.state == "done" else None,
        fault=what if row.state in ("refused", "stopped") and what else {},
    )  # fmt: skip
