"""The open instances: proven optima, the infeasible one with its remedies.

Their optima were found by enumeration of all choices with a cone solve each, and agree with
two branch-and-cut solvers; every plan is judged here again from the file's own numbers.
"""

from __future__ import annotations

import json
import math
from collections import defaultdict
from pathlib import Path
from statistics import NormalDist

import pytest

from lemel import blend

FILES = sorted((Path(__file__).parent / "instances").glob("open_*.json"))


def load(name):
    return json.loads((Path(__file__).parent / "instances" / f"open_{name}.json").read_text())


@pytest.fixture(scope="module")
def answers():
    options = {"07": blend.BlendOptions()}
    quick = blend.BlendOptions(explain=False)
    return {
        name: blend.do(blend.from_instance(load(name), options.get(name, quick)))
        for name in (file.stem[-2:] for file in FILES)
    }


@pytest.mark.outside
@pytest.mark.parametrize("name", ["01", "02", "03", "04", "05", "06"])
def test_an_open_instance_is_solved_to_its_tolerance_with_a_proven_bound(answers, name):
    expected, answer = load(name)["expected"], answers[name]
    assert answer.status == "optimal"
    assert answer.cost == pytest.approx(expected["cost"], rel=expected["relative_tolerance"])
    assert answer.proof.bound <= expected["cost"] * (1 + 1e-6)
    assert answer.proof.gap <= 1e-4
    assert answer.proof.stopped_by == "proof"


def judge_from_the_file(data, answer):  # noqa: PLR0912
    """Cost and feasibility from the raw numbers alone; nothing of the package but the masses."""
    lots = {lot["id"]: lot for lot in data["lots"]}
    additions = {a["id"]: a for a in data["additions"]}
    main, cost, used = data["main_element"], 0.0, defaultdict(float)
    for heat, spec in zip(answer.heats, data["heats"], strict=True):
        assert heat.id == spec["id"]
        if not heat.formed:
            assert not spec["required"]
            continue
        cost += spec["fixed_cost"]
        over, own, shared, mass = 0.0, 0.0, defaultdict(float), 0.0
        for lot_id, grams in heat.lots.items():
            lot = lots[lot_id]
            assert lot["owner"] in ("house", spec["owner"])
            assert not set(lot["flags"]) & set(spec["forbid_flags"])
            if lot["kind"] == "whole":
                assert grams == lot["mass"]
            else:
                assert grams >= min(lot["min_take"], lot["mass"]) - 1e-9
            used[lot_id] += grams
            mass += grams
            over += grams * (lot["comp"][main] - spec["standard"])
            own += (grams * lot["sd"][main]) ** 2
            for source, spread in lot["source_sd"].items():
                shared[source] += spread * grams
            cost += grams * (lot["value_per_g"] - data["age_credit_per_g_day"] * lot["age_days"])
        for name, grams in heat.additions.items():
            mass += grams
            over += grams * (additions[name]["comp"].get(main, 0.0) - spec["standard"])
            own += (grams * additions[name]["sd"].get(main, 0.0)) ** 2
            cost += grams * additions[name]["price_per_g"]
        assert spec["mass_min"] - 1e-6 <= mass <= spec["mass_max"] + 1e-6
        t = math.sqrt(own + sum(pull**2 for pull in shared.values()))
        assert over >= NormalDist().inv_cdf(spec["prob"]) * t - 1e-6
        assert over <= spec["giveaway_max"] * mass + 1e-6
        for element, limit in spec["impurity_max"].items():
            content = sum(
                g
                * (
                    lots[i]["comp"].get(element, 0)
                    + data["impurity_k"] * lots[i]["sd"].get(element, 0)
                )
                for i, g in heat.lots.items()
            ) + sum(g * additions[a]["comp"].get(element, 0) for a, g in heat.additions.items())
            assert content <= limit * mass + 1e-6
    for lot_id, grams in used.items():
        lot = lots[lot_id]
        assert grams <= lot["mass"] + 1e-9
        left = lot["mass"] - grams
        if lot["kind"] == "divisible" and left > 1e-9:
            assert left >= lot["min_remainder"] - 1e-9
            cost += data["remainder_penalty"]
    for name, addition in additions.items():
        if "stock" in addition:
            assert sum(h.additions.get(name, 0) for h in answer.heats) <= addition["stock"] + 1e-9
    for demand in data["demand"]:
        total = sum(h.mass_g for h in answer.heats if h.id in demand["heats"])
        assert total >= demand["min_total"] - 1e-6
    return cost


@pytest.mark.parametrize("name", ["01", "02", "03", "04", "05", "06"])
def test_the_weighed_plan_keeps_every_limit_of_the_file(answers, name):
    cost = judge_from_the_file(load(name), answers[name])
    assert cost == pytest.approx(answers[name].cost, abs=1e-9)


@pytest.mark.parametrize("name", ["01", "02", "03", "04", "05", "06"])
def test_masses_stand_on_the_balance_step_or_are_a_lot_used_up(answers, name):
    whole = {lot["id"]: lot["mass"] for lot in load(name)["lots"]}
    for heat in answers[name].heats:
        for body, grams in {**heat.lots, **heat.additions}.items():
            assert grams == whole.get(body) or abs(grams * 100 - round(grams * 100)) < 1e-6


@pytest.mark.outside
def test_the_infeasible_instance_names_what_would_heal_it(answers):
    expected, answer = load("07")["expected"], answers["07"]
    assert answer.status == "infeasible"
    assert answer.heats == ()
    by_kind = {(heal.kind, heal.about): heal for heal in answer.heals}
    probability = by_kind["probability", "H1"]
    assert probability.needed == pytest.approx(expected["greatest_feasible_prob"], abs=5e-4)
    grain = by_kind["stock", "grain-fine"]
    assert grain.change == pytest.approx(expected["least_extra_grain_fine_g"], abs=0.02)
    assert ("stock", "master-935") in by_kind
    assert ("mass_least", "H1") in by_kind
    assert ("mass_most", "H1") in by_kind
    assert not [kind for kind, _ in by_kind if kind == "giveaway"]
    assert {about for kind, about in by_kind if kind == "evidence"} == {"L-003", "L-007"}


def test_each_remedy_of_the_infeasible_instance_is_enough_and_not_too_much(answers):
    data = load("07")
    for heal in answers["07"].heals:
        for slack, wanted in ((1e-3, "optimal"), (-0.01, "infeasible")):
            changed = json.loads(json.dumps(data))
            if heal.kind == "stock":
                one = next(a for a in changed["additions"] if a["id"] == heal.about)
                one["stock"] = heal.needed + slack
            elif heal.kind == "mass_least":
                changed["heats"][0]["mass_min"] = heal.needed - slack
            elif heal.kind == "mass_most":
                changed["heats"][0]["mass_max"] = heal.needed + slack
            elif heal.kind == "probability":
                changed["heats"][0]["prob"] = heal.needed - slack
            else:
                continue
            options = blend.BlendOptions(explain=False, balance_step_g=0)
            answer = blend.do(blend.from_instance(changed, options))
            assert answer.status == wanted, (heal, slack)
