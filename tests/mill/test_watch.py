"""Whoever looks on is told how far the search is, and can stop it."""

from __future__ import annotations

import pytest

from lemel.errors import Stopped
from lemel.mill import MillProblem, do, need
from tests.mill.metals import STERLING, kit, plate, wire, wire_bar

PROBLEM = MillProblem(wire_bar(), wire(1.0, 3000), kit(), prove=True)


class Onlooker:
    """Keeps what it is told; says stop once the work is so far."""

    def __init__(self, until: float = 2.0) -> None:
        self.told: list[float] = []
        self.until = until

    def cancelled(self) -> bool:
        return bool(self.told) and self.told[-1] >= self.until

    def tell(self, done: float, *_: object) -> None:
        self.told.append(done)


def test_progress_never_goes_back():
    eye = Onlooker()
    do(PROBLEM, watch=eye)
    assert len(eye.told) > 5
    assert eye.told == sorted(eye.told)
    assert 0.5 < eye.told[-1] <= 1
    eye = Onlooker()
    need(wire(1.0, 3000), (wire_bar(), plate()), kit(), STERLING, watch=eye)
    assert eye.told == sorted(eye.told)


def test_stopped_before_there_is_a_route_there_is_none():
    with pytest.raises(Stopped):
        do(PROBLEM, watch=Onlooker(until=0.0))


def test_stopped_after_it_the_route_is_whole_and_says_what_was_left_out():
    whole, cut_short = do(PROBLEM), do(PROBLEM, watch=Onlooker(until=0.41))
    assert cut_short.steps == whole.steps
    assert cut_short.fewest is None
    assert "mill.explain.stopped" in {said.code for said in cut_short.explain}
