"""One pair of hands: the order of acts against every order there is."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lemel.melt import Act, in_turn


def every_order(chains):
    """Length and waiting of the best of all orders, each act begun as soon as it can."""
    best = (float("inf"), float("inf"))

    def go(at, hands, ready, ends, waited, held):
        nonlocal best
        if all(i == len(chain) for i, chain in zip(at, chains, strict=True)):
            best = min(best, (round(max(ready), 9), round(waited, 9)))
        for c, chain in enumerate(chains):
            if at[c] == len(chain) or chain[at[c]].takes in held:
                continue
            act = chain[at[c]]
            if any((o, p) not in ends for o, p, _ in act.after):
                continue
            gates = [ends[o, p] + gap for o, p, gap in act.after]
            start = max([hands, ready[c], *gates])
            end = start + act.minutes
            go(
                (*at[:c], at[c] + 1, *at[c + 1 :]), end,
                (*ready[:c], end + act.lag_min, *ready[c + 1 :]),
                {**ends, (c, at[c]): end},
                waited + (start - ready[c] if act.urgent else 0),
                (held | {act.takes}) - {act.frees, ""},
            )  # fmt: skip

    go((0,) * len(chains), 0.0, (0.0,) * len(chains), {}, 0.0, frozenset())
    return best


minutes = st.integers(1, 8).map(float)
lags = st.integers(0, 12).map(float)


@st.composite
def small_days(draw):
    fire = [
        Act(draw(minutes), draw(lags), urgent=draw(st.booleans()))
        for _ in range(draw(st.integers(2, 4)))
    ]
    chains = [fire]
    for _ in range(draw(st.integers(1, 2))):
        after = ((0, draw(st.integers(0, len(fire) - 1)), draw(lags)),)
        bar = [
            Act(draw(minutes), draw(lags), after, takes="pickle"),
            Act(draw(minutes), frees="pickle"),
            Act(draw(minutes), draw(lags)),
        ]
        chains.append(bar[: draw(st.integers(2, 3))])
    return chains


@given(small_days())
@settings(max_examples=150, deadline=None, derandomize=True)
def test_no_order_is_shorter_or_lets_metal_wait_less(chains):
    found = in_turn(chains)
    assert found.proven
    assert (found.length_min, found.waited_min) == pytest.approx(every_order(chains))


@given(small_days())
@settings(max_examples=50, deadline=None, derandomize=True)
def test_the_hands_do_one_act_at_a_time_and_every_lag_is_kept(chains):
    found = in_turn(chains)
    spans = sorted(
        (start, start + act.minutes)
        for chain, starts in zip(chains, found.starts, strict=True)
        for act, start in zip(chain, starts, strict=True)
    )
    assert all(b >= end - 1e-9 for (_, end), (b, _) in pairwise(spans))
    for chain, starts in zip(chains, found.starts, strict=True):
        for act, start, after in zip(chain, starts, starts[1:], strict=False):
            assert after >= start + act.minutes + act.lag_min - 1e-9
        for act, start in zip(chain, starts, strict=True):
            for c, i, gap in act.after:
                assert start >= found.starts[c][i] + chains[c][i].minutes + gap - 1e-9


@given(small_days())
@settings(max_examples=30, deadline=None, derandomize=True)
def test_an_order_that_is_given_is_timed_as_it_was_found(chains):
    found = in_turn(chains)
    again = in_turn(chains, order=found.order)
    assert again.starts == found.starts
    assert again.length_min == pytest.approx(found.length_min)


def test_a_day_past_the_limit_is_a_day_all_the_same_but_not_called_proven():
    chains = [[Act(3, 5), Act(2, 7), Act(4, 1)] for _ in range(6)]
    found = in_turn(chains, most=20)
    assert found.length_min >= found.least_min
    assert found.proven == (found.length_min == pytest.approx(found.least_min))
    assert sum(map(len, found.starts)) == 18
