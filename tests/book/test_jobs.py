"""Long work through the book: asked, looked at, stopped, kept a while; a lost one is told."""

import pytest

from lemel.book import models
from lemel.errors import BadInput
from lemel.values import to_plain


@pytest.fixture
def asked(month):
    return {"problem": to_plain(month)}


def test_a_job_ends_with_its_answer(book, asked):
    job = book.jobs.wait(book.jobs.start("at_hand", asked, about="today", by="ada"), 60)
    assert (job.state, job.done, job.about) == ("done", 1.0, "today")
    assert set(job.answer) == {line["id"] for line in asked["problem"]["orders"]}
    assert [one.id for one in book.jobs.recent("today")] == [job.id]


def test_a_stopped_job_has_no_answer(book, asked):
    name = book.jobs.start("plan", asked)
    book.jobs.stop(name)
    job = book.jobs.wait(name, 60)
    assert (job.state, job.answer) == ("stopped", None)
    book.jobs.stop(name)


def test_a_refused_question_is_told_by_its_field(book, asked):
    wrong = {"problem": {**asked["problem"], "lots": "none"}}
    job = book.jobs.wait(book.jobs.start("plan", wrong), 60)
    assert job.state == "refused"
    assert "lots" in job.fault["faults"][0]["field"]


def test_an_unknown_kind_or_job_is_refused(book):
    with pytest.raises(BadInput, match="dance"):
        book.jobs.start("dance", {})
    with pytest.raises(BadInput, match="job"):
        book.jobs.job("nothing")


def test_a_job_whose_server_is_gone_is_lost(book):
    models.Job.objects.using(book.alias).create(
        id="old", kind="plan", state="running", made_at="", changed_at="", asked="{}"
    )
    assert book.jobs.sweep() == 1
    assert book.jobs.job("old").state == "lost"
