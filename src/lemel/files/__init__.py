"""Files to values: TOML, JSON and CSV as a person writes them.

Comes in: a path, or `-` for stdin. Goes out: the problem values of the rooms. Unknown keys
are refused by name; all faults of a reading come in one BadInput, each with file and line.
May ask: every room from `plan` down, for the values that they take; each only when needed.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from lemel.files.bench import CutFile, read_cut, read_mill
    from lemel.files.evidence import BelieveFile, read_believe
    from lemel.files.fire import MeltFile, PourFile, read_melt, read_pour
    from lemel.files.heats import CorrectFile, read_blend, read_correct
    from lemel.files.leaf import number
    from lemel.files.parts import read_parts, read_section
    from lemel.files.place import Place
    from lemel.files.plan import read_plan, read_plan_folder
    from lemel.files.source import STDIN, read_data

__all__ = [
    "STDIN", "BelieveFile", "CorrectFile", "CutFile", "MeltFile", "Place", "PourFile", "number",
    "read_believe", "read_blend", "read_correct", "read_cut", "read_data", "read_melt",
    "read_mill", "read_parts", "read_plan", "read_plan_folder", "read_pour", "read_section",
]  # fmt: skip

# A reader brings the rooms whose values it makes; a verb must pay only for its own.
_HOMES = {
    "bench": ("CutFile", "read_cut", "read_mill"),
    "evidence": ("BelieveFile", "read_believe"),
    "fire": ("MeltFile", "PourFile", "read_melt", "read_pour"),
    "heats": ("CorrectFile", "read_blend", "read_correct"),
    "leaf": ("number",),
    "parts": ("read_parts", "read_section"),
    "place": ("Place",),
    "plan": ("read_plan", "read_plan_folder"),
    "source": ("STDIN", "read_data"),
}


def __getattr__(name: str) -> Any:
    for module, names in _HOMES.items():
        if name in names:
            return getattr(import_module(f"lemel.files.{module}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
