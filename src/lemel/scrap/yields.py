"""What a poured heat teaches about its forms: grams of metal out per gram put in.

Each heat's metal out is the sum of mass times yield over the forms in it, give or take the
scatter of a single charge and the weighing. Yields start from the tables with their spread;
all heats are taken in one batch, so that their order does not matter:

    y ~ N(y0, P),   out_h = m_h . y + e_h,   cov = (P^-1 + M' R^-1 M)^-1

the conjugate update of a linear model with normal errors (A. Gelman and others, "Bayesian
Data Analysis", 3rd ed. 2013, section 14.8, from memory).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from lemel.errors import BadInput
from lemel.scrap.faces import PouredHeat, YieldAnswer
from lemel.scrap.lots import Kind, yield_of
from lemel.scrap.methods import figure
from lemel.tables import Tables, shipped
from lemel.values import Objection, Quantity, Saying, SayingValue

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["learn_yields", "with_learnt"]


def learn_yields(heats: Sequence[PouredHeat], *, tables: Tables | None = None) -> YieldAnswer:
    """The yield of every form (or class) in these heats: (mean, sd), grams out per gram in.

    A heat that lies farther off than `gross_error_z` sds from what the tables and the other
    heats foretell (a spill, a wrong weighing, a filled piece) is asked about and teaches
    nothing. BadInput for ids given twice, masses that are none, unknown forms or classes.

    Filings thought to yield 97 % (sd 1 %), of which 100 g gave 94 g, where a single charge
    strays by 0.5 %: worked by hand, the gain is 1 / (1 + 0.25) = 0.8, the mean
    97 - 0.8 x 3 = 94.6 %, the sd 1 % x sqrt(0.2).

    >>> heat = PouredHeat("H1", (("filings", "filings_clean", 100.0),), 93.5, 0.5)
    >>> mean, sd = learn_yields([heat]).yields["class:filings_clean"]
    >>> round(mean, 3), round(sd, 4)
    (0.946, 0.0045)
    """
    import numpy as np

    tables = tables or shipped()
    _check(heats)
    heats = sorted(heats, key=lambda heat: heat.id)
    prior = {
        yield_of(form, kind, tables)[0]: yield_of(form, kind, tables)[1]
        for heat in heats
        for form, kind, _ in heat.charged
    }
    keys = sorted(prior)
    masses = np.zeros((len(heats), len(keys)))
    for h, heat in enumerate(heats):
        for form, kind, grams in heat.charged:
            masses[h, keys.index(yield_of(form, kind, tables)[0])] += grams
    out = np.array([heat.poured_g + heat.residue_g for heat in heats])
    scatter = figure("yield_scatter", tables)
    noise = np.array([heat.weigh_sd_g**2 for heat in heats]) + scatter**2 * np.sum(
        masses**2, axis=1
    )
    start = np.array([prior[key] for key in keys]).reshape(-1, 2)
    left, asked = list(range(len(heats))), []
    while True:
        mean, cov = _posterior(start, masses[left], out[left], noise[left])
        off = _leave_one_out(mean, cov, masses[left], out[left], noise[left])
        if not len(off) or np.max(np.abs(off)) <= figure("gross_error_z", tables):
            break
        worst = int(np.argmax(np.abs(off)))
        asked.append(_ask(heats[left[worst]], float(off[worst]), masses[left[worst]] @ mean))
        del left[worst]
    found = {key: (min(1.0, float(mean[k])), float(cov[k, k]) ** 0.5) for k, key in enumerate(keys)}
    taught = tuple(heats[h].id for h in left)
    return YieldAnswer(found, taught, tuple(sorted(asked, key=lambda o: o.about)))


def with_learnt(
    kinds: Mapping[str, Kind], heats: Sequence[PouredHeat], tables: Tables
) -> tuple[dict[str, Kind], tuple[Objection, ...]]:
    """Kinds with the yields that these heats taught, and what is asked about the heats."""
    if not heats:
        return dict(kinds), ()
    answer = learn_yields(heats, tables=tables)
    learnt = {
        lot: replace(kind, yield_fraction=answer.yields.get(kind.yield_key, kind.yield_fraction))
        for lot, kind in kinds.items()
    }
    return learnt, answer.objections


def _posterior(start: Array, masses: Array, out: Array, noise: Array) -> tuple[Array, Array]:
    import numpy as np

    mean, spread = start[:, 0], np.diag(start[:, 1] ** 2)
    seen = masses @ spread @ masses.T + np.diag(noise)
    gain = np.linalg.solve(seen, masses @ spread).T
    return mean + gain @ (out - masses @ mean), spread - gain @ masses @ spread


def _leave_one_out(mean: Array, cov: Array, masses: Array, out: Array, noise: Array) -> Array:
    """How many sds each heat lies from what all the others foretell."""
    import numpy as np

    free = 1 - np.sum((masses @ cov) * masses, axis=1) / noise
    off: Array = (out - masses @ mean) / np.sqrt(noise * np.maximum(free, 1e-12))
    return off


def _ask(heat: PouredHeat, sds: float, expected_g: float) -> Objection:
    values: dict[str, SayingValue] = {
        "heat": heat.id,
        "out": Quantity(heat.poured_g + heat.residue_g, "g"),
        "expected": Quantity(float(expected_g), "g"),
    }
    code = "scrap.yield_less" if sds < 0 else "scrap.yield_more"
    return Objection(code, heat.id, "ask", values, Saying("scrap.do.weigh_heat_again", values))


def _check(heats: Sequence[PouredHeat]) -> None:
    seen: set[str] = set()
    for heat in heats:
        if heat.id in seen:
            raise BadInput("poured.id", heat.id, "each id once", "Rename one of the two heats.")
        seen.add(heat.id)
        place = f"poured.{heat.id}"
        if not heat.charged:
            raise BadInput(f"{place}.charged", [], "what was charged", "Name forms with grams.")
        for form, _, grams in heat.charged:
            if not 0 < grams < float("inf"):
                raise BadInput(
                    f"{place}.charged.{form}", grams, "more than 0 g", "Leave unused forms out."
                )
        for name in ("poured_g", "residue_g"):
            if not 0 <= getattr(heat, name) < float("inf"):
                raise BadInput(
                    f"{place}.{name}", getattr(heat, name), "0 g or more", "Weigh it again."
                )
        if not 0 < heat.weigh_sd_g < float("inf"):
            raise BadInput(
                f"{place}.weigh_sd_g", heat.weigh_sd_g, "more than 0 g", "Take the balance's own."
            )
