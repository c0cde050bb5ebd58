"""A new assay is itself an entry: the difference to the belief, for all of a heat's metal."""

from __future__ import annotations

from lemel.book import heats, ledger, lineage, records
from lemel.book.acts import Act
from lemel.book.holdings import body_of
from lemel.book.values import Account, Line, Sealed
from lemel.errors import BadInput
from lemel.values import Composition, Holding, Reading

__all__ = ["as_assayed", "prove"]


def prove(act: Act, heat: str, reading: Reading, composition: Composition | None) -> Sealed | None:
    """Enter the assay and book its difference on every bar, remnant and piece still in the house.

    `composition` None: the assayed elements as read, the others in their old proportion.
    None is returned where nothing differs by a nanogram.
    """
    alias, row = act.alias, heats.heat_of(act.alias, heat)
    if not reading.values and composition is None:
        raise BadInput("reading", reading.id, "an assay with a fineness", "Give what was assayed.")
    records.enter_readings(alias, [reading])
    heats.move_on(act, heat, "proven", {"reading": reading.id})
    lines: list[Line] = []
    for account, metal in lineage.heaps_of(alias, heat).items():
        if account.owner != row.owner.code:
            continue
        body = composition or as_assayed(body_of(metal), reading)
        difference = Holding.of(metal.gross_mg, body) - metal
        lines.append(Line(account, difference))
        lines.append(Line(Account(account.owner, "assay_difference", heat), -difference))
    if not any(line.holding.element_ng for line in lines):
        return None
    return ledger.post(
        alias, act.now, "assay_difference", lines, key=f"assay {reading.id}", about=heat,
        by=act.by, memo=act.facts(reading=reading.id),
    )  # fmt: skip


def as_assayed(body: Composition, reading: Reading) -> Composition:
    """A composition with the assayed elements as read and the others sharing what is left.

    >>> believed = Composition.from_millesimal({"Ag": 925, "Cu": 75})
    >>> read = Reading("R1", "H1", "cupellation", {"Ag": 0.93})
    >>> as_assayed(believed, read).fineness("Cu")
    70.0
    """
    said = dict(reading.values)
    others = {e: share for e, share in body.parts if e not in said}
    left, old = 1 - sum(said.values()), sum(others.values()) + body.rest
    if left < -1e-9:
        raise BadInput("reading", sum(said.values()), "parts of one", "Mend the assay.")
    if old <= 0:
        return Composition.of(said, max(0.0, left))
    scaled = {e: share * max(0.0, left) / old for e, share in others.items()}
    return Composition.of({**said, **scaled}, body.rest * max(0.0, left) / old)
