"""What the database itself refuses, whoever asks: the triggers, for SQLite.

Laid anew after every migration, since one that rebuilds a table drops its triggers; the
audit compares what is there with what must be. Column types are loose in SQLite, so a number that
is none is refused here too. (PostgreSQL needs the same in its own words.)
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

#: Heaps that may go below nothing: where metal comes from or is missed.
OPEN_PLACES = ("outside", "loss", "assay_difference", "stock_take")

_SEALED = "SELECT RAISE(ABORT, 'book: {what}')"
_OPEN = ", ".join(f"'{place}'" for place in OPEN_PLACES)


def _never(name: str, table: str, act: str, what: str, when: str = "") -> tuple[str, str]:
    condition = f" WHEN {when}" if when else ""
    refuse = _SEALED.format(what=what)
    return name, (
        f"CREATE TRIGGER {name} BEFORE {act} ON book_{table}{condition} BEGIN {refuse}; END"
    )


def _fixed(table: str, columns: str) -> tuple[str, str]:
    changed = " OR ".join(f"NEW.{column} IS NOT OLD.{column}" for column in columns.split())
    return _never(f"{table}_is_fixed", table, "UPDATE", f"a {table} is never edited", changed)


def _once(table: str, column: str = "id") -> tuple[str, str]:
    """`INSERT OR REPLACE` deletes without firing a delete's trigger: so it is refused itself."""
    exists = f"EXISTS (SELECT 1 FROM book_{table} WHERE {column} = NEW.{column})"
    return _never(f"{table}_is_new", table, "INSERT", f"this {table} is there already", exists)


_IN_ENTRY = "FROM book_posting q WHERE q.entry_id = NEW.number"
_PARTS = "FROM book_part p JOIN book_posting q ON q.id = p.posting_id WHERE q.entry_id = NEW.number"

_SEAL_CHECKS = {
    "an entry follows the one before it": (
        "NEW.number <> 1 + COALESCE((SELECT MAX(number) FROM book_entry), 0)"
    ),
    "an entry is chained to the one before it": (
        "NEW.previous <> COALESCE((SELECT digest FROM book_entry"
        " WHERE number = NEW.number - 1), '')"
    ),
    "an entry has at least two postings": f"(SELECT COUNT(*) {_IN_ENTRY}) < 2",
    "the entry does not balance in gross": f"(SELECT SUM(q.gross_mg) {_IN_ENTRY}) <> 0",
    "the entry does not balance in an element": (
        f"EXISTS (SELECT 1 {_PARTS} GROUP BY p.element HAVING SUM(p.ng) <> 0)"
    ),
    "the elements of a posting do not sum to its gross": (
        f"EXISTS (SELECT 1 {_IN_ENTRY} AND q.gross_mg * 1000000 <>"
        " COALESCE((SELECT SUM(p.ng) FROM book_part p WHERE p.posting_id = q.id), 0))"
    ),
    "metal of two owners moves together only by a consent": (
        "NEW.consent = '' AND (SELECT COUNT(DISTINCT a.owner_id) FROM book_posting q"
        " JOIN book_account a ON a.id = q.account_id WHERE q.entry_id = NEW.number) > 1"
    ),
}

_TOTALS = f"""CREATE TRIGGER entry_totals AFTER INSERT ON book_entry BEGIN
 UPDATE book_account SET gross_mg = gross_mg + (SELECT SUM(q.gross_mg) FROM book_posting q
   WHERE q.entry_id = NEW.number AND q.account_id = book_account.id)
  WHERE id IN (SELECT q.account_id {_IN_ENTRY});
 INSERT INTO book_held (account_id, element, ng)
  SELECT q.account_id, p.element, SUM(p.ng) {_PARTS} GROUP BY q.account_id, p.element
  ON CONFLICT (account_id, element) DO UPDATE SET ng = ng + excluded.ng;
 SELECT RAISE(ABORT, 'book: more is taken than is there') WHERE EXISTS (
  SELECT 1 FROM book_account a WHERE a.place NOT IN ({_OPEN})
   AND a.id IN (SELECT q.account_id {_IN_ENTRY})
   AND (a.gross_mg < 0 OR EXISTS
    (SELECT 1 FROM book_held h WHERE h.account_id = a.id AND h.ng < 0)));
 SELECT RAISE(ABORT, 'book: what is taken is reserved') WHERE EXISTS (
  SELECT 1 FROM book_account a WHERE a.id IN (SELECT q.account_id {_IN_ENTRY})
   AND a.gross_mg < (SELECT SUM(r.gross_mg) FROM book_reservation r
    WHERE r.account_id = a.id AND r.released = 0));
END"""

_RESERVED = (
    "NEW.released = 0 AND NEW.gross_mg + COALESCE((SELECT SUM(gross_mg) FROM book_reservation"
    " WHERE account_id = NEW.account_id AND released = 0), 0)"
    " > (SELECT gross_mg FROM book_account WHERE id = NEW.account_id)"
)

_STATES = ("planned", "charged", "molten", "poured", "proven", "closed")
#: Back only where what had brought the state on was undone (`_NOT_UNDONE`), and never from closed.
_BACK = {("charged", "planned"), ("molten", "charged"), ("poured", "molten"), ("proven", "poured")}
_ALLOWED = {*_BACK, *pairwise(_STATES), ("poured", "closed")}
_MOVES = ", ".join(f"('{old}', '{new}')" for old, new in sorted(_ALLOWED))

_STANDS = (
    "EXISTS (SELECT 1 FROM book_entry e WHERE e.kind = '{kind}' AND e.about = NEW.id"
    " AND NOT EXISTS (SELECT 1 FROM book_entry r WHERE r.reverses_id = e.number))"
)
_NOT_UNDONE = " OR ".join(
    f"(OLD.state = '{old}' AND NEW.state = '{new}' AND {_STANDS.format(kind=kind)})"
    for old, new, kind in (
        ("charged", "planned", "charge"),
        ("poured", "molten", "melt_and_pour"),
        ("proven", "poured", "assay_difference"),
    )
)


def _heat_guards() -> list[tuple[str, str]]:
    return [
        _never("heat_order", "heat", "UPDATE", "a heat goes one state at a time",
               f"NEW.state <> OLD.state AND (OLD.state, NEW.state) NOT IN (VALUES {_MOVES})"),
        _never("heat_back", "heat", "UPDATE", "a heat goes back only when its step is undone",
               _NOT_UNDONE),
    ]  # fmt: skip


def _entry_guards() -> list[tuple[str, str]]:
    checks = "; ".join(
        f"{_SEALED.format(what=what)} WHERE {when}" for what, when in _SEAL_CHECKS.items()
    )
    late = "EXISTS (SELECT 1 FROM book_entry WHERE number = NEW.entry_id)"
    late_part = (
        "EXISTS (SELECT 1 FROM book_entry e JOIN book_posting q ON q.entry_id = e.number"
        " WHERE q.id = NEW.posting_id)"
    )
    return [
        ("entry_seal",
         f"CREATE TRIGGER entry_seal BEFORE INSERT ON book_entry BEGIN {checks}; END"),
        ("entry_totals", _TOTALS),
        _never("posting_late", "posting", "INSERT", "the entry is sealed", late),
        _never("part_late", "part", "INSERT", "the entry is sealed", late_part),
        _once("posting"), _once("part"), _once("account"), _once("body"), _once("evidence"),
        _never("posting_whole", "posting", "INSERT", "mg are whole numbers",
               "typeof(NEW.gross_mg) <> 'integer'"),
        _never("part_whole", "part", "INSERT", "ng are whole numbers",
               "typeof(NEW.ng) <> 'integer'"),
        _never("account_empty", "account", "INSERT", "an account begins empty",
               "NEW.gross_mg <> 0"),
    ]  # fmt: skip


def _record_guards() -> list[tuple[str, str]]:
    return [
        _never("reservation_covered", "reservation", "INSERT", "more is reserved than is there",
               _RESERVED),
        _fixed("account", "id owner_id place body"),
        _fixed("body", "id kind owner_id record origin made_at"),
        _fixed("evidence", "id about record"), _fixed("permission", "id owner_id record"),
        _fixed("purchase", "body_id seller_id made_at gross_mg price"),
        _fixed("reservation", "id step_id account_id gross_mg"),
        _never("reservation_ends_once", "reservation", "UPDATE", "a released reservation is over",
               "OLD.released = 1 AND NEW.released = 0"),
        _never("kept_is_fixed", "kept", "UPDATE", "a kept plan is never edited",
               "NEW.redacted = 0 OR NEW.id IS NOT OLD.id"),
        _fixed("step", "id plan_id n name kind about planned"),
        _fixed("kin", "id child_id parent_id gross_mg"),
        _fixed("filed", "number kind name n made_at by owner_id record gone digest"),
        _never("filed_private_is_only_emptied", "filed", "UPDATE",
               "what is private is only ever emptied",
               "NEW.private IS NOT OLD.private AND NEW.private <> '{}'"),
        _once("filed", "number"),
    ]  # fmt: skip


def _all() -> dict[str, str]:
    found = [*_entry_guards(), *_heat_guards(), *_record_guards()]
    for table in ("entry", "posting", "part", "heatevent"):
        found.append(_never(f"{table}_never_changes", table, "UPDATE", f"a {table} never changes"))
    for table in (
        "entry posting part heatevent account held body kin evidence permission purchase kept step"
        " reservation heat party filed"
    ).split():
        found.append(_never(f"{table}_stays", table, "DELETE", f"a {table} is never deleted"))
    return dict(found)


TRIGGERS = _all()


def lay(connection: Any) -> None:
    """Every trigger, anew."""
    with connection.cursor() as cursor:
        for name, sql in TRIGGERS.items():
            cursor.execute(f"DROP TRIGGER IF EXISTS {name}")
            cursor.execute(sql)


def missing(connection: Any) -> list[str]:
    """Triggers that are not there, or do not say what they must."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
        there = dict(cursor.fetchall())
    return sorted(name for name, sql in TRIGGERS.items() if there.get(name) != sql)
