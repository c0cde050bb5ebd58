"""Gross errors: evidence that contradicts is never fused silently.

A reading more than `gross_error_z` sds away from what the stamp leads one to expect, or
from all other evidence, is a question, not a correction: the better-standing evidence is
kept, the other put aside, and among equals neither is used. What is put aside does not
depend on the order in which it came.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from lemel.scrap.evidence import Evidence
from lemel.scrap.fuse import Derived, PartRow, Posterior, Root, WholeRow, fuse
from lemel.scrap.lots import is_plated, solder_fineness
from lemel.scrap.methods import figure
from lemel.scrap.statements import Statement
from lemel.tables import Tables
from lemel.values import Lot

__all__ = ["Clash", "Sifted", "doubts", "fuse_statements", "sift"]


#: Residuals that differ by less than this share are equal but for rounding.
TIE = 1e-6


@dataclass(frozen=True, slots=True)
class Clash:
    """Evidence put aside: why ("prior", "others", "unfit"), what it said, what was expected."""

    statement: Statement
    why: str
    expected: float
    sds: float


@dataclass(frozen=True, slots=True)
class Expected:
    """What a lot's stamp alone leads one to expect of its metal."""

    part: tuple[float, float]
    whole: tuple[float, float]
    standing: int


@dataclass(frozen=True, slots=True)
class Sifted:
    """The evidence that stands, what was put aside, and the posterior of what stands."""

    used: tuple[Statement, ...]
    aside: tuple[Clash, ...]
    posterior: Posterior
    residuals: Mapping[str, float]
    expected: Mapping[str, Expected]


def sift(evidence: Evidence, tables: Tables) -> Sifted:
    """Put aside what contradicts, then fuse the rest."""
    limit = figure("gross_error_z", tables)
    unfit = _unfit(evidence)
    left = [s for s in evidence.statements if s.id not in {c.statement.id for c in unfit}]
    expected = _expectations(evidence, left, tables)
    against = _against_prior(left, expected, limit)
    gone = {c.statement.id for c in against}
    left = [s for s in left if s.id not in gone]
    clashes = [*unfit, *against]
    melted = frozenset(evidence.heats) | frozenset(evidence.bars)
    while True:
        posterior = fuse_statements(evidence, left, tables)
        found = _leave_one_out(left, posterior)
        worst = _contradicting(left, found, limit, melted)
        if not worst:
            break
        clashes += [Clash(s, "others", *found[s.id]) for s in worst]
        gone = {s.id for s in worst}
        left = [s for s in left if s.id not in gone]
    residuals = {name: sds for name, (_, sds) in found.items()}
    residuals.update({c.statement.id: c.sds for c in clashes})
    return Sifted(tuple(left), tuple(clashes), posterior, residuals, expected)


def fuse_statements(
    evidence: Evidence, statements: Iterable[Statement], tables: Tables
) -> Posterior:
    """The posterior of the lots from these statements alone."""
    standing = list(statements)
    first_word: dict[str, Statement] = {}
    for s in standing:
        held = first_word.get(s.on)
        if s.sets_prior and (held is None or s.method.standing > held.method.standing):
            first_word[s.on] = s
    roots = [
        _root(evidence, name, first_word.get(name), tables)
        for name in evidence.lots
        if name not in evidence.bars
    ]
    soldered = {root.id for root in roots if root.keep < 1 or root.extra_var > 0}
    part_rows: list[PartRow] = []
    whole_rows: list[WholeRow] = []
    for s in standing:
        mixture = evidence.heats.get(s.on) or evidence.bars.get(s.on)
        if mixture is not None:
            value = s.value - mixture.constant
            whole_rows.append(WholeRow(s.id, mixture.on, value, s.var, s.loads))
        elif s.whole and s.on in soldered and not s.sets_prior:
            whole_rows.append(WholeRow(s.id, ((s.on, 1.0),), s.value, s.var, s.loads))
        else:
            part_rows.append(PartRow(s.id, s.on, s.value, s.var, s.loads))
    derived = [Derived(n, m.on, m.constant) for n, m in evidence.bars.items()]
    return fuse(roots, part_rows, whole_rows, derived)


def doubts(evidence: Evidence, sifted: Sifted, tables: Tables) -> dict[str, float]:
    """Probability by lot that it is not what it is taken for: plated, filled, falsely marked.

    posterior odds = prior odds x product over the readings of p(reading | false) /
    p(reading | true). Where the method finds a false piece out, it may read anything from
    0 to 1 against its mark; a piece without a mark can only be plated, and reads as base
    metal. Where the method does not find it out, it reads as a true one.
    """
    unfit = {c.statement.id for c in sifted.aside if c.why == "unfit"}
    found: dict[str, float] = {}
    for name in evidence.lots:
        if name in evidence.bars:
            found[name] = 0.0
            continue
        said = [s for s in evidence.on(name) if s.sets_prior]
        prior = min((s.method.doubt for s in said), default=figure("doubt_nothing", tables))
        log_odds = math.log(prior / (1 - prior)) if prior > 0 else -40.0
        for s in evidence.on(name):
            if not s.sets_prior and s.id not in unfit:
                log_odds += _log_ratio(s, sifted.expected[name], figure("base_most", tables))
        found[name] = 1 / (1 + math.exp(-max(-60.0, min(60.0, log_odds))))
    return found


def _log_ratio(s: Statement, expected: Expected, base_most: float) -> float:
    mean, var = expected.whole if s.whole else expected.part
    spread = var + s.var + sum(load**2 for load in s.loads.values())
    off2 = (s.value - mean) ** 2 / spread
    log_true = -0.5 * off2 - 0.5 * math.log(2 * math.pi * spread)
    finds, density = s.method.finds_plate, 1.0
    if expected.standing < 0:
        density = 1 / base_most if s.value < base_most else 0.0
    log_found = math.log(finds * density) if finds * density > 0 else -700.0
    log_hidden = math.log1p(-min(finds, 1 - 1e-9)) + log_true
    top = max(log_found, log_hidden)
    return top + math.log(math.exp(log_found - top) + math.exp(log_hidden - top)) - log_true


def _root(evidence: Evidence, name: str, word: Statement | None, tables: Tables) -> Root:
    main = evidence.main
    wide = _unspoken(evidence.lots[name], tables)
    share, spread = evidence.kinds[name].solder
    if share == 0 and spread == 0:
        return Root(name, None if word else wide)
    stated = evidence.lots[name].stated
    piece = word.said if word else stated.share(main) if stated else wide[0]
    solder, solder_sd = solder_fineness(main, piece, tables)
    extra = (spread * (piece - solder)) ** 2 + (share * solder_sd) ** 2
    return Root(name, None if word else wide, 1 - share, share * solder, extra)


def _unspoken(lot: Lot, tables: Tables) -> tuple[float, float]:
    """What is thought of a lot that bears no word: anything, or, if it is plated, very little."""
    kind = "plated" if is_plated(lot) and lot.main in ("Ag", "Au") else "wide"
    return figure(f"{kind}_mean/{lot.main}", tables), figure(f"{kind}_sd/{lot.main}", tables)


def _unfit(evidence: Evidence) -> list[Clash]:
    """Methods that cannot read a metal of this colour."""
    found = []
    for s in evidence.statements:
        lot = evidence.lots.get(s.on)
        if lot is not None and lot.colour in s.method.not_colours:
            found.append(Clash(s, "unfit", s.said, 0.0))
    return found


def _expectations(
    evidence: Evidence, statements: list[Statement], tables: Tables
) -> dict[str, Expected]:
    """What stamps and statements alone say of each lot (of nothing: the wide prior)."""
    words = [s for s in statements if s.sets_prior]
    posterior = fuse_statements(evidence, words, tables)
    mean = posterior.means()
    own, loading = posterior.split()
    standing: dict[str, int] = {}
    for s in words:
        standing[s.on] = max(standing.get(s.on, 0), s.method.standing)
    parts = posterior.part_beliefs()
    found: dict[str, Expected] = {}
    for name in posterior.ids:
        part_mean, part_sd = parts[name]
        whole_var = own[name] ** 2 + float(np.sum(loading[name] ** 2))
        found[name] = Expected(
            (part_mean, part_sd**2), (mean[name], whole_var), standing.get(name, -1)
        )
    return found


def _against_prior(
    statements: list[Statement], expected: Mapping[str, Expected], limit: float
) -> list[Clash]:
    """Readings far from what the stamp says; of the two, the one of better standing stays."""
    far: dict[str, Clash] = {}
    beaten: dict[str, int] = {}
    for s in statements:
        base = expected.get(s.on)
        if s.sets_prior or base is None or base.standing < 0:
            continue
        mean, var = base.whole if s.whole else base.part
        sds = (s.value - mean) / (var + s.var + sum(x**2 for x in s.loads.values())) ** 0.5
        if abs(sds) > limit:
            far[s.id] = Clash(s, "prior", mean, sds)
            beaten[s.on] = max(beaten.get(s.on, -1), s.method.standing)
    found: list[Clash] = []
    for s in statements:
        if s.on not in beaten:
            continue
        word = expected[s.on].standing
        best = beaten[s.on]
        if s.sets_prior and word <= best:
            worst = max(
                (c for c in far.values() if c.statement.on == s.on), key=lambda c: abs(c.sds)
            )
            found.append(Clash(s, "prior", worst.statement.value, -worst.sds))
        elif s.id in far and best <= word:
            found.append(far[s.id])
    return found


def _leave_one_out(
    statements: list[Statement], posterior: Posterior
) -> dict[str, tuple[float, float]]:
    """Of each statement: what all others lead one to expect, and how many sds it lies off."""
    found: dict[str, tuple[float, float]] = {}
    rows: list[PartRow | WholeRow] = [*posterior.part_rows, *posterior.whole_rows]
    of_parts, of_wholes = posterior.part_evidence(), posterior.whole_evidence()
    mean, var = (np.concatenate([of_parts[k], of_wholes[k]]) for k in (0, 1))
    for row, m, v in zip(rows, mean, var, strict=True):
        free = 1 - float(v) / row.var
        off = row.value - float(m)
        if free < 1e-9:
            found[row.id] = (row.value, 0.0)
        else:
            found[row.id] = (row.value - off / free, off / (row.var * free) ** 0.5)
    return {s.id: found[s.id] for s in statements}


def _contradicting(
    statements: list[Statement],
    found: Mapping[str, tuple[float, float]],
    limit: float,
    melted: frozenset[str],
) -> list[Statement]:
    """The evidence of lowest standing on the body that contradicts itself worst."""
    far = [s for s in statements if abs(found[s.id][1]) > limit]
    if not far:
        return []
    most = max(abs(found[s.id][1]) for s in far)
    # A heat and its lots can lie equally far from each other; then nobody knows which lot
    # it was, and it is the heat that teaches nothing.
    worst = max(
        (s for s in far if abs(found[s.id][1]) > most * (1 - TIE)),
        key=lambda s: (s.on in melted, s.on, s.id),
    )
    here = [s for s in far if s.on == worst.on]
    lowest = min(s.method.standing for s in here)
    return [s for s in here if s.method.standing == lowest]
