"""Files to values: TOML, JSON and CSV as a person writes them.

Comes in: a path, or `-` for stdin. Goes out: the problem values of the rooms. Unknown keys
are refused by name; all faults of a reading come in one BadInput, each with file and line.
May ask: every room from `plan` down, for the values that they take; never the other way.
"""

from lemel.files.plan import read_plan, read_plan_folder

__all__ = ["read_plan", "read_plan_folder"]
