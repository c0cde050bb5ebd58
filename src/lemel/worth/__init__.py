"""Worth: what lots would fetch, and whether making beats selling scrap and buying stock.

Comes in: lots with beliefs, prices entered by hand, the bill of a plan. Goes out: exact
decimal amounts, never rounded on the way; a parcel that is not worth sending yet says so.
May ask: scrap, metal, tables and values. It knows no live prices and gives no advice on tax.
"""

from lemel.worth.compare import compare, stock_price
from lemel.worth.faces import Comparison, LotValue, Parcel, StockBought, WorthProblem
from lemel.worth.lots import parcel, value

__all__ = [
    "Comparison", "LotValue", "Parcel", "StockBought", "WorthProblem", "compare", "parcel",
    "stock_price", "value",
]  # fmt: skip
