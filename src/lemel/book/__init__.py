"""The book: every gram of every owner's metal, for ever, on an embedded database.

Comes in: lots, readings, consents, a `Plan`, and the weights of the bench. Goes out: balances,
statements, ancestry, an audit; never a solution. May ask: `plan`, `scrap`, `cards` and
below; nothing below it knows that it is there. What needs Django is loaded when first asked for.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from lemel.book.bench_values import (
    GateAnswer,
    Photo,
    PriceLine,
    Run,
    RunEvent,
    Shelved,
    TakenIn,
    ToolNote,
    ToolRow,
    Wanted,
)
from lemel.book.devices import device_of, devices_of, forget_device, new_token
from lemel.book.folder import is_book
from lemel.book.loss_values import ChargedBody, FineLoss, HeatRecord, OwnerLoss
from lemel.book.papers_away import (
    AssayLine,
    AssayParcel,
    RefinerLine,
    RefinerParcel,
    RefinerTerms,
    Settled,
)
from lemel.book.papers_values import (
    Agreed,
    Claim,
    Counted,
    OriginNode,
    OriginPaper,
    Quote,
    QuoteLine,
    Receipt,
    ReceiptLine,
    StockTake,
    StockTakeRow,
    Stones,
    Tested,
    Unsure,
    ValueList,
    ValueRow,
)
from lemel.book.values import (
    PLACES,
    Accepted,
    Account,
    Audit,
    Bought,
    Done,
    Happened,
    Line,
    LossRow,
    Offer,
    PlanStep,
    Sealed,
    Statement,
    StatementLine,
)

if TYPE_CHECKING:
    from lemel.book.at_work import plans_at_work
    from lemel.book.begin import open_book, restore
    from lemel.book.bench import Bench
    from lemel.book.bulk import Draft
    from lemel.book.change import last_change
    from lemel.book.copies import Copies
    from lemel.book.entries import SomeEntries, Written, entry_of, find_entries
    from lemel.book.filing import Filing
    from lemel.book.finding import (
        SomeHeaps,
        SomeLots,
        evidence_on,
        find_heaps,
        find_lots,
        next_number,
        standing_consents,
    )
    from lemel.book.intake import TakenBags, take_bags
    from lemel.book.jobs import Job, Jobs
    from lemel.book.mishaps import Mishaps
    from lemel.book.papers import Papers
    from lemel.book.papers_assay import Found, ToAssay
    from lemel.book.papers_refiner import Returned
    from lemel.book.shop import Book
    from lemel.book.sums import PlaceSum, owner_sums, place_sums
    from lemel.book.way import Lying, lying

__all__ = [
    "Accepted", "Account", "Agreed", "AssayLine", "AssayParcel", "Audit", "Bench", "Book",
    "Bought", "ChargedBody", "Claim", "Copies", "Counted", "Done", "Draft", "Filing", "FineLoss",
    "Found", "GateAnswer", "Happened", "HeatRecord", "Job", "Jobs", "Line", "LossRow", "Lying",
    "Mishaps", "Offer", "OriginNode", "OriginPaper", "OwnerLoss", "PLACES", "Papers", "Photo",
    "PlaceSum", "PlanStep", "PriceLine", "Quote", "QuoteLine", "Receipt", "ReceiptLine",
    "RefinerLine", "RefinerParcel", "RefinerTerms", "Returned", "Run", "RunEvent", "Sealed",
    "Settled", "Shelved", "SomeEntries", "SomeHeaps", "SomeLots", "Statement", "StatementLine",
    "StockTake", "StockTakeRow", "Stones", "TakenBags", "TakenIn", "Tested", "ToAssay",
    "ToolNote", "ToolRow", "Unsure", "ValueList", "ValueRow", "Wanted", "Written", "device_of",
    "devices_of", "entry_of", "evidence_on", "find_entries", "find_heaps", "find_lots",
    "forget_device", "is_book", "last_change", "lying", "new_token", "next_number", "open_book",
    "owner_sums", "place_sums", "plans_at_work", "restore", "standing_consents", "take_bags",
]  # fmt: skip

#: Names that need Django, and where they live.
_LATER = {
    "Bench": "bench", "Book": "shop", "Copies": "copies", "Draft": "bulk", "Filing": "filing",
    "Found": "papers_assay", "Job": "jobs", "Jobs": "jobs", "Lying": "way", "Mishaps": "mishaps",
    "Papers": "papers", "Returned": "papers_refiner", "SomeEntries": "entries", "SomeHeaps":
    "finding", "SomeLots": "finding", "TakenBags": "intake", "ToAssay": "papers_assay", "Written":
    "entries", "entry_of": "entries", "find_entries": "entries", "find_heaps": "finding",
    "evidence_on": "finding", "find_lots": "finding", "next_number": "finding",
    "standing_consents": "finding", "last_change": "change", "lying": "way", "open_book": "begin",
    "PlaceSum": "sums", "owner_sums": "sums", "place_sums": "sums",
    "plans_at_work": "at_work", "restore": "begin", "take_bags": "intake",
}  # fmt: skip


def __getattr__(name: str) -> Any:
    if name not in _LATER:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    globals()[name] = getattr(import_module(f"lemel.book.{_LATER[name]}"), name)
    return globals()[name]
