"""`Book`: the face of the room. Opened on a folder; every act is one transaction."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lemel.book import audit as auditing
from lemel.book import (
    evidence,
    filing,
    flow,
    gates,
    heats,
    ledger,
    lineage,
    losses,
    people,
    promised,
    records,
    register,
    safe,
    statement,
    steps,
    suspicion,
    swap,
    told,
)
from lemel.book.acts import Act, told_hour
from lemel.book.bulk import Draft, post_many
from lemel.book.copies import Copies
from lemel.book.filing import Filing
from lemel.book.jobs import Jobs
from lemel.book.mishaps import Mishaps
from lemel.book.opened import Opened, utc_now
from lemel.book.papers import Papers
from lemel.book.values import (
    Accepted,
    Account,
    Audit,
    Bought,
    Done,
    Line,
    LossRow,
    PlanStep,
    Sealed,
    Statement,
)
from lemel.plan import Plan
from lemel.values import Addition, Bar, Composition, Consent, Holding, Lot, Origin, Reading

__all__ = ["Book", "utc_now"]


@dataclass(frozen=True, slots=True)
class Book(Opened):
    """An open book. Amounts are mg (gross) and ng (elements); owners are named by their id.

    Whatever the book refuses is a `BadInput`, and then nothing was written. `clock` gives the
    hour of an entry (UTC); `bench` the records of the shop.
    """

    @property
    def copies(self) -> Copies:
        """Backups that nobody has to think of."""
        return Copies(self.alias, self.folder, self.now)

    @property
    def jobs(self) -> Jobs:
        """Long work asked for through this book."""
        return Jobs(self.alias, self.folder, self.now)

    @property
    def mishaps(self) -> Mishaps:
        """What no plan foresees: faults, wrong bags, spills, splits, deliveries, undoing."""
        return Mishaps(self.alias, self.act)

    def act(self, by: str, at: str = "") -> Act:
        """An act of this hour by somebody; `at` is when it really was: 15:20, or with its day."""
        now = self.now()
        return Act(self.alias, now, by, told_hour(at, now))

    @property
    def papers(self) -> Papers:
        """Receipts, statements, stock-takes, values, parcels, origins, quotations."""
        return Papers(self)

    def enter_owners(self, owners: Mapping[str, str]) -> None:
        """Owners by id and name."""
        with ledger.writing(self.alias):
            people.enter_owners(self.alias, owners)

    def owners(self) -> dict[str, str]:
        """Names by owner's id."""
        return people.shown_names(self.alias)

    def erase_names(self, owner: str) -> str:
        """Take a person's names and words out; the ledger stays whole. Gives the key left over."""
        with ledger.writing(self.alias):
            words = told.erase(self.alias, owner)
            key = people.erase(self.alias, owner, self.now())
            flow.redact(self.alias, owner, key, words)
            return key

    def post(
        self,
        kind: str,
        lines: Sequence[Line],
        *,
        key: str = "",
        about: str = "",
        by: str = "",
        consent: str = "",
        memo: Mapping[str, Any] | None = None,
    ) -> Sealed:
        """Seal one entry whose lines sum to nothing in gross and in every element.

        The same `key` with the same content gives the entry that is there already.
        """
        return ledger.post(
            self.alias, self.now(), kind, lines,
            key=key, about=about, by=by, consent=consent, memo=memo,
        )  # fmt: skip

    def post_many(self, drafts: Iterable[Draft]) -> tuple[int, Sealed | None]:
        """Seal many entries in order, all or none, through the same guards; how many, the last."""
        return post_many(self.alias, self.now(), drafts)

    def reverse(self, number: int, *, by: str = "") -> Sealed:
        """Undo an entry by its opposite; asking twice gives the same reversal."""
        return ledger.reverse(self.alias, self.now(), number, by=by)

    def held(self, account: Account) -> Holding:
        """What one account holds."""
        return ledger.held(self.alias, account)

    def balances(
        self, owner: str | None = None, place: str | None = None
    ) -> dict[Account, Holding]:
        """Every account that holds something, perhaps of one owner or at one place."""
        return ledger.balances(self.alias, owner, place)

    def head(self) -> tuple[int, str]:
        """Number and digest of the last entry: note it on paper, and the audit can be told."""
        return ledger.tail(self.alias)

    def audit(self, expect: tuple[int, str] | None = None) -> Audit:
        """Recompute the chain, the balances and the totals; `expect` is a head noted earlier."""
        return auditing.audit(self.alias, expect)

    def weigh_in(
        self,
        lots: Sequence[Lot] = (),
        readings: Sequence[Reading] = (),
        owners: Mapping[str, str] | None = None,
        consents: Sequence[Consent] = (),
        *,
        additions: Sequence[Addition] = (),
        bars: Sequence[Bar] = (),
        compositions: Mapping[str, Composition] | None = None,
        by: str = "",
    ) -> tuple[Sealed, ...]:
        """Lots, additions (their stock) and bars into the store, one entry each, all or none.

        A lot counts by what `lemel.scrap` believes of it now, unless `compositions` says
        otherwise. The same again changes nothing; another thing under the same id is refused.
        """
        with ledger.writing(self.alias):
            people.enter_owners(self.alias, owners or {})
            records.enter_consents(self.alias, self.now(), consents)
            return records.weigh_in(
                self.alias, self.now(), lots, readings, additions, bars, compositions or {}, by
            )

    def enter_readings(self, readings: Sequence[Reading]) -> None:
        """Evidence as it was taken; it changes no balance by itself."""
        with ledger.writing(self.alias):
            records.enter_readings(self.alias, readings)

    def enter_consents(self, consents: Sequence[Consent]) -> None:
        """What owners have allowed."""
        with ledger.writing(self.alias):
            records.enter_consents(self.alias, self.now(), consents)

    def enter_purchase(self, lot: str, seller: str, described: str) -> Bought:
        """A lot was bought of somebody: the least that a register keeps."""
        with ledger.writing(self.alias):
            return register.bought(self.alias, self.now(), lot, seller, described)

    def purchases(self) -> tuple[Bought, ...]:
        """The register of what was bought in."""
        return register.purchases(self.alias)

    def withdraw(self, name: str) -> None:
        """Take back a reading, a consent, or a lot that holds nothing; it stays to be seen."""
        with ledger.writing(self.alias):
            records.withdraw(self.alias, name)

    def lots(self) -> tuple[Lot, ...]:
        """Lots with metal in the store, at the mass they have now: bars and remnants too. Their
        flags hold the newest answers to the gates."""
        return gates.answered(self.alias, records.at_hand(self.alias, "lot"))

    def additions(self) -> tuple[Addition, ...]:
        """Additions with metal in the store, at the mass they have now."""
        return records.at_hand(self.alias, "addition")

    def bars(self) -> tuple[Bar, ...]:
        """Bars that were weighed in as bars, at the mass they have now."""
        return records.at_hand(self.alias, "bar")

    def readings(self, about: str | None = None) -> tuple[Reading, ...]:
        """All evidence, or that on one lot, heat or bar."""
        return records.readings(self.alias, about)

    def accept(self, plan: Plan) -> Accepted:
        """Keep a plan whole and reserve what it takes; accepting it twice changes nothing."""
        with ledger.writing(self.alias):
            return flow.accept(self.alias, self.now(), plan)

    def drop_plan(self, plan: str) -> int:
        """Free what is still reserved for a plan, mg; what was done under it stays done."""
        with ledger.writing(self.alias):
            promised.mark_dropped(self.alias, self.now(), flow.kept_plan(self.alias, plan).id)
            return flow.drop(self.alias, plan)

    def plan(self, plan: str) -> Plan:
        """A plan as it was accepted; nothing is computed anew."""
        return flow.kept_plan(self.alias, plan)

    def steps(self, plan: str) -> tuple[PlanStep, ...]:
        """The steps of an accepted plan, in order."""
        return flow.plan_steps(self.alias, plan)

    def charge(
        self,
        plan: str,
        heat: str,
        *,
        before: Mapping[str, float] | None = None,
        taken: Mapping[str, float] | None = None,
        answers: Mapping[str, str] | None = None,
        only: bool = False,
        by: str = "",
        at: str = "",
    ) -> Done:
        """From the bags into the pot. `before`: whole bags, weighed; `taken`: into the pot.

        `only`: nothing but what `taken` names, the rest later by `mishaps.charge_more`.
        """
        weights = steps.Weights(before or {}, taken or {}, {}, answers or {})
        return self._step(
            lambda: (
                gates.stopped(self.alias, plan, heat)
                or steps.charge(self.act(by, at), plan, heat, weights, only)
            )
        )

    def molten(self, plan: str, heat: str, *, by: str = "", at: str = "") -> None:
        """The charge is down."""
        with ledger.writing(self.alias):
            heats.move_on(self.act(by, at), f"{plan}/{heat}", "molten")

    def pour(
        self,
        plan: str,
        heat: str,
        *,
        after: Mapping[str, float] | None = None,
        answers: Mapping[str, str] | None = None,
        by: str = "",
        at: str = "",
    ) -> Done:
        """Out of the pot, by weight of each bar, feeder and what stays in the pot."""
        weights = steps.Weights({}, {}, after or {}, answers or {})
        return self._step(lambda: steps.pour(self.act(by, at), plan, heat, weights))

    def work(
        self,
        plan: str,
        step: str,
        *,
        before: Mapping[str, float] | None = None,
        after: Mapping[str, float] | None = None,
        answers: Mapping[str, str] | None = None,
        by: str = "",
        at: str = "",
    ) -> Done:
        """A step that parts, mills or cuts a bar, by weight of what comes of it."""
        weights = steps.Weights(before or {}, {}, after or {}, answers or {})
        return self._step(lambda: steps.work(self.act(by, at), plan, step, weights))

    def _step(self, act: Callable[[], Done]) -> Done:
        """One transaction; a step that stops leaves nothing behind."""
        with ledger.writing(self.alias):
            done = act()
            if done.entry is None:
                ledger.undo(self.alias)
            return done

    def prove(
        self,
        plan: str,
        heat: str,
        reading: Reading,
        composition: Composition | None = None,
        *,
        by: str = "",
        at: str = "",
    ) -> Sealed | None:
        """An assay of a poured heat: its difference, on all that is still in the house."""
        with ledger.writing(self.alias):
            return evidence.prove(self.act(by, at), f"{plan}/{heat}", reading, composition)

    def close_heat(self, plan: str, heat: str, *, by: str = "", at: str = "") -> None:
        """Nothing more is to come of this heat."""
        with ledger.writing(self.alias):
            heats.move_on(self.act(by, at), f"{plan}/{heat}", "closed")

    def heat_state(self, plan: str, heat: str) -> str:
        """planned, charged, molten, poured, proven or closed."""
        return heats.state_of(self.alias, f"{plan}/{heat}")

    def heat_events(self, plan: str, heat: str) -> tuple[tuple[str, str, dict[str, Any]], ...]:
        """What happened to a heat: hour, state, facts."""
        return heats.events(self.alias, f"{plan}/{heat}")

    def stock_take(self, account: Account, weighed_g: float, *, by: str = "") -> Sealed | None:
        """Bring a heap to what the balance says; None where it says the same."""
        with ledger.writing(self.alias):
            return steps.stock_take(self.alias, self.now(), account, round(weighed_g * 1000), by)

    def ancestors(self, body: str) -> dict[str, tuple[str, ...]]:
        """Every body that this one's metal comes from, each with its own parents."""
        return lineage.ancestors(self.alias, body)

    def descendants(self, body: str) -> dict[str, tuple[str, ...]]:
        """Every body that holds metal of this one, each with its own children."""
        return lineage.descendants(self.alias, body)

    def origin(self, body: str) -> Origin:
        """Shares of fine mass by origin class, as they were frozen."""
        return lineage.origin_of(self.alias, body)

    def mark_suspect(self, body: str) -> tuple[str, ...]:
        """A body, its heats and all that came of them are barred from further plans."""
        with ledger.writing(self.alias):
            return suspicion.mark(self.act(""), body, "told")

    def losses(
        self, since: str = "", until: str = "9999", by_person: bool = False
    ) -> tuple[LossRow, ...]:
        """Loss by operation, or by that and person, from `since` to before `until`."""
        return losses.losses(self.alias, since, until, by_person)

    def statement(self, owner: str, since: str = "", until: str = "9999") -> Statement:
        """An owner's statement from `since` to before `until` (dates or hours as text)."""
        return statement.statement(self.alias, owner, since, until)

    def file(
        self,
        kind: str,
        name: str,
        record: Any,
        *,
        private: Mapping[str, Any] | None = None,
        owner: str = "",
        by: str = "",
        gone: bool = False,
    ) -> Filing:
        """A new version of a record of the shop; `gone` says that it is over."""
        with ledger.writing(self.alias):
            return filing.file(
                self.alias, self.now(), kind, name, record,
                private=private, owner=owner, by=by, gone=gone,
            )  # fmt: skip

    def filed(self, kind: str) -> dict[str, Filing]:
        """What stands of every record of a kind, by name."""
        return filing.all_of(self.alias, kind)

    def filed_history(self, kind: str, name: str) -> tuple[Filing, ...]:
        """Every version of a record, the first one first."""
        return filing.history(self.alias, kind, name)

    def backup(self, to: Path | None = None) -> tuple[Path, Audit]:
        """One zip, verified by opening and auditing the copy."""
        return safe.backup(self.alias, self.folder, self.now(), to)

    def export(self) -> dict[str, Any]:
        """Everything in the book as plain data."""
        return swap.written_out(self.alias)

    def read_in(self, data: Mapping[str, Any]) -> Audit:
        """What another book exported, into this one, which must be empty."""
        return swap.read_in(self.alias, data)
