"""The questions before the pot: each a thing to see or to weigh, answered by what was seen."""

from __future__ import annotations

from dataclasses import dataclass

from lemel.book import Book, GateAnswer
from lemel.scrap import questions
from lemel.values import Lot, Saying
from lemel.web.reader import say
from lemel.web.scrap_beliefs import tables_of

__all__ = ["BY_RECORD", "Asked", "asked"]

#: What no word answers but a record, and where on the page that is made.
BY_RECORD = {
    "consent_destroy": "leave", "unknown_alloy": "readings", "marks_unrecorded": "marks",
    "hold_period": "", "remelt_count": "",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Asked:
    """One question: what to do with hand, eye or balance, and how either outcome looks.

    `newest` None: nobody has looked yet. `place` names the part of the page that answers it
    instead of a word ("": it needs no answer here).
    """

    gate: str
    look: str
    trouble: str
    clear: str
    newest: GateAnswer | None
    place: str = ""
    by_record: bool = False

    @property
    def stands(self) -> str:
        """How it stands in words: the outcome that was seen, or that nobody looked."""
        said = self.newest.answer if self.newest else "unknown"
        return {"yes": self.trouble, "no": self.clear}.get(said, "")

    @property
    def seen(self) -> str:
        """What was written beside the answer; a photograph is to be seen, not read."""
        said = self.newest.seen if self.newest else ""
        return "" if said.startswith("photograph ") else said


def asked(book: Book, lot: Lot) -> tuple[Asked, ...]:
    """What makes sense to ask of this lot, answered or not, what is still open first."""
    answers = {one.gate: one for one in book.bench.gate_answers(lot.id)}
    still = questions(lot, tables=tables_of(book))
    told = [code for code, said in lot.flags.items() if said != "unknown" and code not in still]
    found = []
    for gate in dict.fromkeys((*still, *answers, *told)):
        newest = answers.get(gate)
        if newest is None and gate in lot.flags and lot.flags[gate] != "unknown":
            newest = GateAnswer(lot.id, gate, lot.flags[gate], "", "", "")
        record = gate in BY_RECORD and not (gate == "hold_period" and lot.received_on is None)
        found.append(
            Asked(
                gate, say(Saying(f"web.gate.{gate}.look")), say(Saying(f"web.gate.{gate}.yes")),
                say(Saying(f"web.gate.{gate}.no")), newest,
                BY_RECORD.get(gate, "") if record else "", record,
            )
        )  # fmt: skip
    return tuple(found)
