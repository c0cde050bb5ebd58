"""What forms, methods, stamps and consents are called on the pages of the scrap."""

from __future__ import annotations

from lemel.values import Lot

__all__ = ["ALLOWS", "CLASSES", "FORMS", "GETS", "METALS", "METHODS", "STAMPS", "formed"]

METALS = {"Ag": "silver", "Au": "gold", "Pt": "platinum", "Pd": "palladium"}
#: What a hand takes up most comes first.
FORMS = {
    "jewellery": "jewellery", "hollowware": "hollowware", "chain": "chain", "sheet": "sheet",
    "wire": "wire", "offcut": "offcuts", "sprue": "sprues", "casting": "castings",
    "filings": "filings", "coin": "coin", "grain": "grain", "bar": "bar", "solder": "solder",
    "residue": "sweeps",
}  # fmt: skip
CLASSES = {
    "": "as its form says", "own_offcut": "own offcuts of certified sheet or wire",
    "own_casting": "own castings of certified grain", "own_melt": "own heat",
    "new_stock": "new from a dealer", "caster": "from a casting house",
    "hallmarked": "assay office's mark", "flatware": "forks and spoons, office mark",
    "old_hollowware": "old raised ware, office mark", "maker_marked": "a number only",
    "foreign_mark": "marks of another country", "us_before_1981": "United States, before 1981",
    "coin": "coin", "class_scrap": "a class's mixed bag", "repaired": "mended many times",
    "filings_clean": "filings of one alloy", "filings_mixed": "mixed bench filings",
    "dental": "dental", "unsorted": "nothing known",
}  # fmt: skip
#: What a mark or a word at the counter is as evidence.
STAMPS = {
    "": "no stamp", "stamp-office": "assay office's mark", "stamp-maker": "a number only",
    "stamp-worn": "worn, hardly read", "stamp-us-before-1981": "United States, before 1981",
    "sheet-cert": "paper of the sheet or grain", "word": "no stamp, but their word",
}  # fmt: skip
METHODS = {
    "touch-silver": "touchstone, silver", "touch-gold": "touchstone, gold",
    "xrf-hand-abraded": "X-ray gun, filed spot", "xrf-hand-gold": "X-ray gun, gold",
    "xrf-hand-skin": "X-ray gun, on the skin", "xrf-bench": "X-ray, bench",
    "stamp-office": "assay office's mark", "stamp-maker": "stamp: a number only",
    "stamp-worn": "stamp, hardly read", "stamp-us-before-1981": "stamp, United States before 1981",
    "word": "somebody's word", "sheet-cert": "paper of sheet or grain",
    "bullion-cert": "bullion certificate", "cupellation": "fire assay",
    "cupellation-white": "fire assay of white gold", "silver-iso-11427": "silver by titration",
    "silver-volhard": "silver by thiocyanate", "silver-salt": "silver by salt",
    "icp-difference": "all else by spectrometer", "own-melt-predicted": "own heat as reckoned",
    "own-melt-proven": "own heat, proven", "density-silver": "weighed in water, silver",
    "density-gold": "weighed in water, gold", "density-binary": "weighed in water, two metals",
}  # fmt: skip
GETS = {
    "own_metal_back": "own metal back", "work_from_it": "work made from it",
    "credit_fine": "fine metal to their account", "money": "money", "safe_keeping": "safe keeping",
}  # fmt: skip
ALLOWS = {
    "destroy": "may be melted", "top_up": "our metal may be added", "mix_with": "may join metal of",
    "alloy_change": "may become another alloy", "use_offcuts": "offcuts may be used on",
    "loss_percent": "may lose so many per cent",
}  # fmt: skip


def formed(lot: Lot) -> str:
    """A bag's form and metal, as one says it."""
    return f"{METALS[lot.main]} {FORMS[lot.form]}"
