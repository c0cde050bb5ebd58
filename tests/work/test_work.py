"""Long work in a process of its own: it answers as the room would, tells, stops, says faults."""

from __future__ import annotations

import io
import json
import subprocess
import sys

import pytest

from lemel.demo import quillmarsh
from lemel.errors import BadInput, Stopped
from lemel.files import read_plan
from lemel.plan import Plan, PlanOptions, at_hand
from lemel.plan import do as make
from lemel.values import from_plain, to_plain
from lemel.work import KINDS, do, start
from lemel.work.child import main


@pytest.fixture(scope="module")
def asked():
    return {"problem": to_plain(read_plan(quillmarsh()))}


class Impatient:
    def cancelled(self):
        return True

    def tell(self, *told):
        raise AssertionError(f"told {told} though nobody waits")


def test_a_job_answers_what_the_room_answers(asked):
    found = do("at_hand", asked)
    assert found == to_plain(at_hand(read_plan(quillmarsh())))


def test_a_child_tells_and_answers_the_same_plan(asked):
    words, answer = [], None
    for word, what in start("plan", asked).lines():
        words.append(word)
        answer = what
    assert words[0] == "told"
    assert words[-1] == "answer"
    assert from_plain(Plan, answer) == make(read_plan(quillmarsh()))


def test_a_child_whose_stdin_closes_stops_and_says_so(asked):
    child = start("plan", asked)
    child.stop()
    assert list(child.lines())[-1][0] == "stopped"
    assert child.process.returncode == 130


def test_a_killed_child_is_told_as_a_fault(asked):
    child = start("plan", asked)
    child.kill()
    assert list(child.lines())[-1][0] == "fault"


def test_the_watch_stops_a_job(asked):
    with pytest.raises(Stopped):
        do("plan", asked, watch=Impatient())


@pytest.mark.parametrize(
    "line",
    ["", "not json", "[]", '{"kind": "plan"}', '{"kind": "dance", "asked": {}}'],
)
def test_a_question_that_is_none_is_refused_by_name(line):
    sink = io.StringIO()
    assert main(io.StringIO(line + "\n"), sink) == 2
    [fault] = [json.loads(one)["fault"] for one in sink.getvalue().splitlines()]
    assert fault["faults"][0]["field"] in ("job", "kind")
    assert fault["faults"][0]["do"]


def test_a_wrong_problem_is_refused_by_its_field(asked):
    wrong = {"problem": {**asked["problem"], "options": {"seed": "one"}}}
    with pytest.raises(BadInput, match="seed"):
        do("plan", wrong)


def test_finer_shows_the_plan_first_and_then_no_worse_a_proof(asked):
    problem = read_plan(quillmarsh())
    shown = []
    small = to_plain(
        type(problem)(
            problem.workshop, problem.lots, problem.readings, problem.orders[:2],
            PlanOptions(gap=0.01),
        )
    )  # fmt: skip
    answer = from_plain(Plan, do("plan", {"problem": small, "finer": True}, preview=shown.append))
    [first] = [from_plain(Plan, one) for one in shown]
    assert answer.made_from.options.gap < first.made_from.options.gap
    gaps = {heat.id: heat.proof.gap for heat in first.heats}
    assert all(heat.proof.gap <= gaps.get(heat.id, 1) + 1e-12 for heat in answer.heats)


def test_the_work_knows_no_database():
    said = subprocess.run(
        [sys.executable, "-c", "import sys, lemel.work.child; print('django' in sys.modules)"],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert said.stdout.strip() == "False"
    assert set(KINDS) >= {"plan", "at_hand"}
