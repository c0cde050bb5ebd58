"""A simulated drawer whose errors are as modelled: do 95 % intervals hold 95 % of the truth?

The world is drawn from the tables' own figures by plain arithmetic, apart from the fusion.
"""

from __future__ import annotations

import numpy as np
import pytest

from lemel.scrap import AssayedHeat, ScrapProblem, believe, report
from lemel.scrap.lots import kind_of
from lemel.scrap.methods import method
from lemel.tables import shipped
from lemel.values import Composition, Lot, Reading

STERLING = Composition.from_millesimal({"Ag": 925, "Cu": 75})
BOXES = 260
TABLES = shipped()


def drawer(rng: np.random.Generator) -> tuple[ScrapProblem, dict[str, float], float]:
    """Twelve lots of three classes, two guns on two days, one assayed heat of four of them."""
    lots, truth_part, truth, readings = [], {}, {}, []
    for c, (name, form, solder) in enumerate(
        [("old_hollowware", "hollowware", (0.02, 0.007)), ("maker_marked", "offcut", (0.0, 0.0)),
         ("caster", "sprue", (0.0, 0.0))]
    ):  # fmt: skip
        lot = Lot("x", "ada", "Ag", form, 100.0, scrap_class=name, stated=STERLING)
        kind = kind_of(lot, TABLES)
        says = method(kind.says, "Ag", TABLES)
        bias = rng.normal(kind.bias, kind.bias_sd)
        word = rng.normal(0, says.sd_common)
        for i in range(4):
            lot_id = f"{c}{i}"
            part = 0.925 + says.shift + bias + word + rng.normal(0, says.sd_own)
            part += rng.normal(0, kind.own_sd)
            share = rng.normal(*solder) if solder[0] else 0.0
            fine = rng.normal(0.650, 0.050)
            truth_part[lot_id], truth[lot_id] = part, part - share * (0.925 - fine)
            lots.append(
                Lot(lot_id, "ada", "Ag", form, 100.0, scrap_class=name, stated=STERLING,
                    solder_share=solder)
            )  # fmt: skip
    gun = method("xrf-hand-abraded", "Ag", TABLES)
    everywhere = rng.normal(0, gun.sd_common * gun.method_share**0.5)
    for day in ("monday", "friday"):
        off = everywhere + rng.normal(0, gun.sd_common * (1 - gun.method_share) ** 0.5)
        for lot_id in rng.choice(sorted(truth), 5, replace=False):
            said = truth_part[lot_id] + off - gun.shift + rng.normal(0, gun.sd_own)
            readings.append(Reading(f"{day}-{lot_id}", lot_id, gun.code, {"Ag": said}, source=day))
    in_heat = ["00", "01", "10", "20"]
    grams = dict.fromkeys(in_heat, 40.0)
    dirt = {lot.id: kind_of(lot, TABLES).dirt for lot in lots}
    metal = sum(g * (1 - dirt[lot_id]) for lot_id, g in grams.items()) + 20.0
    heat = sum(g * (1 - dirt[i]) * truth[i] for i, g in grams.items()) + 19.98
    dip = method("silver-volhard", "Ag", TABLES)
    said = heat / metal + rng.normal(0, dip.sd_common) + rng.normal(0, dip.sd_own)
    readings.append(Reading("dip", "H", dip.code, {"Ag": said}, source="lab", sample="dip"))
    heats = (AssayedHeat("H", tuple(grams.items()), 19.98, metal),)
    return ScrapProblem(tuple(lots), tuple(readings), heats), truth, heat / metal


@pytest.fixture(scope="module")
def boxes():
    rng = np.random.default_rng(20310520)
    return [drawer(rng) for _ in range(BOXES)]


def test_95_per_cent_intervals_hold_93_to_97_per_cent_of_the_truth(boxes):
    held = []
    for problem, truth, _ in boxes:
        answer = believe(problem)
        for lot in truth:
            low, high = report(answer, lot).interval_95
            held.append(low <= truth[lot] * 1000 <= high)
    assert 0.93 <= np.mean(held) <= 0.97


def test_a_blend_of_many_lots_is_as_sure_as_it_claims(boxes):
    """The shared errors do not average out: the blend's own z has variance one."""
    z = []
    for problem, truth, _ in boxes:
        beliefs = believe(problem).beliefs
        n = len(beliefs.bodies)
        share = np.full(n, 1 / n)
        mean = share @ [m.share("Ag") for m in beliefs.mean]
        load = share @ np.array(beliefs.loading)
        sd = (np.sum((share * beliefs.own_sd) ** 2) + load @ load) ** 0.5
        z.append((share @ [truth[b] for b in beliefs.bodies] - mean) / sd)
    assert 0.85 <= np.std(z) <= 1.15
    assert abs(np.mean(z)) < 0.2


def test_the_health_figure_is_fair_in_an_honest_world_and_warns_in_an_overconfident_one(boxes):
    squares = []
    for problem, _, _ in boxes:
        answer = believe(problem)
        assert answer.health is not None
        squares.append(answer.health.mean_square)
    assert 0.75 <= np.mean(squares) <= 1.3
    narrow = TABLES.with_overrides(
        {
            "scrap_classes": {
                name: {"bias_sd": 0, "own_sd": 0.1}
                for name in ("old_hollowware", "maker_marked", "caster")
            },
            "scrap_methods": {
                name: {"sd_own": 0.2, "sd_common": 0.1, "mix_share": 0}
                for name in ("stamp-office", "stamp-maker", "sheet-cert", "silver-volhard")
            },
        }
    )
    squares = [believe(problem, tables=narrow).health.mean_square for problem, _, _ in boxes[:60]]
    assert np.mean(squares) > 2


def test_an_assay_of_the_heat_narrows_what_is_left_in_the_drawer(boxes):
    for problem, _, _ in boxes[:40]:
        after = believe(problem).beliefs
        blind = ScrapProblem(
            problem.lots, tuple(r for r in problem.readings if r.on != "H"), problem.heats
        )
        before = believe(blind).beliefs
        assert after.sd("00") < before.sd("00")
        assert after.sd("02") < before.sd("02")  # same class, never in the heat


def test_the_health_of_the_last_heats_is_told_in_a_sentence(boxes):
    for problem, _, _ in boxes[:5]:
        answer = believe(problem)
        (told,) = [s for s in answer.explain if s.code.startswith("scrap.health.")]
        assert told.code == f"scrap.health.{answer.health.verdict}"
        assert told.values["heats"] == len(answer.health.z)
