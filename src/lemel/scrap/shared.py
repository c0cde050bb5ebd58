"""Errors that lots share, for their readers: what each leaves open, what was learnt of each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from lemel.scrap.evidence import Evidence
from lemel.scrap.fuse import Posterior
from lemel.scrap.sift import Sifted
from lemel.scrap.statements import COMMON
from lemel.values import Quantity, Saying

__all__ = ["Bias", "biases", "left_by_source", "what_was_learnt"]

#: A bias whose sd has shrunk below this part of what it was has been learnt.
LEARNT = 0.8


@dataclass(frozen=True, slots=True)
class Bias:
    """A shared error as believed: mean and sd now, and its sd before any evidence."""

    mean: float
    sd: float
    sd_before: float


def left_by_source(posterior: Posterior) -> dict[str, dict[str, float]]:
    """The sd that each shared error leaves in each body's mean, by body and source."""
    lots = dict(zip(posterior.ids, posterior.whole_vectors(), strict=True))
    names = [*posterior.ids, *(body.id for body in posterior.derived)]
    below = [sum(w * lots[lot] for lot, w in body.on) for body in posterior.derived]
    vectors = np.array([*lots.values(), *below])
    groups: dict[str, list[int]] = {}
    for k, name in enumerate(posterior.factors):
        groups.setdefault(_label(name), []).append(len(posterior.tied) + k)
    found: dict[str, dict[str, float]] = {name: {} for name in names}
    for label, columns in groups.items():
        part = vectors[:, columns]
        sds = np.sqrt(np.sum((part @ posterior.cov[np.ix_(columns, columns)]) * part, axis=1))
        for name, sd in zip(names, sds, strict=True):
            if sd > 1e-12:
                found[name][label] = float(sd)
    return found


def biases(evidence: Evidence, sifted: Sifted) -> dict[str, Bias]:
    """What is believed of each class against its word ("class:..."), and of each instrument
    against the truth ("source/method"; reads high is positive)."""
    posterior = sifted.posterior
    at = {name: len(posterior.tied) + k for k, name in enumerate(posterior.factors)}
    found: dict[str, Bias] = {}
    for s in sifted.used:
        key = f"{s.source or f'unnamed {s.method.code}'}/{s.method.code}"
        if s.method.kind == "reads" and s.loads and key not in found:
            loads = {at[factor]: load for factor, load in s.loads.items()}
            found[key] = _bias(posterior, loads, -s.method.shift)
        if s.on in evidence.kinds:
            kind = evidence.kinds[s.on]
            key = f"class:{kind.scrap_class}"
            loads = {at[f]: -load for f, load in s.loads.items() if f in (key, COMMON)}
            if loads and key not in found:
                found[key] = _bias(posterior, loads, kind.bias)
    return found


def what_was_learnt(found: Mapping[str, Bias]) -> tuple[Saying, ...]:
    """A line for each bias that the evidence has narrowed."""
    said = []
    for name, bias in sorted(found.items()):
        if bias.sd >= LEARNT * bias.sd_before:
            continue
        values = {
            "bias": Quantity(abs(bias.mean) * 1000, "millesimal"),
            "sd": Quantity(bias.sd * 1000, "millesimal"),
        }
        side = "high" if bias.mean >= 0 else "low"
        if name.startswith("class:"):
            who = {"scrap_class": name.removeprefix("class:")}
            said.append(Saying(f"scrap.learnt.class_{side}", {**who, **values}))
        else:
            source, _, method = name.rpartition("/")
            said.append(
                Saying(
                    f"scrap.learnt.source_{side}", {"source": source, "method": method, **values}
                )
            )
    return tuple(said)


def _label(factor: str) -> str:
    """Shared factors as their readers know them: a source by its own name, the drift of a
    class with the class."""
    kind, _, rest = factor.partition(":")
    if kind == "drift":
        return f"class:{rest.partition(':')[0]}"
    return rest if kind == "source" else factor


def _bias(posterior: Posterior, loads: Mapping[int, float], base: float) -> Bias:
    columns = list(loads)
    load = np.array([loads[c] for c in columns])
    mean = base + float(load @ posterior.mean[columns])
    sd = float(load @ posterior.cov[np.ix_(columns, columns)] @ load) ** 0.5
    return Bias(mean, sd, float(np.sqrt(load @ load)))
