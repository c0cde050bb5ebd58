"""Random lives of a workshop: whatever is done, legal or not, the metal is all there."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule, run_state_machine_as_test

from lemel.book import Account, Done, Line, open_book
from lemel.book.guards import OPEN_PLACES
from lemel.errors import BadInput
from lemel.plan import Plan
from lemel.values import Composition, Holding, Reading

from .conftest import clock

OWNERS = ("shop", "ada", "bo")
PLACES = ("store", "process", "scrap", "piece")
BODIES = ("A", "B", "C")
accounts = st.builds(
    Account, st.sampled_from(OWNERS), st.sampled_from(PLACES), st.sampled_from(BODIES)
)
masses = st.integers(1, 500_000)
alloys = st.sampled_from(
    [
        Composition.from_millesimal({"Ag": 925, "Cu": 75}),
        Composition.from_millesimal({"Au": 585, "Ag": 200, "Cu": 200, "Zn": 15}),
        Composition.of({"Ag": 1 / 3, "Cu": 1 / 7}, 1 - 1 / 3 - 1 / 7),
        Composition.pure("Au"),
    ]
)

heats = st.sampled_from(["H1", "H3", "H4"])
picks = st.integers(0, 400)
shares = st.sampled_from([0.001, 0.1, 0.5, 1.0, 1.001])


class Life(RuleBasedStateMachine):
    """The book beside a plain dictionary of the same acts, worked out without it."""

    begun: Path

    def __init__(self):
        super().__init__()
        self.folder = Path(tempfile.mkdtemp(prefix="lemel-life-"))
        shutil.copytree(self.begun, self.folder / "book")
        self.book = open_book(self.folder / "book", clock=clock)
        self.held: dict[Account, dict[str, int]] = {}
        self.seals: list[tuple[int, list[Line]]] = []
        self.reversed: set[int] = set()

    def act(self, kind, lines, consent=""):
        """Legal by our own sums, or refused; either way the two agree afterwards."""
        after = {account: dict(parts) for account, parts in self.held.items()}
        for line in lines:
            parts = after.setdefault(line.account, {})
            for element, ng in line.holding.element_ng:
                parts[element] = parts.get(element, 0) + ng
        moved = [line for line in lines if line.holding.element_ng]
        sums: dict[str, int] = {}
        for line in lines:
            for element, ng in line.holding.element_ng:
                sums[element] = sums.get(element, 0) + ng
        legal = (
            not any(sums.values())
            and len({line.account for line in moved}) >= 2
            and not any(
                ng < 0
                for account, parts in after.items()
                if account.place not in OPEN_PLACES
                for ng in parts.values()
            )
            and (bool(consent) or len({line.account.owner for line in moved}) == 1)
        )
        if not legal:
            with pytest.raises(BadInput):
                self.book.post(kind, lines, consent=consent)
            return
        sealed = self.book.post(kind, lines, consent=consent)
        self.held = after
        self.seals.append((sealed.number, lines))

    @rule(to=accounts, mg=masses, of=alloys)
    def arrive(self, to, mg, of):
        metal = Holding.of(mg, of)
        self.act("weigh_in", [Line(Account(to.owner, "outside", "x"), -metal), Line(to, metal)])

    @rule(source=accounts, to=accounts, mg=masses, consent=st.sampled_from(["", "C1"]))
    def move(self, source, to, mg, consent):
        held = self.book.held(source)
        from lemel.book.holdings import take

        metal = take(held, min(mg, held.gross_mg))[0] if held.gross_mg > 0 else Holding.of(
            mg, Composition.pure("Ag")
        )  # fmt: skip
        if source != to:
            self.act("move", [Line(source, -metal), Line(to, metal)], consent)

    @rule(source=accounts, mg=masses, of=alloys)
    def take_what_may_not_be_there(self, source, mg, of):
        metal = Holding.of(mg, of)
        self.act("loss", [Line(source, -metal), Line(Account(source.owner, "loss", "x"), metal)])

    @rule(source=accounts, mg=masses, of=alloys)
    def make_metal_of_nothing(self, source, mg, of):
        self.act("wonder", [Line(source, Holding.of(mg, of))])

    @rule(source=accounts, to=accounts, mg=masses)
    def turn_silver_into_gold(self, source, to, mg):
        if source != to:
            silver = Holding.of(mg, Composition.pure("Ag"))
            gold = Holding.of(mg, Composition.pure("Au"))
            self.act("alchemy", [Line(source, -silver), Line(to, gold)], "C1")

    @rule(account=accounts, to=alloys)
    def assay(self, account, to):
        held = self.book.held(account)
        if held.gross_mg > 0:
            change = Holding.of(held.gross_mg, to) - held
            other = Account(account.owner, "assay_difference", "x")
            self.act("assay_difference", [Line(account, change), Line(other, -change)])

    @rule(pick=st.integers(0, 100))
    def reverse(self, pick):
        if not self.seals:
            return
        number, lines = self.seals[pick % len(self.seals)]
        after = {account: dict(parts) for account, parts in self.held.items()}
        if number not in self.reversed:
            for line in lines:
                for element, ng in line.holding.element_ng:
                    after[line.account][element] -= ng
        if any(
            ng < 0
            for account, parts in after.items()
            if account.place not in OPEN_PLACES
            for ng in parts.values()
        ):
            with pytest.raises(BadInput):
                self.book.reverse(number)
        else:
            self.book.reverse(number)
            self.held = after
            self.reversed.add(number)

    @invariant()
    def the_book_and_the_plain_sums_agree(self):
        ours = {
            account: {e: ng for e, ng in parts.items() if ng}
            for account, parts in self.held.items()
        }
        theirs = {account: held.as_dict() for account, held in self.book.balances().items()}
        assert theirs == {account: parts for account, parts in ours.items() if parts}
        assert sum(self.book.balances().values(), Holding.nothing()) == Holding.nothing()

    def teardown(self):
        found = self.book.audit()
        assert found.whole, found.faults
        self.book.close()
        shutil.rmtree(self.folder)


def live(begun, lives, acts):
    Life.begun = begun
    run_state_machine_as_test(
        Life,
        settings=settings(
            max_examples=lives, stateful_step_count=acts, derandomize=True, database=None,
            deadline=None, suppress_health_check=list(HealthCheck),
        ),
    )  # fmt: skip


def test_random_lives_of_a_workshop_conserve_metal_to_the_nanogram(begun):
    live(begun, 8, 25)


@pytest.mark.soak
def test_long_random_lives_of_a_workshop_conserve_metal_to_the_nanogram(begun):
    live(begun, 60, 80)


class BenchLife(RuleBasedStateMachine):
    """A month at a clumsy bench: any act in any order, on anything, legal or not."""

    accepted: Path
    plan: Plan

    def __init__(self):
        super().__init__()
        self.folder = Path(tempfile.mkdtemp(prefix="lemel-bench-"))
        shutil.copytree(self.accepted, self.folder / "book")
        self.book = open_book(self.folder / "book", clock=clock)
        self.id, self.count = self.plan.id, 0

    def attempt(self, act):
        """What is refused or asked about leaves no trace."""
        before = self.book.head(), self.book.balances(), self.states()
        try:
            done = act(self.book.mishaps)
        except BadInput:
            assert (self.book.head(), self.book.balances(), self.states()) == before
            return
        if getattr(done, "stopped", False) or (isinstance(done, Done) and done.entry is None):
            assert (self.book.head(), self.book.balances(), self.states()) == before

    def states(self):
        return [self.book.heat_state(self.id, heat.id) for heat in self.plan.heats]

    def body(self, pick, places=("store", "piece")):
        there = sorted({a.body for a in self.book.balances() if a.place in places})
        return there[pick % len(there)] if there else "nothing"

    def some(self, pick, share):
        body = self.body(pick, ("store",))
        held = sum(h.gross_mg for a, h in self.book.balances(place="store").items()
                   if a.body == body)  # fmt: skip
        return body, max(0.001, round(held / 1000 * share, 3))

    def new(self, stem):
        self.count += 1
        return f"{stem}{self.count}"

    @rule(heat=heats, only=st.booleans())
    def charge(self, heat, only):
        self.attempt(lambda _: self.book.charge(self.id, heat, only=only))

    @rule(heat=heats, pick=picks, share=shares, consent=st.sampled_from(["", "C2", "C5"]))
    def add(self, heat, pick, share, consent):
        body, grams = self.some(pick, share)
        self.attempt(lambda m: m.charge_more(self.id, heat, {body: grams}, consent=consent))

    @rule(heat=heats)
    def melt(self, heat):
        self.attempt(lambda _: self.book.molten(self.id, heat))

    @rule(heat=heats)
    def charge_melt_and_pour(self, heat):
        self.attempt(lambda _: self.book.charge(self.id, heat))
        self.attempt(lambda _: self.book.molten(self.id, heat))
        self.pour(heat, True)

    @rule(heat=heats, answered=st.booleans())
    def pour(self, heat, answered):
        answers = {heat: "book_difference"} if answered else {}
        self.attempt(lambda _: self.book.pour(self.id, heat, answers=answers))

    @rule(pick=picks)
    def work(self, pick):
        steps = [s.name for s in self.book.steps(self.id) if not s.done]
        if steps:
            self.attempt(lambda _: self.book.work(self.id, steps[pick % len(steps)]))

    @rule(heat=heats)
    def undo_heat(self, heat):
        self.attempt(lambda m: m.undo_step(self.id, heat))

    @rule(pick=picks)
    def undo_step(self, pick):
        steps = [s.name for s in self.book.steps(self.id) if s.done]
        if steps:
            self.attempt(lambda m: m.undo_step(self.id, steps[pick % len(steps)]))

    @rule(heat=heats)
    def uncharge(self, heat):
        self.attempt(lambda m: m.uncharge(self.id, heat))

    @rule(heat=heats, recovered=masses, lost=masses)
    def spill(self, heat, recovered, lost):
        self.attempt(
            lambda m: m.spill(self.id, heat, recovered_g=recovered / 1e5, lost_g=lost / 1e6)
        )

    @rule(heat=heats, pick=picks, other=picks)
    def wrong_lot(self, heat, pick, other):
        charged = sorted(line.body for h in self.plan.heats if h.id == heat
                         for line in h.charge.lines)  # fmt: skip
        wrong = charged[pick % len(charged)]
        self.attempt(lambda m: m.wrong_lot(self.id, heat, wrong, self.body(other)))

    @rule(pick=picks, kind=st.sampled_from(["pipe", "crack", "bent"]), share=shares)
    def fault(self, pick, kind, share):
        body, grams = self.some(pick, share / 4)
        self.attempt(lambda m: m.fault(body, kind, cropped_g=grams))

    @rule(pick=picks)
    def clear(self, pick):
        self.attempt(lambda m: m.clear_suspect(self.body(pick), "rolled thin"))

    @rule(pick=picks, share=shares, whole=st.booleans())
    def split(self, pick, share, whole):
        body, grams = self.some(pick, share)
        self.attempt(lambda m: m.split(body, {self.new("part"): grams}, whole=whole))

    @rule(one=picks, other=picks, consent=st.sampled_from(["", "C5"]))
    def merge(self, one, other, consent):
        bodies = [self.body(one, ("store",)), self.body(other, ("store",))]
        self.attempt(lambda m: m.merge(bodies, self.new("bag"), consent=consent))

    @rule(pick=picks)
    def remelt(self, pick):
        self.attempt(lambda m: m.remelt(self.body(pick)))

    @rule(mg=masses)
    def restock(self, mg):
        self.attempt(lambda m: m.restock("copper", mg / 1000))

    @rule(mg=masses, lost=st.sampled_from(["melt_and_pour", "mill", "spill", "polish"]), heat=heats)
    def found(self, mg, lost, heat):
        self.attempt(lambda m: m.found("shop", lost, mg / 1e6, lost_from=f"{self.id}/{heat}"))

    @rule(place=st.sampled_from(["lemel_box", "hold_up"]), share=shares, emptied=st.booleans())
    def recover(self, place, share, emptied):
        for account, held in self.book.balances("shop", place).items():
            grams = max(0.001, round(held.gross_mg * share / 1000, 3))
            self.attempt(
                lambda m, a=account, g=grams: m.recover(
                    place, a.body, g, owner=a.owner, emptied=emptied, answered=True
                )
            )

    @rule(pick=picks)
    def deliver(self, pick):
        self.attempt(lambda m: m.deliver(self.body(pick, ("piece",))))

    @rule(pick=picks, drop=st.booleans())
    def take_back(self, pick, drop):
        self.attempt(lambda m: m.take_back(self.body(pick), drop=drop))

    @rule(heat=heats, parts=st.integers(300, 999))
    def prove(self, heat, parts):
        read = {"H1": "Ag", "H3": "Au", "H4": "Au"}[heat]
        reading = Reading(self.new("A"), f"{self.id}/{heat}", "icp-difference", {read: parts / 1e3})
        self.attempt(lambda _: self.book.prove(self.id, heat, reading))

    @invariant()
    def nothing_is_made_and_nothing_is_less_than_nothing(self):
        held = self.book.balances()
        assert sum(held.values(), Holding.nothing()) == Holding.nothing()
        assert not [
            account
            for account, metal in held.items()
            if account.place not in OPEN_PLACES and any(ng < 0 for _, ng in metal.element_ng)
        ]

    def teardown(self):
        found = self.book.audit()
        assert found.whole, found.faults
        self.book.close()
        shutil.rmtree(self.folder)


def live_at_the_bench(accepted, plan, lives, acts):
    BenchLife.accepted, BenchLife.plan = accepted, plan
    run_state_machine_as_test(
        BenchLife,
        settings=settings(
            max_examples=lives, stateful_step_count=acts, derandomize=True, database=None,
            deadline=None, suppress_health_check=list(HealthCheck),
        ),
    )  # fmt: skip


def test_whatever_goes_wrong_at_the_bench_the_metal_is_all_there(accepted, plan):
    live_at_the_bench(accepted, plan, 4, 30)


@pytest.mark.soak
def test_whatever_goes_wrong_for_months_the_metal_is_all_there(accepted, plan):
    live_at_the_bench(accepted, plan, 80, 60)


def divisions(times):
    """Splits and merges in exact arithmetic: after each, the parts are the whole."""
    import random

    from lemel.book.holdings import take

    dice = random.Random(960)
    body = Composition.of({"Ag": 0.8312345, "Cu": 0.1, "Zn": 0.01}, 0.0587655)
    heaps = [Holding.of(412_000_000, body)]
    whole = heaps[0]
    for _ in range(times):
        one = heaps.pop(dice.randrange(len(heaps)))
        if len(heaps) > 1 and dice.random() < 0.5:
            heaps.append(one + heaps.pop(dice.randrange(len(heaps))))
        else:
            heaps += take(one, dice.randint(0, one.gross_mg))
    assert sum(heaps, Holding.nothing()) == whole
    assert all(ng >= 0 for heap in heaps for _, ng in heap.element_ng)
    assert all(sum(heap.as_dict().values()) == heap.gross_mg * 10**6 for heap in heaps)


def test_twenty_thousand_splits_and_merges_are_exact():
    divisions(20_000)


@pytest.mark.soak
def test_two_million_splits_and_merges_are_exact():
    divisions(2_000_000)
