"""The promise and the habit side by side, in the simulated world of `blend_world`.

From each box 250 g of 925 are to be made. The planner knows the world's classes, methods and
spreads as a house's own tables, and believes the lots through `lemel.scrap`, as every plan
does; lots that a question bars stay out. His class biases may be wrong, unknown to him.

The plan is judged by the *exact* probability of falling short given the box's evidence: the
posterior of the world itself, reckoned apart from the package. Beside it stands the count of
heats that fell short in the drawn truth.

Run: python benchmarks/blend_simulation.py [boxes], or make measure ARGS=promise
"""

from __future__ import annotations

import math
import sys
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from blend_world import (
    ASSAY_SD,
    CLASSES,
    DEMAND_G,
    DENSITY_SD,
    GRAIN,
    GRAIN_SD,
    GUN_BIAS,
    GUN_DAY_SD,
    GUN_REPEAT_SD,
    LOTS,
    TARGET,
    Box,
    draw_box,
)
from scipy.stats import beta, norm

from lemel.blend import BlendAddition, BlendHeat, BlendLot, BlendOptions, BlendProblem, do
from lemel.scrap import ScrapAnswer, ScrapProblem, believe
from lemel.tables import Tables, shipped
from lemel.values import Composition, Lot, Reading

Array = npt.NDArray[np.float64]

__all__ = ["simulate"]

DIP_SD = 0.8
GRAIN_PRICE, COPPER_PRICE, SCRAP_SHARE = 1.06, 0.03, 0.90
ROOM_G = 20.0
Z = float(norm.ppf(0.99))
MARGINS = (0.0, 3.0, 5.0, 8.0, 10.0, 15.0)
PLAIN: dict[str, object] = {
    "kind": "reads", "metals": "any", "shift": 0, "sd_common": 0, "sd_own": 0,
    "method_share": 0, "class_applies": "no", "sees": "part", "finds_plate": 0.9,
    "proves": "lot", "not_colours": "", "test_first": "no",
}  # fmt: skip
METHODS: dict[str, dict[str, object]] = {
    "world-stamp": {"kind": "says", "class_applies": "yes", "standing": 1, "doubt": 0},
    "world-gun": {
        "shift": -GUN_BIAS, "sd_common": GUN_DAY_SD, "sd_own": GUN_REPEAT_SD, "standing": 2,
    },
    "world-density": {"sd_own": DENSITY_SD, "standing": 1},
    "world-assay": {"sd_own": ASSAY_SD, "standing": 4},
}  # fmt: skip


@dataclass(frozen=True)
class Planner:
    """What a planner holds of the classes: how far off his biases are, and the spread that
    he gives them; `common` is the share of it that all classes have in common (None: as the
    house's table says)."""

    error: float = 0.0
    bias_sd: float = 0.0
    course: str = "one_shot"
    common: float | None = None

    def tables(self) -> Tables:
        """The house's tables as this planner has them."""
        classes = {
            f"world-{k}": {
                "says": "world-stamp", "bias": bias + self.error, "bias_sd": self.bias_sd,
                "own_sd": own, "solder": 0, "solder_sd": 0, "bought": "no", "owned": "no",
            }
            for k, (_, bias, own, *_rest) in enumerate(CLASSES)
        }  # fmt: skip
        methods = {name: {**PLAIN, **row} for name, row in METHODS.items()}
        laid: dict[str, dict[str, dict[str, object]]] = {
            "scrap_classes": classes, "scrap_methods": methods
        }  # fmt: skip
        if self.common is not None:
            laid["scrap_figures"] = {"class_common_share": {"value": self.common}}
        return shipped().with_overrides(laid)


def believed(box: Box, tables: Tables) -> ScrapAnswer:
    """The box as the package believes it; a stamp shares the effect of its source."""
    lots = tuple(
        Lot(f"L{i}", "house", "Ag", "grain", float(box.mass[i]), scrap_class=f"world-{k}")
        for i, k in enumerate(box.kind)
    )
    readings = [
        Reading(
            f"stamp {i}", f"L{i}", "world-stamp", {"Ag": float(box.stamp[i]) / 1000},
            source=f"source {box.source[i]}", sd_shared=CLASSES[k][3] / 1000,
        )
        for i, k in enumerate(box.kind)
    ]  # fmt: skip
    for j, (name, row, value) in enumerate(zip(box.means, box.rows, box.seen, strict=True)):
        on = int(np.flatnonzero(row[:LOTS])[0])
        share = {"Ag": min(float(value), 1000.0) / 1000}
        readings.append(Reading(f"{name} {j}", f"L{on}", f"world-{name}", share, source="day"))
    return believe(ScrapProblem(lots, tuple(readings)), tables=tables)


def as_problem(box: Box, answer: ScrapAnswer, course: str) -> BlendProblem:
    """The planner's question, of the lots that no question bars."""
    beliefs = answer.beliefs
    barred = {o.about for o in answer.objections if o.grade in ("stop", "ask")}
    lots = []
    for i in range(LOTS):
        name = f"L{i}"
        if name in barred:
            continue
        row, divisible = beliefs.row(name), CLASSES[box.kind[i]][5]
        body = beliefs.mean[row]
        lots.append(
            BlendLot(
                id=name,
                mass_g=float(box.mass[i]),
                whole=not divisible,
                owner="house",
                mean=Composition.of({"Ag": body.share("Ag")}, 1 - body.share("Ag")),
                own_sd=beliefs.own_sd[row],
                loading=dict(zip(beliefs.factors, beliefs.loading[row], strict=True)),
                value_per_g=SCRAP_SHARE * body.share("Ag"),
                min_take_g=min(5.0, float(box.mass[i])) if divisible else 0.0,
                min_remainder_g=5.0 if divisible else 0.0,
            )
        )
    most = DEMAND_G + (ROOM_G if course == "hold_and_correct" else 0.25)
    grain = Composition.from_millesimal({"Ag": GRAIN}, rest=True)
    return BlendProblem(
        tuple(lots),
        (
            BlendAddition("grain", grain, GRAIN_SD / 1000, GRAIN_PRICE),
            BlendAddition("copper", Composition.pure("Cu"), 0.0, COPPER_PRICE),
        ),
        (BlendHeat("H", "house", "Ag", TARGET / 1000, 0.99, DEMAND_G, most, course=course),),
        remainder_penalty=0.2,
        options=BlendOptions(gap=1e-3, explain=False, work_most=200_000),
    )


@dataclass(frozen=True)
class Made:
    """A heat: grams of each lot, of grain and copper, and what was done after a sample."""

    lots: Array
    grain: float
    copper: float

    @property
    def mass(self) -> float:
        return float(self.lots.sum()) + self.grain + self.copper


def plan(box: Box, planner: Planner, tables: Tables) -> Made | None:
    """The package's plan under a planner's belief."""
    answer = do(as_problem(box, believed(box, tables), planner.course))
    if answer.cost is None:
        return None
    heat = answer.heats[0]
    grams = np.array([heat.lots.get(f"L{i}", 0.0) for i in range(LOTS)])
    return Made(grams, heat.additions.get("grain", 0.0), heat.additions.get("copper", 0.0))


def habit(box: Box, margin: float) -> Made:
    """Oldest lots first at stamp value, then grain or copper to a nominal 925 + margin."""
    target, grams = TARGET + margin, np.zeros(LOTS)

    def additions(taken: Array) -> tuple[float, float]:
        mass, fine = taken.sum(), float(taken @ box.stamp)
        lacking = target * DEMAND_G - fine
        grain = max(0.0, lacking / GRAIN)
        return grain, DEMAND_G - mass - grain

    for i in np.argsort(-box.age, kind="stable"):
        taken = grams.copy()
        taken[i] = box.mass[i]
        if additions(taken)[1] >= 0:
            grams = taken
        elif CLASSES[box.kind[i]][5]:
            for share in np.arange(0.95, 0.05, -0.05):
                taken[i] = share * box.mass[i]
                if taken[i] >= 5.0 and additions(taken)[1] >= 0:
                    grams = taken.copy()
                    break
    grain, copper = additions(grams)
    return Made(grams, grain, max(0.0, copper))


@dataclass(frozen=True)
class Judged:
    """Exact chance of falling short, whether the drawn truth did, fine metal above the
    standard and cost, the last two per 100 g."""

    short: float
    drawn: bool
    given_g: float
    cost: float


def judge(box: Box, made: Made) -> Judged:
    """By the world's own posterior, and by the drawn truth."""
    mean, cov = box.posterior()
    q, mass = made.lots, made.mass
    fine = float(q @ mean) + GRAIN * made.grain
    spread = math.sqrt(float(q @ cov @ q) + (GRAIN_SD * made.grain) ** 2)
    truth = float(q @ box.truth) + GRAIN * made.grain
    cost = float(q @ box.truth) / 1000 * SCRAP_SHARE
    cost += GRAIN_PRICE * made.grain + COPPER_PRICE * made.copper
    return Judged(
        float(norm.cdf((TARGET * mass - fine) / spread)), truth < TARGET * mass,
        (truth / mass - TARGET) / 10, 100 * cost / mass,
    )  # fmt: skip


def judge_corrected(box: Box, made: Made, draws: int = 4000) -> Judged:
    """The same after a sample (own reading only) and grain to 99 percent, over many draws."""
    mean, cov = box.posterior()
    q, mass = made.lots, made.mass
    dice = np.random.default_rng(97)
    fine = (float(q @ mean) + GRAIN * made.grain) / mass
    spread = math.sqrt(float(q @ cov @ q)) / mass
    truth = fine + spread * dice.standard_normal(draws)
    truth[0] = (float(q @ box.truth) + GRAIN * made.grain) / mass
    read = truth + DIP_SD * dice.standard_normal(draws)
    wanted = mass * (TARGET - read + Z * DIP_SD) / (GRAIN - TARGET)
    grams = np.clip(wanted, 0.0, DEMAND_G + ROOM_G - mass)
    after = (truth * mass + GRAIN * grams) / (mass + grams)
    cost = float(q @ mean) / 1000 * SCRAP_SHARE + GRAIN_PRICE * (made.grain + grams.mean())
    cost += COPPER_PRICE * made.copper
    total = mass + float(grams.mean())
    given = float((after - TARGET).mean()) / 10
    return Judged(
        float((after < TARGET).mean()), bool(after[0] < TARGET), given, 100 * cost / total
    )


def summed(name: str, judged: list[Judged]) -> tuple[str, str]:
    """One line: exact shortfall, drawn count with its 95 percent interval, give-away, cost."""
    many, fell = len(judged), sum(j.drawn for j in judged)
    low = beta.ppf(0.025, fell, many - fell + 1) if fell else 0.0
    high = beta.ppf(0.975, fell + 1, many - fell) if fell < many else 1.0
    short, given, cost = (
        float(np.mean([getattr(j, field) for j in judged]))
        for field in ("short", "given_g", "cost")
    )
    return name, (
        f"short {100 * short:.2f} % exact; {fell} of {many} drawn "
        f"({100 * low:.1f}-{100 * high:.1f} %); {given:.2f} g fine and {cost:.2f} money per 100 g"
    )


PLANNERS = {
    "plan 99 %, biases known": Planner(),
    "plan 99 %, biases uncertain (sd 3)": Planner(bias_sd=3.0),
    "plan 99 %, biases wrong by 3, taken as certain": Planner(3.0),
    "plan 99 %, biases wrong by 3, uncertain (sd 3), classes apart": Planner(3.0, 3.0, common=0.0),
    "plan 99 %, biases wrong by 3, uncertain (sd 3)": Planner(3.0, 3.0),
    "hold and correct, biases uncertain (sd 3)": Planner(0.0, 3.0, "hold_and_correct"),
    "hold and correct, biases wrong by 3, uncertain": Planner(3.0, 3.0, "hold_and_correct"),
}
#: The plan that the give-away is judged by.
HONEST = "plan 99 %, biases uncertain (sd 3)"


def simulate(boxes: int, seed: int = 5000) -> list[tuple[str, str]]:
    """The table of the promise against the habit over so many boxes."""
    world = [draw_box(seed + b) for b in range(boxes)]
    lines, kept = [_same_belief(world)], {}
    for name, planner in PLANNERS.items():
        tables = planner.tables()
        judge_it = judge if planner.course == "one_shot" else judge_corrected
        judged = [judge_it(box, m) for box in world if (m := plan(box, planner, tables))]
        kept[name] = judged
        lines.append(summed(name, judged))
    habits = [[judge(box, habit(box, margin)) for box in world] for margin in MARGINS]
    lines += [
        summed(f"stamp and alligation, margin {margin:g}", judged)
        for margin, judged in zip(MARGINS, habits, strict=True)
    ]
    return [*lines, _given_away(kept[HONEST], habits)]


def _same_belief(world: list[Box]) -> tuple[str, str]:
    """The package's belief against the world's own, where the planner knows the biases and
    no reading was put aside."""
    tables, apart, many = Planner().tables(), 0.0, 0
    for box in world:
        answer = believed(box, tables)
        if not all(reading.used for reading in answer.readings):
            continue
        mean, cov = box.posterior()
        beliefs, many = answer.beliefs, many + 1
        for i in range(LOTS):
            row = beliefs.row(f"L{i}")
            sd = beliefs.sd(f"L{i}") * 1000
            if mean[i] < 999:
                apart = max(apart, abs(beliefs.mean[row].fineness("Ag") - mean[i]))
            apart = max(apart, abs(sd - math.sqrt(cov[i, i])))
    said = f"{apart:.1e} millesimal parts in {many} boxes"
    return "belief against the world's own posterior, mean and sd, largest difference", said


def _given_away(honest: list[Judged], habits: list[list[Judged]]) -> tuple[str, str]:
    """Shortfall falls with the margin: interpolate the habit's give-away at equal shortfall."""
    short = float(np.mean([j.short for j in honest]))
    falls = [math.log(max(1e-9, float(np.mean([j.short for j in h])))) for h in habits]
    gives = [float(np.mean([j.given_g for j in h])) for h in habits]
    equal = float(np.interp(math.log(max(short, 1e-9)), falls[::-1], gives[::-1]))
    ratio = float(np.mean([j.given_g for j in honest])) / equal
    name = "give-away of the plan (sd 3) against the habit at equal shortfall (goal 0.6)"
    return name, f"{ratio:.2f} of {equal:.2f} g per 100 g"


if __name__ == "__main__":
    for claim, measured in simulate(int(sys.argv[1]) if len(sys.argv) > 1 else 300):
        print(f"{claim}: {measured}")
