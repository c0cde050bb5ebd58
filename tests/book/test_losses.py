"""Loss against allowance, and the running sum that finds what no single weighing shows."""

from __future__ import annotations

import random
from itertools import count

import pytest

from lemel.book import Account, Line
from lemel.book.losses import leak_of
from lemel.book.rules import allowance_mg, identity_limit_mg, rule
from lemel.values import Composition, Holding


def mill(book, n, z):
    """One milling of 100 g that loses its foreseen 70 mg and `z` sds more."""
    allowed = allowance_mg("mill", 100_000, 2, 70)
    loss_mg = round(allowed.mean_mg + z * allowed.sd_mg)
    metal = Holding.of(loss_mg, Composition.pure("Ag"))
    lines = [
        Line(Account("ada", "store", "bar"), -metal),
        Line(Account("ada", "loss", "mill"), metal),
    ]
    memo = {"handled_mg": 100_000, "loss_mg": loss_mg, "foreseen_mg": 70, "weighings": 2}
    return book.post("mill", lines, key=f"mill {n}", memo=memo)


@pytest.fixture
def bar(book):
    metal = Holding.of(10_000_000, Composition.pure("Ag"))
    book.post(
        "weigh_in",
        [
            Line(Account("ada", "outside", "arrivals"), -metal),
            Line(Account("ada", "store", "bar"), metal),
        ],
    )
    return book


def test_usual_losses_are_fine(bar):
    for n, z in enumerate([0.3, -0.4, 0.1, -0.2]):
        mill(bar, n, z)
    [row] = bar.losses()
    assert (row.operation, row.steps, row.handled_mg, row.grade) == ("mill", 4, 400_000, "fine")


@pytest.mark.parametrize(("z", "grade"), [(2.5, "look"), (3.5, "stop"), (-3.5, "stop")])
def test_one_large_loss_or_gain_is_told(bar, z, grade):
    mill(bar, 1, z)
    [row] = bar.losses()
    assert row.grade == grade
    assert row.z == pytest.approx(z, abs=0.05)


def test_a_slow_leak_is_found_though_the_month_as_a_whole_looks_fine(bar):
    for n in range(40):
        mill(bar, n, -0.1)
    for n in range(40, 50):
        mill(bar, n, 1.2)
    [row] = bar.losses()
    assert abs(row.z) < 2
    assert row.grade == "leak"
    assert row.leak > 5


def test_a_reversed_loss_counts_no_more(bar):
    sealed = mill(bar, 1, 4)
    bar.reverse(sealed.number)
    assert bar.losses() == ()


def test_a_slow_gain_is_an_error_too():
    assert leak_of([-1.0] * 11) == -5.5


def test_the_identity_limit_is_the_larger_of_the_two():
    assert identity_limit_mg(10_000) == pytest.approx(50)
    assert identity_limit_mg(500_000) == pytest.approx(500)


@pytest.mark.outside
def test_a_reading_rounded_to_a_step_has_the_variance_of_a_rectangle():
    """JCGM 100:2008 (GUM), 4.3.7, from memory: half width a has variance a^2 / 3."""
    one, three = (allowance_mg("part", 0, n, 0).sd_mg for n in (1, 3))
    half_width_mg = 1000 * rule("weighing_step_g") / 2
    repeat_mg = 1000 * rule("weighing_sd_g")
    assert one**2 == pytest.approx(half_width_mg**2 / 3 + repeat_mg**2)
    assert three**2 == pytest.approx(3 * one**2)


@pytest.mark.outside
def test_a_shift_of_one_sd_is_found_after_about_ten_steps():
    """Montgomery, Introduction to Statistical Quality Control, table of run lengths of the
    two-sided sum with slack 0.5 and limit 5, from memory: 10.4 for a shift of one sd."""
    dice = random.Random(1954)
    lengths = []
    for _ in range(150):
        steps: list[float] = []
        for n in count(1):
            steps.append(dice.gauss(1, 1))
            if abs(leak_of(steps)) > rule("leak_limit"):
                lengths.append(n)
                break
    assert sum(lengths) / len(lengths) == pytest.approx(10.4, abs=1.0)
