"""Files to values: TOML, JSON and CSV as a person writes them.

Comes in: a path, or `-` for stdin. Goes out: the problem values of the rooms. Unknown keys
are refused by name; all faults of a reading come in one BadInput, each with file and line.
May ask: every room from `plan` down, for the values that they take; each only when needed.
"""

from lemel.files.bags import BagsFile, read_bags
from lemel.files.cutting import CutFile, read_cut
from lemel.files.evidence import BelieveFile, read_believe
from lemel.files.fire import MeltFile, PourFile, read_melt, read_pour
from lemel.files.fire_day import DayFile, DayHeatFile, TendFile, log_text, read_day, read_tend
from lemel.files.furnace_log import CalibrateFile, LoggedHeat, NextHeat, read_calibrate
from lemel.files.heats import CorrectFile, read_blend, read_correct
from lemel.files.leaf import read_number
from lemel.files.milling import MillFile, read_mill
from lemel.files.parts import read_parts, read_section, section_text
from lemel.files.place import Place
from lemel.files.plan import read_plan, read_plan_folder
from lemel.files.source import STDIN, read_data

__all__ = [
    "BagsFile", "BelieveFile", "CalibrateFile", "CorrectFile", "CutFile", "DayFile",
    "DayHeatFile", "LoggedHeat", "MeltFile", "MillFile", "NextHeat", "Place", "PourFile", "STDIN",
    "TendFile", "log_text", "read_bags", "read_believe", "read_blend", "read_calibrate",
    "read_correct", "read_cut", "read_data", "read_day", "read_melt", "read_mill", "read_number",
    "read_parts", "read_plan", "read_plan_folder", "read_pour", "read_section", "read_tend",
    "section_text",
]  # fmt: skip
