"""One lot's belief as its reader wants it: millesimal parts, with each reading's weight."""

from __future__ import annotations

from lemel.scrap.faces import BelieveReport, ReportedReading, ScrapAnswer

__all__ = ["report"]

#: 97.5 % point of the normal distribution: 95 % lie within it on both sides.
Z_95 = 1.959963984540054


def report(answer: ScrapAnswer, lot: str) -> BelieveReport:
    """What is believed of one lot, in millesimal parts; BadInput if the lot is not there.

    A hallmarked teapot of 925 with 2 % of solder at 650 melts to 925 - 0.02 x 275 = 919.5,
    and an office's mark lies about 0.7 above its standard (common practice, no source):

    >>> from lemel.scrap import ScrapProblem, believe
    >>> from lemel.values import Composition, Lot
    >>> pot = Lot(
    ...     "S5", "shop", "Ag", "hollowware", 418.2, scrap_class="old_hollowware",
    ...     stated=Composition.from_millesimal({"Ag": 925, "Cu": 75}), solder_share=(0.02, 0.007),
    ... )
    >>> round(report(believe(ScrapProblem((pot,), ())), "S5").mean, 1)
    920.2
    """
    beliefs = answer.beliefs
    i = beliefs.row(lot)
    body = beliefs.mean[i]
    mean, sd = body.fineness(beliefs.main), beliefs.sd(lot) * 1000
    return BelieveReport(
        lot=lot,
        metal=beliefs.main,
        mean=mean,
        sd=sd,
        interval_95=(max(0.0, mean - Z_95 * sd), min(1000.0, mean + Z_95 * sd)),
        shared={source: s * 1000 for source, s in answer.shared.get(lot, {}).items()},
        readings=tuple(
            ReportedReading(r.reading, r.method, r.said * 1000, r.weight, r.residual, r.used)
            for r in answer.readings
            if r.on == lot
        ),
        composition={element: share * 1000 for element, share in body.parts},
        yield_fraction=beliefs.yield_fraction[i],
        doubt=beliefs.doubt[i],
        objections=tuple(o for o in answer.objections if o.about == lot),
        cautions=answer.cautions,
    )
