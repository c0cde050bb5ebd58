"""What must hold of every belief, whatever the lots: order, narrowing, withdrawal, exactness."""

from __future__ import annotations

import random
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lemel.scrap import AssayedHeat, ScrapProblem, believe
from lemel.scrap.evidence import gather_evidence
from lemel.scrap.sift import fuse_statements, sift
from lemel.tables import shipped
from lemel.values import Composition, Lot, Reading

READS = {
    "xrf-hand-abraded": 5.0, "xrf-bench": 1.5, "silver-volhard": 1.2, "touch-silver": 30.0,
    "density-silver": 45.0,
}  # fmt: skip
CLASSES = [
    "own_offcut",
    "old_hollowware",
    "maker_marked",
    "hallmarked",
    "repaired",
    "filings_clean",
]
QUIET = shipped().with_overrides({"scrap_figures": {"gross_error_z": {"value": 1e6}}})


def stated(fineness: float) -> Composition:
    return Composition.from_millesimal({"Ag": fineness, "Cu": 1000 - fineness})


@st.composite
def problems(draw: st.DrawFn, heats: bool = True) -> ScrapProblem:
    """A drawer of silver: some stamped, some not, some soldered, read on shared instruments."""
    count = draw(st.integers(2, 7))
    lots = [
        Lot(
            f"L{i}", "ada", "Ag", draw(st.sampled_from(["offcut", "hollowware", "chain"])),
            draw(st.floats(5, 400)), scrap_class=draw(st.sampled_from(CLASSES)),
            stated=draw(st.sampled_from([None, stated(925), stated(958), stated(800)])),
        )
        for i in range(count)
    ]  # fmt: skip
    bodies = [lot.id for lot in lots]
    given_heats: list[AssayedHeat] = []
    if heats and draw(st.booleans()):
        charge = tuple((lot.id, 0.4 * lot.mass_g) for lot in lots[: draw(st.integers(1, count))])
        metal = sum(grams for _, grams in charge) + 5
        given_heats.append(AssayedHeat("H1", charge, 4.99, metal))
        bodies.append("H1")
    readings = []
    for k in range(draw(st.integers(0, 9))):
        method = draw(st.sampled_from(sorted(READS)))
        off = draw(st.floats(-1.5, 1.5)) * READS[method]
        readings.append(
            Reading(
                f"r{k}", draw(st.sampled_from(bodies)), method, {"Ag": (920 + off) / 1000},
                source=draw(st.sampled_from(["gun", "bench", ""])),
            )
        )  # fmt: skip
    return ScrapProblem(tuple(lots), tuple(readings), tuple(given_heats))


def cov_of(answer) -> np.ndarray:
    beliefs = answer.beliefs
    loading = np.array(beliefs.loading).reshape(len(beliefs.bodies), len(beliefs.factors))
    return np.diag(np.square(beliefs.own_sd)) + loading @ loading.T


@given(problems(), st.integers(0, 1000))
@settings(max_examples=40)
def test_order_of_lots_and_readings_changes_nothing(problem, seed):
    shuffle = random.Random(seed)
    lots, readings = list(problem.lots), list(problem.readings)
    shuffle.shuffle(lots)
    shuffle.shuffle(readings)
    one = believe(problem)
    other = believe(replace(problem, lots=tuple(lots), readings=tuple(readings)))
    assert one.beliefs.from_readings == other.beliefs.from_readings
    assert one.objections == other.objections
    assert one.readings == other.readings
    for body in one.beliefs.bodies:
        i, j = one.beliefs.row(body), other.beliefs.row(body)
        assert one.beliefs.mean[i] == other.beliefs.mean[j]
        assert one.beliefs.own_sd[i] == other.beliefs.own_sd[j]
        assert one.beliefs.loading[i] == other.beliefs.loading[j]


@given(problems())
@settings(max_examples=40)
def test_a_withdrawn_reading_is_as_if_it_had_never_been(problem):
    if not problem.readings:
        return
    gone = replace(problem.readings[0], withdrawn=True)
    with_gone = replace(problem, readings=(gone, *problem.readings[1:]))
    assert believe(with_gone) == believe(replace(problem, readings=problem.readings[1:]))


@given(problems())
@settings(max_examples=60)
def test_more_evidence_never_widens_any_blend(problem):
    """The whole covariance shrinks (in the sense of PSD order) with one more reading."""
    more = Reading("more", "L0", "xrf-bench", {"Ag": 0.92}, source="gun")
    before = cov_of(believe(problem, tables=QUIET))
    after = cov_of(believe(replace(problem, readings=(*problem.readings, more)), tables=QUIET))
    assert np.linalg.eigvalsh(before - after).min() > -1e-12
    assert after[0, 0] < before[0, 0]


@given(problems(), st.integers(0, 2**9 - 1), st.floats(-20, 20))
@settings(max_examples=60)
def test_adding_a_shared_source_never_narrows(problem, chosen, extra):
    """One more error that some of the evidence shares widens every blend or leaves it alone."""
    evidence = gather_evidence(problem, shipped())
    statements = evidence.statements
    more = [
        replace(s, loads={**s.loads, "source:another": extra / 1000}) if chosen >> k & 1 else s
        for k, s in enumerate(statements)
    ]
    before = lots_cov(fuse_statements(evidence, statements, shipped()), evidence.lots)
    after = lots_cov(fuse_statements(evidence, more, shipped()), evidence.lots)
    assert np.linalg.eigvalsh(after - before).min() > -1e-12


def lots_cov(posterior, lots) -> np.ndarray:
    own, loading = posterior.split()
    factors = np.array([loading[name] for name in lots])
    return np.diag([own[name] ** 2 for name in lots]) + factors @ factors.T


@given(st.lists(st.floats(1, 12), min_size=2, max_size=6), st.floats(0, 10))
@settings(max_examples=60)
def test_readings_on_one_instrument_tell_less_than_on_instruments_apart(owns, common):
    lot = Lot("A", "ada", "Ag", "offcut", 10.0, stated=stated(925))

    def sd(sources: list[str]) -> float:
        readings = tuple(
            Reading(
                f"r{k}", "A", "xrf-hand-abraded", {"Ag": 0.92}, source=sources[k],
                sd_own=own / 1000, sd_shared=common / 1000,
            )
            for k, own in enumerate(owns)
        )  # fmt: skip
        return believe(ScrapProblem((lot,), readings), tables=QUIET).beliefs.sd("A")

    assert sd(["gun"] * len(owns)) >= sd([f"gun {k}" for k in range(len(owns))]) - 1e-12


@given(problems())
@settings(max_examples=60)
def test_own_part_and_factors_are_the_posterior_exactly(problem):
    """Against one dense least-squares solve over all lots, solder errors and shared errors."""
    answer = believe(problem)
    evidence = gather_evidence(problem, shipped())
    used = sift(evidence, shipped())
    mean, cov = dense(evidence, used)
    order = sorted(range(len(problem.lots)), key=lambda i: problem.lots[i].id)
    found = cov_of(answer)[np.ix_(order, order)]
    assert np.abs(found - cov).max() < 1e-12
    means = used.posterior.means()
    assert [means[problem.lots[i].id] for i in order] == pytest.approx(mean, abs=1e-9)
    assert np.linalg.eigvalsh(found).min() > -1e-15
    assert len(answer.beliefs.factors) <= len(problem.lots)


def dense(evidence, used):
    """Mean and covariance of the wholes from the information matrix, no elimination at all."""
    names = list(evidence.lots)
    factors = sorted({f for s in used.used for f in s.loads})
    n, k = len(names), len(factors)
    roots = {}
    from lemel.scrap.sift import _root

    words: dict[str, object] = {}
    for s in used.used:
        held = words.get(s.on)
        if s.sets_prior and (held is None or s.method.standing > held.method.standing):
            words[s.on] = s
    for name in names:
        roots[name] = _root(evidence, name, words.get(name), shipped())
    # unknowns: part of each lot, solder error of each lot, z
    size = 2 * n + k
    info, push = np.zeros((size, size)), np.zeros(size)
    for i, name in enumerate(names):
        root = roots[name]
        info[n + i, n + i] += 1 / max(root.extra_var, 1e-18)
        if root.wide is not None:
            info[i, i] += 1 / root.wide[1] ** 2
            push[i] += root.wide[0] / root.wide[1] ** 2
    info[2 * n :, 2 * n :] += np.eye(k)
    whole = np.zeros((n, size))
    add = np.array([roots[name].add for name in names])
    for i, name in enumerate(names):
        whole[i, i] = roots[name].keep
        whole[i, n + i] = 1.0
    for s in used.used:
        row, value = np.zeros(size), s.value
        if s.on in evidence.heats:
            mixture = evidence.heats[s.on]
            value -= mixture.constant
            for lot, weight in mixture.on:
                row += weight * whole[names.index(lot)]
                value -= weight * add[names.index(lot)]
        elif s.whole and not s.sets_prior:
            row += whole[names.index(s.on)]
            value -= add[names.index(s.on)]
        else:
            row[names.index(s.on)] = 1.0
        for factor, load in s.loads.items():
            row[2 * n + factors.index(factor)] += load
        info += np.outer(row, row) / s.var
        push += row * value / s.var
    scale = 1 / np.sqrt(np.diag(info))
    cov = np.linalg.inv(info * np.outer(scale, scale)) * np.outer(scale, scale)
    return whole @ cov @ push + add, whole @ cov @ whole.T


def test_two_readings_on_one_instrument_do_not_average_out_its_bias():
    """Variance of n readings never falls below that of the shared error: 3 millesimal parts."""
    lot = Lot("A", "ada", "Ag", "offcut", 10.0)
    for n in (1, 4, 64):
        readings = tuple(
            Reading(f"r{k}", "A", "xrf-hand-abraded", {"Ag": 0.92}, source="gun") for k in range(n)
        )
        sd = believe(ScrapProblem((lot,), readings)).beliefs.sd("A") * 1000
        wide = 150.0
        var = 4**2 / n + 3**2
        assert sd == pytest.approx((1 / (1 / var + 1 / wide**2)) ** 0.5, rel=1e-9)
        assert sd > 2.99


def _two_bags(one: str, other: str, *readings: Reading) -> np.ndarray:
    lots = tuple(
        Lot(name, "ada", "Ag", "offcut", 50.0, scrap_class=kind, stated=stated(925))
        for name, kind in (("A", one), ("B", other))
    )
    beliefs = believe(ScrapProblem(lots, readings), tables=QUIET).beliefs
    loading = np.array(beliefs.loading).reshape(2, -1)
    return 1e6 * (np.diag(np.square(beliefs.own_sd)) + loading @ loading.T)


def test_classes_of_old_metal_share_half_of_what_is_not_drift_and_own_metal_none():
    """Worked by hand: bias sd 3 each, drift 0.5: covariance 0.5 x (3^2 - 0.5^2) = 4.375,
    times the 96 % of a mended piece that is not solder; each lot's own variance is as if the
    classes had nothing in common."""
    cov = _two_bags("maker_marked", "repaired")
    assert cov[0, 1] == pytest.approx(0.96 * 0.5 * (3**2 - 0.5**2), rel=1e-9)
    alone = _two_bags("maker_marked", "own_offcut")
    assert alone[0, 1] == pytest.approx(0.0, abs=1e-12)
    assert cov[0, 0] == pytest.approx(alone[0, 0], rel=1e-12)
    apart = QUIET.with_overrides({"scrap_figures": {"class_common_share": {"value": 0}}})
    lots = tuple(
        Lot(n, "ada", "Ag", "offcut", 50.0, scrap_class=kind, stated=stated(925))
        for n, kind in (("A", "maker_marked"), ("B", "repaired"))
    )
    assert believe(ScrapProblem(lots, ()), tables=apart).beliefs.factors == ()


def test_a_poor_class_makes_the_others_suspect_too():
    read = Reading("r", "A", "silver-volhard", {"Ag": 0.910})
    lots = tuple(
        Lot(n, "ada", "Ag", "offcut", 50.0, scrap_class=kind, stated=stated(925))
        for n, kind in (("A", "maker_marked"), ("B", "repaired"))
    )
    before = believe(ScrapProblem(lots, ()), tables=QUIET)
    after = believe(ScrapProblem(lots, (read,)), tables=QUIET)
    assert after.beliefs.mean[1].fineness("Ag") < before.beliefs.mean[1].fineness("Ag") - 0.3
    assert after.biases["class:repaired"][0] < before.biases["class:repaired"][0]
    assert after.shared["B"]["scrap:common"] > 0
