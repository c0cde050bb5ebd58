"""What the blend room takes and gives back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from lemel.values import Composition, Objection, Proof, Saying

__all__ = [
    "BlendAddition", "BlendAnswer", "BlendHeat", "BlendLot", "BlendOptions", "BlendProblem",
    "Demand", "Heal", "HeatBlend",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class BlendLot:
    """A lot as the solver sees it: all shares as mass fractions, money per gram.

    `own_sd` and `loading` (signed, by shared factor) are of the main element; `other_sd`
    of the others. `yield_fraction` is the metal that comes out per gram put in. `doubt` is
    the probability that the lot is not what it is taken for. Of an `opened` lot some is
    already used: what is left of it counts as a remainder even if nothing more is taken.
    """

    id: str
    mass_g: float
    whole: bool
    owner: str
    mean: Composition
    own_sd: float
    loading: Mapping[str, float] = field(default_factory=dict)
    other_sd: Mapping[str, float] = field(default_factory=dict)
    value_per_g: float = 0.0
    age_days: float = 0.0
    min_take_g: float = 0.0
    min_remainder_g: float = 0.0
    flags: frozenset[str] = frozenset()
    yield_fraction: float = 1.0
    doubt: float = 0.0
    family: str = ""
    opened: bool = False


@dataclass(frozen=True, slots=True)
class BlendAddition:
    """Clean metal; `stock_g` None: no limit. `owner` "" may go into any heat."""

    id: str
    composition: Composition
    sd: float
    price_per_g: float
    stock_g: float | None = None
    owner: str = ""
    family: str = ""
    form: str = "grain"


@dataclass(frozen=True, slots=True)
class BlendHeat:
    """One heat to be formed.

    `least` is the standard (mass fraction of `main`); `giveaway_most` how far the mean may
    exceed it (None: any). `impurity_most` are mass fractions, each lot counted at mean +
    impurity_k sd; a limit of 0 bars every lot with any of that element. `lots_allowed`
    None: any lot whose owner fits; `may_use_owners`: owners beside the heat's own (the
    house is always among the candidates of instance files; in plans only with consent).
    `shares` bound the mass share of an element ({"Cu": (0.1, 0.2)}: the colour window).
    """

    id: str
    owner: str
    main: str
    least: float
    probability: float
    least_g: float
    most_g: float
    giveaway_most: float | None = None
    impurity_most: Mapping[str, float] = field(default_factory=dict)
    impurity_k: float = 0.0
    forbid_flags: frozenset[str] = frozenset()
    required: bool = True
    fixed_cost: float = 0.0
    lots_allowed: frozenset[str] | None = None
    may_use_owners: frozenset[str] = frozenset()
    owner_limit_g: Mapping[str, float] = field(default_factory=dict)
    shares: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    course: str = "one_shot"
    family: str = ""


@dataclass(frozen=True, slots=True)
class Demand:
    """The total mass of these heats must reach `least_g`."""

    heats: tuple[str, ...]
    least_g: float


@dataclass(frozen=True, slots=True)
class BlendOptions:
    """How hard to try. `work_most` is in the solver's units; the Watch owns the clock.

    `explain_most` lots left out are asked after by a forced re-solve each. `guard_drop`
    above 0 switches the gross-error guard on: a plan must survive any one lot whose doubt
    is above `guard_doubt` being poorer by `guard_drop` (fraction), down to `guard_short`
    below the standard, so that a sample and a correction can still mend it.

    `sample_sd` is the spread of the own instrument in the course hold_and_correct, and
    `stock_worth_per_g` what a gram more of finished metal is worth (the correction adds some;
    None: the lots' value per fine gram times the standard). `first_probability` is what the
    first pour of pour_prove_remelt is planned to.
    """

    gap: float = 5e-5
    work_most: int = 2_000_000
    seed: int = 1
    balance_step_g: float = 0.01
    explain: bool = True
    explain_most: int = 12
    guard_drop: float = 0.0
    guard_short: float = 0.004
    guard_doubt: float = 0.0
    sample_sd: float = 0.0008
    stock_worth_per_g: float | None = None
    first_probability: float = 0.8


@dataclass(frozen=True, slots=True)
class BlendProblem:
    """Lots, additions and heats in one question.

    `promise_per` "plan": the heats' probabilities are meant for all heats together, and each
    is planned to its share of the doubt (Bonferroni); `promise_heats` counts the heats of the
    whole plan where these are only some of them (None: these are all).
    """

    lots: tuple[BlendLot, ...]
    additions: tuple[BlendAddition, ...]
    heats: tuple[BlendHeat, ...]
    demands: tuple[Demand, ...] = ()
    age_credit_g_day: float = 0.0
    remainder_penalty: float = 0.0
    house: str = "house"
    options: BlendOptions = BlendOptions()
    promise_per: str = "heat"
    promise_heats: int | None = None


@dataclass(frozen=True, slots=True)
class HeatBlend:
    """One heat as solved. `promised` is the share kept with the heat's probability;
    `probability` that of keeping the standard. Masses are grams by id.

    For the course hold_and_correct both are before the correction; `correction_g` is the
    expected grams of `correction_with` after the sample, `correction_most_g` those that 99
    melts of 100 will not exceed.
    """

    id: str
    formed: bool
    mass_g: float
    lots: Mapping[str, float]
    additions: Mapping[str, float]
    composition: Composition | None
    mean: float
    sd: float
    promised: float
    probability: float
    giveaway_fine_g: float = 0.0
    poured_g: float = 0.0
    correction_with: str = ""
    correction_g: float = 0.0
    correction_most_g: float = 0.0


@dataclass(frozen=True, slots=True)
class Heal:
    """One single change that makes an infeasible problem possible.

    `kind` is stock, probability, mass_least, mass_most, giveaway, impurity, share, demand,
    owner_limit, owner, whole or evidence; `about` the addition, heat, element, owner or lot that
    it concerns. `now` is the limit as asked, `needed` the mildest that is enough, `change` the
    difference, all in `unit`.
    """

    kind: str
    about: str
    heat: str
    now: float | None
    needed: float
    change: float
    unit: str


@dataclass(frozen=True, slots=True)
class BlendAnswer:
    """The plan with its proof, or why there is none.

    `cost` is of the masses as weighed out in balance steps; `proof.bound` bounds the exact
    problem. `explain` names binding limits, lots left out and what would heal an infeasible
    one; `heals` are the same remedies as values. Where no single change is enough,
    `heal_sets` are the smallest sets of changes that are, each to be made whole.

    `together` is the probability that all formed heats keep their standards, with what they
    share counted in (None: no plan, a preview, or a course that mends afterwards).
    """

    status: str
    cost: float | None
    heats: tuple[HeatBlend, ...]
    proof: Proof
    explain: tuple[Saying, ...] = ()
    objections: tuple[Objection, ...] = ()
    heals: tuple[Heal, ...] = ()
    heal_sets: tuple[tuple[Heal, ...], ...] = ()
    together: float | None = None
