"""lemel: from a box of scrap and a list of pieces to what to do with every gram."""

__version__ = "0.1.0"
