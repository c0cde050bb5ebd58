"""The Quillmarsh month as a book: weighed in, planned, accepted."""

from __future__ import annotations

from pathlib import Path

from lemel.values import Watch, quiet

__all__ = ["demo_book"]


def demo_book(folder: Path | str, watch: Watch = quiet) -> Path:
    """The demo's book in a folder; one that is there already is left as it is."""
    from lemel.book import is_book, open_book

    place = Path(folder).expanduser().resolve()
    if is_book(place):
        return place
    from lemel.demo import quillmarsh
    from lemel.files import read_plan
    from lemel.plan import do

    month = read_plan(quillmarsh())
    plan = do(month, watch=watch)
    with open_book(place, create=True) as book:
        book.bench.take_in(month, source="the demo's files")
        book.accept(plan)
    return place
