# The key of an act is read by `once_by_key`, for all acts alike.
# ruff: noqa: ARG002
"""`book.mishaps`: what no plan foresees, each act one transaction with its event and its next step.

An act that must be answered first comes back `stopped`, with its objections, and nothing was
written; `answered=True` says that the balance is right. `at` is the hour that is told when an act
is written down later ("15:20", or with its day); `by` is who did it. With a `key` an act is
done once: the same again gives the first answer, another act under that key is refused.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from lemel.book import (
    doors,
    faults,
    heaps,
    ledger,
    models,
    offers,
    pots,
    suspicion,
    undoing,
    wrong_lot,
)
from lemel.book.acts import Act
from lemel.book.once import once_by_key
from lemel.book.steps import Weights
from lemel.book.values import Happened, Offer
from lemel.errors import BadInput
from lemel.values import Composition

__all__ = ["Mishaps"]


@dataclass(frozen=True, slots=True)
class Mishaps:
    """The acts; `make` gives an act its hour and its hand."""

    alias: str
    make: Callable[[str, str], Act]

    def _do(self, act: Callable[[], Happened]) -> Happened:
        with ledger.writing(self.alias):
            happened = act()
            if happened.stopped:
                ledger.undo(self.alias)
            return happened

    def body_named(self, name: str) -> str:
        """The full id of a body: as it is, or a plan's own short name (H1-3) where one has it."""
        rows = models.Body.objects.using(self.alias)
        if rows.filter(pk=name).exists():
            return name
        near = list(rows.filter(pk__endswith=f"/{name}").values_list("id", flat=True)[:5])
        if len(near) == 1:
            return str(near[0])
        known = ", ".join(near) or "a lot, bar or piece of this book"
        raise BadInput("body", name, known, "Name the one that is meant.")

    def plan_named(self, name: str) -> str:
        """The id of a plan; "last" is the one that was accepted last."""
        if name != "last":
            return name
        rows = models.Kept.objects.using(self.alias).order_by("-accepted_at", "-id")
        found = rows.values_list("id", flat=True).first()
        if found is None:
            raise BadInput("plan", name, "none yet", "Accept a plan first.")
        return str(found)

    @once_by_key
    def fault(
        self,
        body: str,
        kind: str,
        *,
        place_mm: float | None = None,
        depth_mm: float | None = None,
        cropped_g: float | None = None,
        left_g: float | None = None,
        note: str = "",
        answered: bool = False,
        key: str = "",
        by: str = "",
        at: str = "",
    ) -> Happened:
        """A bar's fault: short, cold_shut, pipe, flash, pits, streaks, blister, lamination, crack.

        `cropped_g` went back as an offcut, `left_g` is the bar now. A crack makes the heat and all
        its relatives suspect.
        """
        return self._do(
            lambda: faults.fault(
                self.make(by, at), body, kind, place_mm=place_mm, depth_mm=depth_mm,
                cropped_g=cropped_g, left_g=left_g, note=note, answered=answered,
            )
        )  # fmt: skip

    def faults(self, body: str) -> tuple[dict[str, object], ...]:
        """The faults on record of a body."""
        return faults.faults_of(self.alias, body)

    @once_by_key
    def clear_suspect(
        self, body: str, reason: str, *, key: str = "", by: str = "", at: str = ""
    ) -> Happened:
        """Sound after all, and why: it and its relatives may go into clean heats again."""
        return self._do(lambda: Happened(suspect=suspicion.clear(self.make(by, at), body, reason)))

    def suspects(self) -> tuple[str, ...]:
        """Everything that is barred from clean heats."""
        rows = models.Body.objects.using(self.alias).filter(suspect=True).order_by("id")
        return tuple(rows.values_list("id", flat=True))

    @once_by_key
    def wrong_lot(
        self,
        plan: str,
        heat: str,
        charged: str,
        really: str,
        *,
        grams: float | None = None,
        consent: str = "",
        room_g: float | None = None,
        key: str = "",
        by: str = "",
        at: str = "",
    ) -> Happened:
        """`really` went into the pot where the book says `charged`.

        Before the pour `offers` says how to go on; after it the promise of its bars is withdrawn.
        """
        return self._do(
            lambda: wrong_lot.wrong_lot(
                self.make(by, at), plan, heat, charged, really, grams=grams, consent=consent,
                room_g=room_g,
            )
        )  # fmt: skip

    def offers(self, plan: str, heat: str, room_g: float | None = None) -> tuple[Offer, ...]:
        """What can be done with the metal in a pot; `room_g` is what the crucible still takes."""
        return offers.offers(self.alias, plan, heat, room_g)

    @once_by_key
    def mark_real(
        self,
        plan: str,
        heat: str,
        standard: str,
        why: str,
        *,
        key: str = "",
        by: str = "",
        at: str = "",
    ) -> Happened:
        """The heat's bars are marked at what they are: a lower standard, or "" for none."""
        act = self.make(by, at)
        return self._do(lambda: offers.mark_real(act, plan, heat, standard, why))

    def promise_of(self, body: str) -> str:
        """The standard that a bar or piece may still be marked with; "" for none."""
        return offers.promise_of(self.alias, body)

    @once_by_key
    def charge_more(
        self,
        plan: str,
        heat: str,
        taken: Mapping[str, float],
        *,
        before: Mapping[str, float] | None = None,
        answers: Mapping[str, str] | None = None,
        consent: str = "",
        key: str = "",
        by: str = "",
        at: str = "",
    ) -> Happened:
        """More into the pot: the next top-up as it is really put in, or a correction."""
        weights = Weights(before or {}, taken, {}, answers or {})
        act = self.make(by, at)

        def added() -> Happened:
            done = pots.charge_more(act, plan, heat, weights, consent, key)
            if done.stopped or done.entries[0].again:
                return done
            judged = offers.judged(act, plan, heat, None)
            return replace(done, offers=judged.offers, next=judged.next)

        return self._do(added)

    @once_by_key
    def uncharge(
        self,
        plan: str,
        heat: str,
        *,
        after: Mapping[str, float] | None = None,
        key: str = "",
        by: str = "",
        at: str = "",
    ) -> Happened:
        """The cold charge back into its bags; `after` are whole bags, weighed again."""
        return self._do(lambda: pots.uncharge(self.make(by, at), plan, heat, after or {}))

    @once_by_key
    def spill(
        self,
        plan: str,
        heat: str,
        *,
        recovered_g: float = 0.0,
        lost_g: float = 0.0,
        into: str = "",
        key: str = "",
        by: str = "",
        at: str = "",
    ) -> Happened:
        """Metal beside the pot: what was picked up is a lot, the rest is lost."""
        act = self.make(by, at)
        return self._do(lambda: pots.spill(act, plan, heat, recovered_g, lost_g, into))

    @once_by_key
    def undo_step(
        self, plan: str, step: str, *, key: str = "", by: str = "", at: str = ""
    ) -> Happened:
        """Take back a step, or the last thing that a heat ("H1") went through."""
        return self._do(lambda: undoing.undo(self.make(by, at), plan, step))

    @once_by_key
    def split(
        self,
        body: str,
        parts_g: Mapping[str, float],
        *,
        whole: bool = False,
        owner: str = "",
        answered: bool = False,
        key: str = "",
        by: str = "",
        at: str = "",
    ) -> Happened:
        """New lots out of one, by weight; `whole`: nothing is left in the old bag."""
        act = self.make(by, at)
        return self._do(lambda: heaps.split(act, body, parts_g, whole, owner, answered))

    @once_by_key
    def merge(
        self,
        bodies: Sequence[str],
        into: str,
        *,
        owner: str = "",
        consent: str = "",
        key: str = "",
        by: str = "",
        at: str = "",
    ) -> Happened:
        """Lots into one bag: of one owner, or by a consent to mix; of one metal and family."""
        return self._do(lambda: heaps.merge(self.make(by, at), bodies, into, owner, consent))

    @once_by_key
    def remelt(
        self,
        body: str,
        *,
        into: str = "",
        form: str = "offcut",
        weighed_g: float | None = None,
        owner: str = "",
        answered: bool = False,
        key: str = "",
        by: str = "",
        at: str = "",
    ) -> Happened:
        """A bar or piece becomes scrap for another heat, and keeps its count of melts."""
        act = self.make(by, at)
        return self._do(lambda: heaps.remelt(act, body, into, form, weighed_g, owner, answered))

    @once_by_key
    def restock(
        self,
        addition: str,
        grams: float,
        *,
        composition: Composition | None = None,
        key: str = "",
        by: str = "",
        at: str = "",
    ) -> Happened:
        """More of an addition that the book knows."""
        return self._do(lambda: heaps.restock(self.make(by, at), addition, grams, composition, key))

    @once_by_key
    def found(
        self,
        owner: str,
        lost_in: str,
        grams: float,
        *,
        lost_from: str = "",
        into: str = "",
        answered: bool = False,
        key: str = "",
        by: str = "",
        at: str = "",
    ) -> Happened:
        """Lost metal turned up: out of the loss of an operation, back to its owner as a lot."""
        act = self.make(by, at)
        return self._do(lambda: doors.found(act, owner, lost_in, grams, lost_from, into, answered))

    @once_by_key
    def recover(
        self,
        place: str,
        body: str,
        weighed_g: float,
        *,
        owner: str = "",
        into: str = "",
        emptied: bool = True,
        answered: bool = False,
        key: str = "",
        by: str = "",
        at: str = "",
    ) -> Happened:
        """Lemel box, sweeps, slag or a pot's lining (`hold_up`) emptied into a lot, by weight."""
        act = self.make(by, at)
        return self._do(
            lambda: doors.recover(act, place, body, owner, weighed_g, into, emptied, answered)
        )

    @once_by_key
    def deliver(
        self,
        piece: str,
        *,
        order: str = "",
        owner: str = "",
        key: str = "",
        by: str = "",
        at: str = "",
    ) -> Happened:
        """A piece leaves the house for its order."""
        return self._do(lambda: doors.deliver(self.make(by, at), piece, order, owner))

    @once_by_key
    def take_back(
        self,
        body: str,
        grams: float | None = None,
        *,
        owner: str = "",
        drop: bool = False,
        key: str = "",
        by: str = "",
        at: str = "",
    ) -> Happened:
        """The owner takes metal home; `drop`: even what a plan had counted on."""
        act = self.make(by, at)
        return self._do(lambda: doors.take_back(act, body, grams, owner, drop, key))
