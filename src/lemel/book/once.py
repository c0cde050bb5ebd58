"""An act that carries a key is done once: the same again gives the same answer, another is refused.

The digest of what was asked and the whole answer are filed under the key in the act's own
transaction, so that an act that stopped, or was refused, leaves its key free.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable
from dataclasses import replace
from functools import wraps
from typing import Any, ParamSpec

from lemel.book import filing, ledger
from lemel.book.chain import spelled, text_digest
from lemel.book.values import Happened
from lemel.errors import BadInput
from lemel.values import from_plain, to_plain

__all__ = ["once_by_key"]

KIND = "act"
Asked = ParamSpec("Asked")


def once_by_key(method: Callable[Asked, Happened]) -> Callable[Asked, Happened]:
    """For a method of `Mishaps` that has a `key`, and `by` and `at` like all of them."""
    signature = inspect.signature(method)

    @wraps(method)
    def done(*args: Asked.args, **kwargs: Asked.kwargs) -> Happened:
        given = signature.bind(*args, **kwargs)
        given.apply_defaults()
        said = dict(given.arguments)
        acts, key = said.pop("self"), said.pop("key")
        if not key:
            return method(*args, **kwargs)
        asked = text_digest(spelled([method.__name__, to_plain(said)]))
        with ledger.writing(acts.alias):
            known = filing.newest(acts.alias, KIND, key)
            if known is not None:
                return _again(key, asked, known.record)
            happened = method(*args, **kwargs)
            if not happened.stopped:
                record = {"asked": asked, "answer": to_plain(happened)}
                now = acts.make(said["by"], said["at"]).now
                filing.file(acts.alias, now, KIND, key, record, by=said["by"])
            return happened

    return done


def _again(key: str, asked: str, record: Any) -> Happened:
    """The answer of the first time; BadInput where something else was asked then."""
    if record["asked"] != asked:
        raise BadInput(
            "key", key, "a key that is new, or the same act again",
            "Another act has this key: give this one a key of its own.",
        )  # fmt: skip
    answer = from_plain(Happened, record["answer"])
    return replace(answer, entries=tuple(replace(one, again=True) for one in answer.entries))
