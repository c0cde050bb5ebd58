"""May it be melted? The questions that come before the one step that nothing undoes.

Every flag names a trouble: "yes" means that the trouble is there. What is not answered
is asked, but only of lots whose form or class makes the question sensible.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from lemel.errors import BadInput
from lemel.scrap.lots import Kind, kind_of, perhaps_cast
from lemel.scrap.methods import figure
from lemel.tables import Row, Tables, shipped
from lemel.values import Consent, HouseRules, Lot, Objection, Quantity, Reading, Saying, SayingValue

__all__ = ["gate_codes", "may_melt", "questions"]


@dataclass(frozen=True, slots=True)
class Case:
    """One lot before the gates, with everything that may answer them."""

    lot: Lot
    kind: Kind
    consents: tuple[Consent, ...]
    readings: tuple[Reading, ...]
    as_of: date
    house: str
    rules: HouseRules
    tables: Tables


def gate_codes(*, tables: Tables | None = None) -> tuple[str, ...]:
    """The codes that a lot's `flags` and `barred` may use, in the order of asking."""
    return tuple((tables or shipped()).table("scrap_gates"))


def questions(lot: Lot, *, tables: Tables | None = None) -> tuple[str, ...]:
    """Gate codes that this lot's form and class make sensible to ask and that are not answered."""
    tables = tables or shipped()
    kind = kind_of(lot, tables)
    return tuple(
        row.key
        for row in tables.rows("scrap_gates")
        if _relevant(row, lot, kind) and lot.flags.get(row.key, "unknown") == "unknown"
    )


def may_melt(
    lots: Sequence[Lot],
    consents: Iterable[Consent],
    readings: Iterable[Reading],
    as_of: date,
    *,
    house: str = "house",
    rules: HouseRules | None = None,
    tables: Tables | None = None,
) -> tuple[Objection, ...]:
    """Every reason why a lot may not, or may not yet, be melted; empty means it may.

    Grade stop bars a lot, ask bars it until answered, note only tells. A flag "yes" is
    graded by the table `scrap_gates`, a relevant question without an answer likewise;
    consent, hold period, remelts, casting metal and unknown alloy are found from the
    lot's own record. `barred` codes always stop. BadInput for an unknown flag or bar.
    """
    tables = tables or shipped()
    known = set(gate_codes(tables=tables))
    by_lot: dict[str, list[Reading]] = {}
    for reading in readings:
        if not reading.withdrawn:
            by_lot.setdefault(reading.on, []).append(reading)
    given = tuple(consents)
    found: list[Objection] = []
    for lot in lots:
        _check_flags(lot, known)
        case = Case(
            lot, kind_of(lot, tables), given, tuple(by_lot.get(lot.id, ())), as_of, house,
            rules or HouseRules(), tables,
        )  # fmt: skip
        found += _barred(case)
        for row in tables.rows("scrap_gates"):
            objection = None if row.key in lot.barred else _ask(row, case)
            if objection is not None:
                found.append(objection)
    return tuple(found)


def _check_flags(lot: Lot, known: set[str]) -> None:
    for code in lot.flags:
        if code not in known:
            raise BadInput(
                f"lots.{lot.id}.flags.{code}", lot.flags[code], ", ".join(sorted(known)),
                "Write one of the gate codes.",
            )  # fmt: skip


def _barred(case: Case) -> list[Objection]:
    """A bar is a trouble that is known to be there, whatever the flags say."""
    lot = case.lot
    table = case.tables.table("scrap_gates")
    found = []
    for code in lot.barred:
        plain = code in table and code not in NEEDS_RECORD
        do = table[code].text("remedy") if plain else "lift_bar"
        said = f"scrap.gate.{code}.yes" if plain else "scrap.barred"
        values: dict[str, SayingValue] = {"lot": lot.id, "reason": code}
        found.append(Objection(said, lot.id, "stop", values, Saying(f"scrap.do.{do}", values)))
    return found


def _ask(row: Row, case: Case) -> Objection | None:
    """The objection of one gate to one lot, or None."""
    lot = case.lot
    answer = lot.flags.get(row.key, "unknown")
    values: Mapping[str, SayingValue] = {"lot": lot.id}
    if answer == "unknown":
        derived = DERIVED.get(row.key)
        if derived is not None:
            answer, values = derived(case)
        elif not _relevant(row, lot, case.kind) or _answered(row, case):
            return None
    if answer == "no":
        return None
    grade = row.text("on_yes" if answer == "yes" else "on_unknown")
    remedy = Saying(f"scrap.do.{row.text('remedy')}", values)
    return Objection(f"scrap.gate.{row.key}.{answer}", lot.id, grade, values, remedy)


def _relevant(row: Row, lot: Lot, kind: Kind) -> bool:
    mains = row.text("mains")
    if mains != "any" and lot.main not in mains.split():
        return False
    if kind.scrap_class in row.text("not_classes").split() or kind.owned:
        return False
    if kind.scrap_class in row.text("classes").split():
        return row.text("if_soldered") != "yes" or kind.solder[0] > 0
    return lot.form in row.text("forms").split()


def _answered(row: Row, case: Case) -> bool:
    """A reading of one of these methods answers the question with no."""
    methods = row.text("answered_by").split()
    return any(reading.method in methods for reading in case.readings)


Answer = tuple[str, Mapping[str, SayingValue]]


def _consent(case: Case) -> Answer:
    lot = case.lot
    values: dict[str, SayingValue] = {"lot": lot.id, "owner": lot.owner}
    if lot.owner == case.house:
        return "no", values
    for consent in case.consents:
        covers = not consent.about or lot.id in consent.about
        allows = consent.allows in ("destroy", "use_offcuts" if not case.kind.article else "")
        if consent.owner == lot.owner and covers and allows and consent.given_on <= case.as_of:
            return "no", values
    return "unknown", values


def _hold(case: Case) -> Answer:
    lot, days = case.lot, int(figure("hold_days", case.tables))
    values: dict[str, SayingValue] = {"lot": lot.id, "days": days}
    if not case.kind.bought or lot.owner != case.house:
        return "no", values
    if lot.received_on is None:
        return "unknown", values
    until = lot.received_on + timedelta(days=days)
    if case.as_of >= until:
        return "no", values
    return "yes", {**values, "until": until.isoformat()}


def _alloy(case: Case) -> Answer:
    lot = case.lot
    says = lot.stated is not None and lot.stated.share(lot.main) > 0
    return ("no" if says or case.readings else "unknown"), {"lot": lot.id}


def _casting(case: Case) -> Answer:
    lot = case.lot
    share = Quantity(100 * figure("cast_share_most", case.tables), "percent")
    values: dict[str, SayingValue] = {"lot": lot.id, "share": share}
    if lot.made_for == "casting":
        return "yes", values
    return ("unknown" if perhaps_cast(lot) else "no"), values


def _remelts(case: Case) -> Answer:
    lot, most = case.lot, case.rules.remelts_most
    values: dict[str, SayingValue] = {"lot": lot.id, "count": lot.remelts, "most": most}
    return ("yes" if lot.remelts >= most else "no"), values


def _germanium(case: Case) -> Answer:
    """Found from stated and read; asked of metal new enough to be of that kind, unless all of
    its alloy is named."""
    lot = case.lot
    values: dict[str, SayingValue] = {"lot": lot.id}
    named = [reading.values["Ge"] for reading in case.readings if "Ge" in reading.values]
    stated = lot.stated.share("Ge") if lot.stated is not None else 0.0
    if stated > 0 or any(share > 0 for share in named):
        return "yes", values
    whole = lot.stated is not None and lot.stated.rest <= UNNAMED
    row = case.tables.row("scrap_gates", "germanium")
    asked = not (named or whole) and _relevant(row, lot, case.kind)
    return ("unknown" if asked else "no"), values


#: An alloy with less than this unnamed (mass fraction) is stated in full.
UNNAMED = 1e-3
#: Gates whose words name figures of the lot's record, which a bare bar does not have.
NEEDS_RECORD = ("consent_destroy", "hold_period", "made_for_casting", "remelt_count")
#: Gates that the lot's own record can answer.
DERIVED = {
    "consent_destroy": _consent,
    "hold_period": _hold,
    "unknown_alloy": _alloy,
    "made_for_casting": _casting,
    "remelt_count": _remelts,
    "germanium": _germanium,
}
