"""What is each lot believed to be? All evidence in one batch, with the errors that lots share."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from lemel.scrap.balance import body_of, others_of
from lemel.scrap.evidence import Evidence, gather_evidence
from lemel.scrap.faces import (
    BelievedHeat,
    BelievedReading,
    Health,
    ScrapAnswer,
    ScrapProblem,
)
from lemel.scrap.findings import cautions, findings, ill_health, share_limits, state_of_health
from lemel.scrap.fuse import Posterior, WholeRow
from lemel.scrap.health import health
from lemel.scrap.methods import figure
from lemel.scrap.shared import biases, left_by_source, what_was_learnt
from lemel.scrap.sift import Sifted, doubts, sift
from lemel.tables import Tables, shipped
from lemel.values import BeliefSet, Reading, Watch, quiet

__all__ = ["believe"]


def believe(
    problem: ScrapProblem, *, tables: Tables | None = None, watch: Watch = quiet
) -> ScrapAnswer:
    """The belief in every lot of one main metal, from all its evidence at once.

    true share = said + shift of the method + bias of the class + shared errors + own
    error; biases are never taken as known but are shared states with a spread, learnt
    from readings that overlap and from assayed heats. Solder is counted apart: stamps and
    surface tests see the metal beside it. Order of lots and readings does not matter; a
    withdrawn reading is as if it had never been. Shares are mass fractions.

    Raises BadInput for lots of two main metals, ids given twice, readings on unknown
    bodies, unknown classes or methods. Valid where errors are near normal, that is away
    from 0 and 1; gross errors are sifted out first (`objections`).
    """
    tables = tables or shipped()
    evidence = gather_evidence(problem, tables)
    watch.tell(0.1)
    sifted = sift(evidence, tables)
    watch.tell(0.7)
    doubt = doubts(evidence, sifted, tables)
    order = [lot.id for lot in problem.lots]
    beliefs = _belief_set(evidence, sifted, doubt, order, tables)
    looked_back: Health | None = health(evidence, sifted, tables)
    limits = share_limits(evidence, sifted, tables)
    learnt = biases(evidence, sifted)
    watch.tell(1.0)
    return ScrapAnswer(
        beliefs=beliefs,
        readings=_readings(evidence, sifted),
        objections=findings(evidence, sifted, doubt, limits, tables) + ill_health(looked_back),
        cautions=cautions(evidence),
        explain=(*state_of_health(looked_back), *what_was_learnt(learnt)),
        shared=left_by_source(sifted.posterior),
        biases={name: (b.mean, b.sd) for name, b in learnt.items()},
        heats=_heats(evidence, sifted.posterior),
        share_most={name: share for name, (share, _) in limits.items()},
        health=looked_back,
    )


def _belief_set(
    evidence: Evidence,
    sifted: Sifted,
    doubt: Mapping[str, float],
    order: list[str],
    tables: Tables,
) -> BeliefSet:
    main = evidence.main
    most = figure("mean_most", tables)
    means = sifted.posterior.means()
    own, loading = sifted.posterior.split()
    aside = {clash.statement.id for clash in sifted.aside}
    readings_on: dict[str, list[Reading]] = {}
    for r in evidence.readings.values():
        if r.id not in aside:
            readings_on.setdefault(r.on, []).append(r)
    bodies, others = [], []
    for name in order:
        lot, kind = evidence.lots[name], evidence.kinds[name]
        readings = readings_on.get(name, [])
        body = body_of(lot, min(most, max(0.0, means[name])), main, readings, tables)
        sd = float((own[name] ** 2 + np.sum(loading[name] ** 2)) ** 0.5)
        bodies.append(body)
        others.append(
            others_of(lot, kind, body, main=main, main_sd=sd, readings=readings, tables=tables)
        )
    width = len(next(iter(loading.values())))
    return BeliefSet(
        bodies=tuple(order),
        main=main,
        mean=tuple(bodies),
        own_sd=tuple(own[name] for name in order),
        factors=tuple(f"post-{k + 1}" for k in range(width)),
        loading=tuple(tuple(float(x) for x in loading[name]) for name in order),
        other=tuple(others),
        yield_fraction=tuple(evidence.kinds[name].yield_fraction for name in order),
        doubt=tuple(doubt[name] for name in order),
        from_readings=evidence.digest,
    )


def _readings(evidence: Evidence, sifted: Sifted) -> tuple[BelievedReading, ...]:
    weights = _weights(sifted)
    return tuple(
        BelievedReading(
            reading=s.id,
            on=s.on,
            weight=weights.get(s.id, 0.0),
            residual=sifted.residuals[s.id],
            used=s.id in weights,
            method=s.method.code,
            said=s.said,
        )
        for s in evidence.statements
    )


def _weights(sifted: Sifted) -> dict[str, float]:
    """How far a body's mean moves per unit of each piece of evidence: covariance / variance."""
    posterior = sifted.posterior
    found: dict[str, float] = {}
    _, _, vectors = posterior.part_evidence()
    cov = posterior.whole_part_covariance(vectors)
    for row, c in zip(posterior.part_rows, cov, strict=True):
        found[row.id] = float(c) / row.var
    _, _, vectors = posterior.whole_evidence()
    bare, _ = posterior.row_vectors(
        [WholeRow(r.id, r.on, 0.0, 1.0, {}) for r in posterior.whole_rows]
    )
    for tied, b, v in zip(posterior.whole_rows, bare, vectors, strict=True):
        # A whole row without its instrument's error is the body itself.
        found[tied.id] = float(b @ posterior.cov @ v) / tied.var
    return found


def _heats(evidence: Evidence, posterior: Posterior) -> dict[str, BelievedHeat]:
    """Each heat's own share after all evidence."""
    own, loading = posterior.split()
    means = posterior.means()
    found: dict[str, BelievedHeat] = {}
    for name, mixture in evidence.heats.items():
        mean = mixture.constant + sum(w * means[lot] for lot, w in mixture.on)
        shared = np.sum([w * loading[lot] for lot, w in mixture.on], axis=0)
        alone = sum((w * own[lot]) ** 2 for lot, w in mixture.on)
        found[name] = BelievedHeat(mean, float(alone + np.sum(np.square(shared))) ** 0.5)
    return found
