"""Random lives of a workshop: whatever is done, legal or not, the metal is all there."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule, run_state_machine_as_test

from lemel.book import Account, Line, open_book
from lemel.book.guards import OPEN_PLACES
from lemel.errors import BadInput
from lemel.values import Composition, Holding

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
