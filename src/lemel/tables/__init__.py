"""Facts as data: every row with its source and its trust.

Comes in: the CSV and JSON files of `tables/data`. Goes out: `Tables`, immutable, with a
digest and `with_overrides` for a house's own figures. May ask: values, quantities, errors.
"""

from lemel.tables.load import Row, Source, Tables, shipped

__all__ = ["Row", "Source", "Tables", "shipped"]
