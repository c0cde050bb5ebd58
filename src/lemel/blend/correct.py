"""A sample was taken: what to add to the pot so that the promise holds.

For one clean addition of content c to a melt of M grams believed at f with spread s:

    too poor:  grams = M (standard - f + kappa s) / (c - standard)
    too rich:  grams = M (f - kappa s - standard) / (standard - c)

Several additions with stock, spread of their own and the crucible's room are a small
cone program. Derivation: the surplus of fine metal after the addition must exceed kappa
standard deviations; a clean addition adds content and no doubt.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from statistics import NormalDist

from lemel.blend.build import kappa
from lemel.blend.faces import BlendAddition
from lemel.errors import BadInput
from lemel.solve import Cone, Program, Row, Variable, solve
from lemel.values import Quantity, Saying, is_finite, is_fraction, is_positive, not_negative

__all__ = ["Correction", "Melt", "correct", "grams_to_mend"]


@dataclass(frozen=True, slots=True)
class Melt:
    """What is in the pot, as believed after the sample (plan and sample fused).

    `room_g` is what the crucible still takes; `worth_per_g` what a further gram of finished
    metal is worth to the house (0: only the least addition counts). `lower_standards` are
    the next lower finenesses by id, for pouring as it is and marking lower.
    """

    id: str
    main: str
    mass_g: float
    mean: float
    sd: float
    least: float
    probability: float = 0.99
    room_g: float = math.inf
    worth_per_g: float = 0.0
    giveaway_most: float | None = None
    lower_standards: Mapping[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        is_positive("mass_g", self.mass_g)
        is_fraction("mean", self.mean)
        not_negative("sd", self.sd)
        is_fraction("least", self.least)
        is_finite("probability", self.probability)
        if not 0.5 <= self.probability < 1:
            raise BadInput(
                "probability", self.probability, "0.5 up to, but not, 1", "Promise an even chance."
            )
        if not self.room_g >= 0:
            raise BadInput("room_g", self.room_g, "0 or more", "Give the room in the crucible.")


@dataclass(frozen=True, slots=True)
class Correction:
    """What to add, and what may be promised then.

    `status`: kept (the promise holds as it is), corrected, or infeasible. `alone` gives the
    closed-form grams of each addition that could do it by itself. `lower` is the highest of
    the lower standards that the melt keeps as it is ("" for none), and `lower_given_away_g`
    the fine metal above it.
    """

    status: str
    additions: Mapping[str, float]
    mass_g: float
    mean: float
    sd: float
    promised: float
    cost: float
    alone: Mapping[str, float]
    lower: str = ""
    lower_given_away_g: float = 0.0
    explain: tuple[Saying, ...] = ()


def grams_to_mend(
    mass_g: float,
    mean: float,
    sd: float,
    *,
    least: float,
    content: float,
    probability: float = 0.99,
) -> float:
    """Grams of one clean addition that just restore the promise; 0 if it holds already.

    All shares are fractions; `content` is the addition's share of the main metal and must
    exceed `least`. Worked: 100 g at 924.43 with spread 0.764 against 925 at 99 percent.

    >>> round(grams_to_mend(100, 0.92443, 0.000764, least=0.925, content=0.999), 2)
    3.17
    >>> round(grams_to_mend(100, 0.92443, 0.000764, least=0.925, content=0.935), 1)
    23.5
    """
    if content <= least:
        raise BadInput(
            "content", content, f"more than {least:g}", "Take a metal richer than the standard."
        )
    short = mass_g * (least - mean + kappa(probability) * sd)
    return max(0.0, short / (content - least))


def correct(
    melt: Melt, additions: Sequence[BlendAddition], *, balance_step_g: float = 0.01, seed: int = 1
) -> Correction:
    """The cheapest additions that make the melt keep its promise within the crucible's room."""
    alone = {
        a.id: grams_to_mend(
            melt.mass_g, melt.mean, melt.sd, least=melt.least,
            content=a.composition.share(melt.main), probability=melt.probability,
        )
        for a in additions
        if a.composition.share(melt.main) > melt.least
    }  # fmt: skip
    exact = _cheapest(melt, additions, seed)
    if exact is None:
        return _as_it_is(melt, "infeasible", alone)
    weighed = _weighed(melt, additions, exact, balance_step_g)
    if weighed is None:
        return _as_it_is(melt, "infeasible", alone)
    if not any(weighed):
        return _as_it_is(melt, "kept", alone)
    mass, mean, sd = _after(melt, additions, weighed)
    added = {a.id: grams for a, grams in zip(additions, weighed, strict=True) if grams > 0}
    price = math.fsum(
        (a.price_per_g - melt.worth_per_g) * grams
        for a, grams in zip(additions, weighed, strict=True)
    )
    promised = mean - kappa(melt.probability) * sd
    said = [
        Saying("blend.correct.add", {"addition": name, "grams": Quantity(grams, "g")})
        for name, grams in added.items()
    ]
    said.append(
        Saying(
            "blend.correct.then",
            {
                "mean": Quantity(mean * 1000, "millesimal"),
                "promised": Quantity(promised * 1000, "millesimal"),
                "chance": Quantity(melt.probability * 100, "percent"),
            },
        )
    )
    bare = _as_it_is(melt, "corrected", alone)
    return dataclasses.replace(
        bare, additions=added, mass_g=mass, mean=mean, sd=sd, promised=promised, cost=price,
        explain=(*said, *bare.explain),
    )  # fmt: skip


def _cheapest(melt: Melt, additions: Sequence[BlendAddition], seed: int) -> list[float] | None:
    factor = kappa(melt.probability)
    surplus = 1000 * melt.mass_g * (melt.mean - melt.least)
    columns = [Variable("melt", 1.0, 1.0)]
    columns += [
        Variable(a.id, 0.0, min(_stock(a), melt.room_g, 1e6), a.price_per_g - melt.worth_per_g)
        for a in additions
    ]
    t = len(columns)
    columns.append(Variable("spread", 0.0, math.inf))
    gains = [
        (k + 1, 1000 * (a.composition.share(melt.main) - melt.least))
        for k, a in enumerate(additions)
    ]
    rows = [Row("fineness", ((0, surplus), *gains, (t, -factor)), lo=0.0)]
    if math.isfinite(melt.room_g) and additions:
        rows.append(Row("room", tuple((k + 1, 1.0) for k in range(len(additions))), hi=melt.room_g))
    if melt.giveaway_most is not None:
        top = melt.giveaway_most
        above = [(k, gain - 1000 * top) for k, gain in gains]
        rows.append(Row("giveaway", ((0, surplus - 1000 * top * melt.mass_g), *above), hi=0.0))
    lines = [((0, 1000 * melt.mass_g * melt.sd),)] if melt.sd > 0 else []
    lines += [((k + 1, 1000 * a.sd),) for k, a in enumerate(additions) if a.sd > 0]
    cones = (Cone("spread", t, tuple(lines)),) if lines and factor > 0 else ()
    solution = solve(Program(tuple(columns), tuple(rows), cones), seed=seed, cone_tolerance=1e-8)
    return list(solution.x[1 : 1 + len(additions)]) if solution.x else None


def _stock(addition: BlendAddition) -> float:
    return math.inf if addition.stock_g is None else addition.stock_g


def _after(
    melt: Melt, additions: Sequence[BlendAddition], grams: Sequence[float]
) -> tuple[float, float, float]:
    mass = melt.mass_g + math.fsum(grams)
    fine = melt.mass_g * melt.mean + math.fsum(
        g * a.composition.share(melt.main) for a, g in zip(additions, grams, strict=True)
    )
    spread = math.hypot(
        melt.mass_g * melt.sd, *(g * a.sd for a, g in zip(additions, grams, strict=True))
    )
    return mass, fine / mass, spread / mass


def _weighed(
    melt: Melt, additions: Sequence[BlendAddition], exact: Sequence[float], step: float
) -> list[float] | None:
    """To the balance step: what enriches upwards, what thins downwards; checked again."""
    factor = kappa(melt.probability)
    rich = [a.composition.share(melt.main) > melt.least for a in additions]
    counts = [
        math.ceil(g / step - 1e-6) if up else math.floor(g / step + 1e-6)
        for g, up in zip(exact, rich, strict=True)
    ]
    best = max(
        range(len(additions)), key=lambda k: additions[k].composition.share(melt.main), default=None
    )
    for _ in range(5):
        grams = [round(n * step, 9) for n in counts]
        mass, mean, sd = _after(melt, additions, grams)
        inside = mass - melt.mass_g <= melt.room_g + 1e-9 and all(
            g <= _stock(a) + 1e-9 for a, g in zip(additions, grams, strict=True)
        )
        if not inside:
            return None
        if mean - factor * sd >= melt.least - 1e-12:
            return grams
        if best is None:
            return None
        counts[best] += 1
    return None


def _as_it_is(melt: Melt, status: str, alone: Mapping[str, float]) -> Correction:
    promised = melt.mean - kappa(melt.probability) * melt.sd
    kept = [(least, name) for name, least in melt.lower_standards.items() if least <= promised]
    least, lower = max(kept, default=(0.0, ""))
    given = melt.mass_g * (melt.mean - least) if lower else 0.0
    chance = (
        NormalDist(melt.mean, melt.sd).cdf(melt.least)
        if melt.sd > 0
        else float(melt.mean < melt.least)
    )
    said = [
        Saying(
            f"blend.correct.{status}",
            {
                "melt": melt.id,
                "promised": Quantity(promised * 1000, "millesimal"),
                "short": Quantity(chance * 100, "percent"),
            },
        )
    ]
    if lower:
        away = Quantity(given, "g")
        said.append(Saying("blend.correct.mark_lower", {"standard": lower, "given_away": away}))
    return Correction(
        status, {}, melt.mass_g, melt.mean, melt.sd, promised, 0.0, alone, lower, given, tuple(said)
    )
