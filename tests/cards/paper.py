"""Reading a card back as a reader would: its words, its type sizes, its ink."""

from __future__ import annotations

import ctypes
import re
from collections import Counter
from dataclasses import dataclass
from typing import Any

import numpy as np
import pypdfium2 as pdfium
from pypdfium2 import raw

__all__ = ["Page", "pages_of", "plain"]

FOOT = re.compile(r"(?P<name>[^\n·]+) · page (?P<now>\d+) of (?P<last>\d+)")


@dataclass(frozen=True)
class Page:
    """One page: its words, the size in points of each letter, its foot, and its ink."""

    text: str
    sizes: Counter[float]
    wide_mm: float
    high_mm: float
    ink: Any

    @property
    def name(self) -> str:
        """The card that it belongs to, as its foot says."""
        found = FOOT.search(self.text)
        return re.sub(r"^plan-\w+ ", "", found["name"].strip()) if found else ""

    @property
    def number(self) -> tuple[int, int]:
        """Its number within the card, and how many the card has."""
        found = FOOT.search(self.text)
        return (int(found["now"]), int(found["last"])) if found else (0, 0)


def pages_of(pdf: bytes, dpi: int = 60) -> list[Page]:
    """Every page of a PDF."""
    document = pdfium.PdfDocument(pdf)
    return [_page(page, dpi) for page in document]


def plain(text: str) -> str:
    """Words without the line breaks of the page."""
    return " ".join(text.split())


def _page(page: Any, dpi: int) -> Page:
    words = page.get_textpage()
    wide, high = page.get_size()
    ink = page.render(scale=dpi / 72).to_numpy()
    return Page(
        words.get_text_range().replace("\r", ""),
        _sizes(words),
        wide / 72 * 25.4,
        high / 72 * 25.4,
        np.asarray(ink),
    )


def _sizes(words: Any) -> Counter[float]:
    """Size on paper of each letter: that of the type times the scale of its matrix."""
    sizes: Counter[float] = Counter()
    for index in range(words.count_chars()):
        if chr(raw.FPDFText_GetUnicode(words, index)).isspace():
            continue
        matrix = raw.FS_MATRIX()
        raw.FPDFText_GetMatrix(words, index, ctypes.byref(matrix))
        scale = abs(matrix.a * matrix.d - matrix.b * matrix.c) ** 0.5
        sizes[round(raw.FPDFText_GetFontSize(words, index) * scale, 1)] += 1
    return sizes
