"""When it cracks: what to cut away, what it says of the heat, and how to go on."""

from __future__ import annotations

from dataclasses import dataclass, replace

from lemel.errors import require
from lemel.mill.answer import do
from lemel.mill.faces import MillProblem, Route
from lemel.mill.halfway import bar_after, step_of
from lemel.mill.matter import matter_of
from lemel.mill.piece import piece_of
from lemel.mill.rules import rules_of
from lemel.tables import Row, Tables, shipped
from lemel.values import Bar, BarFault, Quantity, Saying, Section, Watch, quiet

__all__ = ["CRACKS", "CrackAdvice", "crack", "crack_in"]

#: Kinds of crack: at the edge, across, the split end, a blister, a layer that lifts.
CRACKS = ("edge", "cross", "fish_mouth", "blister", "lamination")


@dataclass(frozen=True, slots=True)
class CrackAdvice:
    """What to do with a cracked bar.

    `do` in order; `says` what it tells of the metal and the pour; `suspect`: the heat and
    all that came of it are in doubt. `bar` goes on (None: remelt it), `offcuts` are cut
    away, `loss_g` is scraped off; `route` is the new way, to as much of the need as is left.
    """

    kind: str
    do: tuple[Saying, ...]
    says: tuple[Saying, ...]
    suspect: bool
    bar: Bar | None
    offcuts: tuple[Bar, ...]
    loss_g: float
    route: Route | None


def crack(
    problem: MillProblem,
    route: Route,
    step: int,
    kind: str,
    place_mm: float,
    depth_mm: float,
    *,
    tables: Tables | None = None,
    watch: Watch = quiet,
) -> CrackAdvice:
    """Advice on a crack seen after a step, with the new route from what is left.

    Args:
        kind: one of `CRACKS`.
        place_mm: from the leading end (any value for an edge that is crazed all along).
        depth_mm: how far it goes in: from the edge, from the end, or from the face.

    Raises BadInput for a step, kind, place or depth that cannot be.
    """
    at = step_of(route, step)
    bar = bar_after(problem, route, step, tables=tables)
    worked = bar
    while at.strain == 0.0 and at.n > 1 and at.tool != "file":
        # Seen on soft metal before a new pass: it came with the work before the anneal.
        at = step_of(route, at.n - 1)
        worked = bar_after(problem, route, at.n, tables=tables)
    seen = _Seen(bar, at.strain, kind, place_mm, depth_mm, worked.soft_section is None)
    return _advice(problem, seen, tables, watch)


def crack_in(
    problem: MillProblem,
    kind: str,
    place_mm: float,
    depth_mm: float,
    *,
    tables: Tables | None = None,
    watch: Watch = quiet,
) -> CrackAdvice:
    """The same for a crack in the problem's bar as it lies on the bench, measured anew.

    How much it was worked follows from its `soft_section` or `cast_section`; where nobody
    knows, nothing is said of the heat.
    """
    rules, density = rules_of(tables), matter_of(problem.bar.body, tables).density_g_cm3
    piece = piece_of(problem.bar, density, rules, tables)
    strain = None if piece.unknown else piece.strain
    seen = _Seen(problem.bar, strain, kind, place_mm, depth_mm, piece.cast)
    return _advice(problem, seen, tables, watch)


@dataclass(frozen=True, slots=True)
class _Seen:
    """A crack in a bar; `strain` since it was soft or cast (None: nobody knows); `cast`: it
    came while the metal was as cast, which takes less."""

    bar: Bar
    strain: float | None
    kind: str
    place_mm: float
    depth_mm: float
    cast: bool = False


def _advice(problem: MillProblem, seen: _Seen, tables: Tables | None, watch: Watch) -> CrackAdvice:
    _check(seen)
    kind, whole = seen.kind, seen.bar
    row = (tables or shipped()).row("mill_cracks", kind)
    working = problem.working or matter_of(whole.body, tables).working
    says, suspect = _says(seen, working.cast_strain_most if seen.cast else working.strain_most, row)
    kept, offcuts, loss = _cut_away(whole, row, seen.place_mm, seen.depth_mm)
    fault = BarFault("crack", seen.place_mm, seen.depth_mm, kind)
    if kept is None:
        return CrackAdvice(
            kind, (Saying("mill.crack.remelt"),), says, suspect, None,
            (replace(whole, kind="offcut", faults=(*whole.faults, fault), suspect=suspect),),
            0.0, None,
        )  # fmt: skip
    # Its history is spent: it is annealed before anything else, and strained less from here.
    kept = replace(
        kept, kind="working", soft_section=None, cast_section=None,
        suspect=whole.suspect or suspect,
    )  # fmt: skip
    factor = row.number("strain_factor")
    gentler = replace(
        working,
        strain_most=working.strain_most * factor,
        cast_strain_most=working.cast_strain_most * factor,
    )
    anew = replace(problem, bar=kept, working=gentler, accept_short=True)
    values = {
        "depth": Quantity(seen.depth_mm, "mm"),
        "off": Quantity(sum(one.mass_g for one in offcuts) + loss, "g"),
        "percent": Quantity(100 * (1 - factor), "percent"),
    }
    return CrackAdvice(
        kind, (_first_deed(kind, whole, values), Saying("mill.crack.do.gentler", values)),
        says, suspect, kept,
        tuple(replace(one, faults=(fault,), suspect=suspect) for one in offcuts),
        loss, do(anew, tables=tables, watch=watch),
    )  # fmt: skip


def _first_deed(kind: str, bar: Bar, values: dict[str, Quantity]) -> Saying:
    """What is cut away; a bar has no edges to trim."""
    round_bar = kind == "edge" and bar.section.kind != "flat"
    return Saying("mill.crack.do.corner" if round_bar else f"mill.crack.do.{kind}", values)


def _says(seen: _Seen, strain_most: float, row: Row) -> tuple[tuple[Saying, ...], bool]:
    """What the crack tells of the work and the heat, and whether the heat is in doubt."""
    if seen.strain is None:
        return (Saying("mill.crack.says.unknown"),), False
    share = seen.strain / strain_most
    said = Saying(f"mill.crack.says.{seen.kind}", {"share": Quantity(100 * share, "percent")})
    if share >= row.number("suspect_below"):
        return (said,), False
    return (said, Saying("mill.crack.says.heat")), True


def _check(seen: _Seen) -> None:
    kind, section = seen.kind, seen.bar.section
    require(kind in CRACKS, "kind", kind, ", ".join(CRACKS), "Say what the crack looks like.")
    require(
        0 <= seen.place_mm <= seen.bar.length_mm, "place_mm", seen.place_mm,
        f"0 to {seen.bar.length_mm:.1f}", "Measure from the leading end.",
    )  # fmt: skip
    most = {
        "edge": section.width_mm / 2, "cross": section.width_mm, "fish_mouth": seen.bar.length_mm,
    }.get(kind, section.thickness_mm)  # fmt: skip
    require(
        0 < seen.depth_mm <= most, "depth_mm", seen.depth_mm, f"0 to {most:.2f}",
        "Measure how far the crack goes in.",
    )  # fmt: skip


def _cut_away(
    bar: Bar, row: Row, place: float, depth: float
) -> tuple[Bar | None, tuple[Bar, ...], float]:
    """What goes on, what is cut off, what is scraped off; None where too little is left."""
    extra, removes = row.number("extra_mm"), row.text("removes")
    if removes == "edges":
        return _trim(bar, depth + extra)
    if removes == "face":
        if depth + extra > row.number("face_share_most") * bar.section.thickness_mm:
            return None, (), 0.0
        return _scrape(bar, depth + extra)
    if removes == "end":
        return _shorten(bar, 0.0, depth + extra)
    return _shorten(bar, max(0.0, place - extra), place + extra)


def _trim(bar: Bar, each: float) -> tuple[Bar | None, tuple[Bar, ...], float]:
    if bar.section.kind != "flat":
        # A square or round has no edges to trim: the crack is filed out all round.
        return _scrape(bar, each)
    left = bar.section.width_mm - 2 * each
    if left <= bar.section.thickness_mm:
        return None, (), 0.0
    section = Section.of(
        "flat", {"thickness": bar.section.thickness_mm, "width": left}, bar.section.corner
    )
    kept = _with(bar, section, bar.length_mm)
    return kept, (_offcut(bar, bar.mass_g - kept.mass_g),), 0.0


def _scrape(bar: Bar, depth: float) -> tuple[Bar | None, tuple[Bar, ...], float]:
    ratio = 1 - depth / bar.section.thickness_mm
    if ratio <= 0.3:
        return None, (), 0.0
    dims = dict(bar.section.dims_mm)
    thin = min(dims, key=lambda name: dims[name])
    dims[thin] *= ratio
    kept = _with(bar, Section.of(bar.section.kind, dims, bar.section.corner), bar.length_mm)
    return kept, (), bar.mass_g - kept.mass_g


def _shorten(bar: Bar, start: float, end: float) -> tuple[Bar | None, tuple[Bar, ...], float]:
    """Cut out from start to end; the longer part goes on."""
    end = min(end, bar.length_mm)
    left = max(start, bar.length_mm - end)
    if left <= bar.section.thickness_mm:
        return None, (), 0.0
    kept = _with(bar, bar.section, left)
    return kept, (_offcut(bar, bar.mass_g - kept.mass_g),), 0.0


def _with(bar: Bar, section: Section, length_mm: float) -> Bar:
    share = section.area_mm2 * length_mm / (bar.section.area_mm2 * bar.length_mm)
    return replace(
        bar, id=f"{bar.id}/on", section=section, length_mm=length_mm, mass_g=bar.mass_g * share,
        parents=(bar.id,),
    )  # fmt: skip


def _offcut(bar: Bar, mass_g: float) -> Bar:
    return replace(
        bar, id=f"{bar.id}/cracked", kind="offcut", mass_g=mass_g,
        length_mm=bar.length_mm * mass_g / bar.mass_g, parents=(bar.id,),
    )  # fmt: skip
