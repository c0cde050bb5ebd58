"""From lots, readings and heats to statements that the fusion understands."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from lemel.errors import BadInput
from lemel.scrap.faces import AssayedHeat, ScrapProblem
from lemel.scrap.heats import Mixture, bars_of, first_use, mixtures_of
from lemel.scrap.lots import Kind, kind_of
from lemel.scrap.methods import method
from lemel.scrap.statements import Statement, from_reading, from_stated
from lemel.scrap.yields import with_learnt
from lemel.tables import Tables
from lemel.values import Lot, Objection, Reading, to_plain

__all__ = ["Evidence", "gather_evidence", "readings_digest"]


@dataclass(frozen=True, slots=True)
class Evidence:
    """All evidence of a problem, sorted by id; nothing is judged yet.

    `bars` are the lots that came out of a heat; they are believed through its lots.
    `readings` are the live ones by id. `asked` are questions about poured heats.
    """

    main: str
    lots: Mapping[str, Lot]
    kinds: Mapping[str, Kind]
    heats: Mapping[str, Mixture]
    bars: Mapping[str, Mixture]
    statements: tuple[Statement, ...]
    readings: Mapping[str, Reading]
    digest: str
    by_body: Mapping[str, tuple[Statement, ...]]
    asked: tuple[Objection, ...] = ()

    def on(self, body: str) -> tuple[Statement, ...]:
        """The evidence about one body."""
        return self.by_body.get(body, ())


def gather_evidence(problem: ScrapProblem, tables: Tables) -> Evidence:
    """Check the problem and turn it into statements. BadInput names what does not fit."""
    lots = _by_id(problem.lots)
    main = _one_main(problem.lots)
    heats = tuple(AssayedHeat(*heat) for heat in problem.heats)
    kinds, asked = with_learnt(
        {name: kind_of(lot, tables) for name, lot in lots.items()}, problem.poured, tables
    )
    bars = bars_of(lots, heats)
    mixtures = mixtures_of(lots, kinds, heats, bars)
    _check_readings(problem.readings, lots, mixtures)
    uses = first_use(heats)
    live = {r.id: r for r in sorted(problem.readings, key=lambda r: r.id) if not r.withdrawn}
    said: list[Statement] = []
    for reading in live.values():
        how = method(reading.method, main, tables)
        if how.code == "own-melt-predicted" and reading.on in bars:
            continue  # the heat itself is the prediction, with its errors kept
        lot, kind = lots.get(reading.on), kinds.get(reading.on)
        melted = reading.on in mixtures or reading.on in bars
        said.append(
            from_reading(
                reading,
                how,
                lot=lot,
                kind=kind,
                main=main,
                use=uses.get(reading.on),
                melted=melted,
                tables=tables,
            )
        )
    spoken = {s.on for s in said if s.sets_prior} | set(bars)
    for name, lot in lots.items():
        if name not in spoken and lot.stated is not None and lot.stated.share(main) > 0:
            said.append(from_stated(lot, kinds[name], main, uses.get(name), tables))
    said.sort(key=lambda s: s.id)
    by_body: dict[str, tuple[Statement, ...]] = {}
    for s in said:
        by_body[s.on] = (*by_body.get(s.on, ()), s)
    return Evidence(
        main, lots, kinds, mixtures, {lot: mixtures[heat] for lot, heat in bars.items()},
        tuple(said), live, readings_digest(problem), by_body, asked,
    )  # fmt: skip


def readings_digest(problem: ScrapProblem) -> str:
    """A short name of exactly this evidence; order and withdrawn readings do not count."""
    plain = {
        "lots": sorted((to_plain(lot) for lot in problem.lots), key=lambda p: str(p["id"])),
        "readings": sorted(
            (to_plain(r) for r in problem.readings if not r.withdrawn), key=lambda p: str(p["id"])
        ),
        "heats": sorted(([to_plain(item) for item in heat] for heat in problem.heats), key=str),
    }
    if problem.poured:
        plain["poured"] = sorted(
            ([to_plain(item) for item in heat] for heat in problem.poured), key=str
        )
    return hashlib.sha256(json.dumps(plain, sort_keys=True).encode()).hexdigest()[:16]


def _by_id(lots: Iterable[Lot]) -> dict[str, Lot]:
    found: dict[str, Lot] = {}
    for lot in lots:
        if lot.id in found:
            raise BadInput("lots.id", lot.id, "each id once", "Rename one of the two lots.")
        found[lot.id] = lot
    if not found:
        raise BadInput("lots", [], "at least one lot", "Name the lots to be believed.")
    return dict(sorted(found.items()))


def _one_main(lots: tuple[Lot, ...]) -> str:
    main = lots[0].main
    for lot in lots:
        if lot.main != main:
            raise BadInput(
                f"lots.{lot.id}.main", lot.main, f"{main}, like the other lots",
                "Believe silver and gold apart: one main metal at a time.",
            )  # fmt: skip
    return main


def _check_readings(
    readings: tuple[Reading, ...], lots: Mapping[str, Lot], heats: Mapping[str, Mixture]
) -> None:
    seen: set[str] = set()
    for reading in readings:
        if reading.id in seen:
            raise BadInput("readings.id", reading.id, "each id once", "Rename one of the two.")
        seen.add(reading.id)
        if reading.on not in lots and reading.on not in heats:
            raise BadInput(
                f"readings.{reading.id}.on", reading.on, "the id of a lot or heat given here",
                "Name the lot, or leave the reading out.",
            )  # fmt: skip
