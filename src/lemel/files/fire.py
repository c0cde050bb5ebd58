"""Readers of the files for the fire: one melt, one pour."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from lemel.errors import BadInput
from lemel.files import kit
from lemel.files.keys import Key, listed, pick
from lemel.files.leaf import (
    limited,
    millesimal,
    name,
    one_word,
    percent,
    positive,
    text,
    whole,
    yes_no,
)
from lemel.files.parts import composition
from lemel.files.place import Place, gathered
from lemel.files.source import has_format, read_data
from lemel.values import (
    FORMS,
    Charge,
    ChargeLine,
    Composition,
    Crucible,
    Furnace,
    Mould,
    Torch,
    mix,
)

__all__ = [
    "CHARGE_KEYS", "INSPECTION_KEYS", "MELT_KEYS", "POUR_KEYS", "Inspected", "MeltFile",
    "PourFile", "charge", "read_melt", "read_pour",
]  # fmt: skip

#: What was found of a lot: dry, damp, or hollow and closed.
STATES = ("dry", "damp", "closed")
CHARGE_KEYS = (
    Key("body", name, needed=True),
    Key("kind", one_word(("lot", "addition", "bar"))),
    Key("form", one_word(FORMS), needed=True),
    Key("mass_g", positive, needed=True),
    Key("composition", composition, needed=True),
    Key("pieces_g", listed(positive)),
    Key("state", one_word(STATES)),
)
INSPECTION_KEYS = (
    Key("crucible", name, needed=True),
    Key("cracked", yes_no),
    Key("flaking", yes_no),
    Key("glaze_bare", yes_no),
    Key("damp", yes_no),
    Key("wall_left_percent", percent, to="wall_left"),
    Key("last_owner", name),
)


@dataclass(frozen=True, slots=True)
class Inspected:
    """What was seen of a pot before the melt, and whose metal was in it last ("": not told)."""

    seen: dict[str, bool | float]
    last_owner: str = ""


@dataclass(frozen=True, slots=True)
class MeltFile:
    """One melt as written: what is charged, and the fire and pots that there are.

    `pour_at_c` None: it is to be worked out for the `mould` (None: a wire bar). `condition` is
    the state of a body where it is told, `inspections` what was seen of a pot, by its id.
    """

    charge: Charge
    piece_g: dict[str, tuple[float, ...]]
    condition: dict[str, str]
    furnaces: tuple[Furnace, ...]
    crucibles: tuple[Crucible, ...]
    torches: tuple[Torch, ...]
    mould: Mould | None
    pour_at_c: float | None
    family: str | None
    ambient_c: float
    start_c: float
    sequence: str
    bath_least: str
    may_be_hot: bool
    inspections: dict[str, Inspected]


@dataclass(frozen=True, slots=True)
class PourFile:
    """One pour as written; `bath_c` None: as hot as the mould wants it."""

    body: Composition
    sd: float
    mass_g: float
    mould: Mould | None
    bath_c: float | None
    ingots_wanted: int
    lift_out_s: float
    mould_c: float | None
    crucible: Crucible | None
    may_be_hot: bool


def charge(data: Any, place: Place) -> tuple[Charge, dict[str, tuple[float, ...]], dict[str, str]]:
    """A list of charge lines as one charge, the pieces of lots that are not cut, and the state
    of each lot where it is told."""
    lines: list[ChargeLine] = []
    pieces: dict[str, tuple[float, ...]] = {}
    states: dict[str, str] = {}
    faults: list[BadInput] = []
    for position, entry in enumerate(
        listed(lambda one, at: pick(one, at, *CHARGE_KEYS))(data, place)
    ):
        here = place.at(position)
        given, state = entry.pop("pieces_g", ()), entry.pop("state", "")
        entry.setdefault("kind", "lot")
        try:
            line = ChargeLine(**entry)
        except BadInput as fault:
            faults.append(here.placed(fault))
            continue
        if given and abs(sum(given) - line.mass_g) > 0.01 * line.mass_g:
            faults.append(
                here.at("pieces_g").fault(
                    f"sum {sum(given):g}", f"{line.mass_g:g} g in all", "Weigh the pieces again."
                )
            )
        if line.body in {one.body for one in lines}:
            faults.append(here.at("body").fault(line.body, "each body once", "Join the lines."))
        lines.append(line)
        if given:
            pieces[line.body] = given
        if state:
            states[line.body] = state
    if faults:
        raise gathered(faults)
    if not lines:
        raise place.fault("none", "at least one line", "List what is charged.")
    body = mix((line.mass_g, line.composition) for line in lines)
    mass = sum(line.mass_g for line in lines)
    main = body.main()
    made = Charge("heat", "shop", tuple(lines), body, 0.0, body.share(main), (mass, 0.0))
    return made, pieces, states


def _inspected(data: Any, place: Place) -> tuple[str, Inspected]:
    values = pick(data, place, *INSPECTION_KEYS)
    pot, owner = values.pop("crucible"), values.pop("last_owner", "")
    return pot, Inspected(values, owner)


MELT_KEYS = (
    Key("format", text, needed=True),
    Key("charge", charge, needed=True),
    Key("pour_at_c", limited(200, 2000)),
    Key("family", name),
    Key("ambient_c", limited(-30, 60)),
    Key("start_c", limited(-30, 1500)),
    Key("owner", name),
    Key("sequence", one_word(("third", "full"))),
    Key("bath_least", one_word(("liquidus", "half", "solidus"))),
    Key("may_be_hot", yes_no),
    Key("inspection", listed(_inspected)),
    Key("furnace", listed(kit.furnace)),
    Key("crucible", listed(kit.crucible)),
    Key("torch", listed(kit.torch)),
    Key("mould", kit.mould),
)


def read_melt(path: str | Path) -> MeltFile:
    """`format = "lemel-melt 1"`: a charge with furnaces, crucibles and torches to choose from."""
    data, place = read_data(path)
    has_format(data, place, "melt")
    values = pick(data, place, *MELT_KEYS)
    if not values.get("furnace") and not values.get("torch"):
        raise place.at("furnace").fault(
            "missing", "a furnace with a crucible, or a torch", "Say what it is melted with."
        )
    if values.get("furnace") and not values.get("crucible"):
        raise place.at("crucible").fault("missing", "a crucible", "Say what goes in the furnace.")
    made, pieces, states = values["charge"]
    seen = dict(values.get("inspection", ()))
    pots = {pot.id for pot in values.get("crucible", ())}
    for pot in seen:
        if pot not in pots:
            known = ", ".join(sorted(pots)) or "a pot that is listed"
            raise place.at("inspection").fault(pot, known, "Name the pot by its id.")
    ambient = values.get("ambient_c", 18.0)
    return MeltFile(
        charge=replace(made, owner=values.get("owner", made.owner)),
        piece_g=pieces,
        condition=states,
        furnaces=values.get("furnace", ()),
        crucibles=values.get("crucible", ()),
        torches=values.get("torch", ()),
        mould=values.get("mould"),
        pour_at_c=values.get("pour_at_c"),
        family=values.get("family"),
        ambient_c=ambient,
        start_c=values.get("start_c", ambient),
        sequence=values.get("sequence", "third"),
        bath_least=values.get("bath_least", "half"),
        may_be_hot=values.get("may_be_hot", False),
        inspections=seen,
    )


POUR_KEYS = (
    Key("format", text, needed=True),
    Key("composition", composition, needed=True, to="body"),
    Key("sd_millesimal", millesimal, to="sd"),
    Key("mass_g", positive, needed=True),
    Key("mould", kit.mould),
    Key("button", yes_no),
    Key("bath_c", limited(200, 2000)),
    Key("ingots_wanted", whole(1, 50)),
    Key("lift_out_s", limited(0, 120)),
    Key("mould_c", limited(-30, 600)),
    Key("crucible", kit.crucible),
    Key("may_be_hot", yes_no),
)


def read_pour(path: str | Path) -> PourFile:
    """`format = "lemel-pour 1"`: so much metal into one mould, or left as a button."""
    data, place = read_data(path)
    has_format(data, place, "pour")
    values = pick(data, place, *POUR_KEYS)
    button = values.get("button", False)
    if not button and "mould" not in values:
        raise place.at("mould").fault(
            "missing", "a mould, or button = true", "Describe the mould that is filled."
        )
    return PourFile(
        body=values["body"],
        sd=values.get("sd", 0.0),
        mass_g=values["mass_g"],
        mould=None if button else values["mould"],
        bath_c=values.get("bath_c"),
        ingots_wanted=values.get("ingots_wanted", 1),
        lift_out_s=values.get("lift_out_s", 7.0),
        mould_c=values.get("mould_c"),
        crucible=values.get("crucible"),
        may_be_hot=values.get("may_be_hot", False),
    )
