"""Were the spreads honest? Each assayed heat against what was believed before its assay."""

from __future__ import annotations

from datetime import date

import numpy as np

from lemel.scrap.evidence import Evidence
from lemel.scrap.faces import Health
from lemel.scrap.methods import figure
from lemel.scrap.sift import Sifted, fuse_statements
from lemel.scrap.statements import Statement
from lemel.tables import Tables

__all__ = ["FEWEST", "health"]

#: With fewer assayed heats the mean square says nothing.
FEWEST = 3


def health(evidence: Evidence, sifted: Sifted, tables: Tables) -> Health | None:
    """The innovations of the last heats, one after the other; None without assayed heats.

    z = (assay - predicted) / sd, predicted from the lots' evidence and the earlier heats
    alone. If the errors are as modelled, the squares of z average 1. A heat whose assay
    was put aside counts too: it is the strongest sign of over-confidence.
    """
    last = int(figure("health_heats", tables))
    assays = [s for s in evidence.statements if s.on in evidence.heats]
    if not assays:
        return None
    assays.sort(key=lambda s: (_day(evidence, s), s.on, s.id))
    standing = {s.id for s in sifted.used}
    base = [s for s in sifted.used if s.on not in evidence.heats and s.on not in evidence.bars]
    found: list[tuple[str, float]] = []
    for i, assay in enumerate(assays):
        if i < len(assays) - last:
            continue
        earlier = [s for s in assays[:i] if s.id in standing and s.on != assay.on]
        found.append((assay.on, _innovation(evidence, [*base, *earlier], assay, tables)))
    square = sum(z * z for _, z in found) / len(found)
    if len(found) < FEWEST:
        verdict = "too_few"
    elif square > figure("health_most", tables):
        verdict = "overconfident"
    elif square < figure("health_least", tables):
        verdict = "needlessly_wide"
    else:
        verdict = "fair"
    return Health(tuple(found), square, verdict)


def _innovation(
    evidence: Evidence, before: list[Statement], assay: Statement, tables: Tables
) -> float:
    """How many sds the assay lies off what was believed before it."""
    # A row of no weight ties the heat's lots, so that its prediction can be read off.
    idle = Statement(
        assay.id, assay.on, assay.method, assay.said, assay.value, 1e12, assay.loads,
        False, True, assay.source,
    )  # fmt: skip
    rows = sorted([*before, idle], key=lambda s: s.id)
    posterior = fuse_statements(evidence, rows, tables)
    mean, var, _ = posterior.whole_evidence()
    at = [row.id for row in posterior.whole_rows].index(assay.id)
    value = posterior.whole_rows[at].value
    return float((value - mean[at]) / np.sqrt(var[at] + assay.var))


def _day(evidence: Evidence, statement: Statement) -> date:
    return evidence.readings[statement.id].taken_on or date.min
