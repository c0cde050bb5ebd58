"""The drawing of descent: everybody in it, ribbons by grams, the suspect told by a word too."""

from __future__ import annotations

import re
from xml.etree import ElementTree

from lemel.sketch import Kinsman, Link, ancestry

FAMILY = (
    Kinsman("S1", "bag", 100.0),
    Kinsman("S2", "bag", 50.0),
    Kinsman("p/H1", "heat", 150.0, suspect=True),
    Kinsman("p/H1-1", "bar", 140.0),
    Kinsman("p/ring", "piece", 10.0),
)
LINKS = (
    Link("S1", "p/H1", 100.0),
    Link("S2", "p/H1", 50.0),
    Link("p/H1", "p/H1-1", 140.0),
    Link("p/H1-1", "p/ring", 10.0),
)


def texts(drawing):
    root = ElementTree.fromstring(drawing.svg)
    return [one.text for one in root.iter() if one.tag.endswith("text")]


def left_of(drawing, name):
    return float(re.search(rf'x="([\d.]+)"[^>]*>{name}<', drawing.svg)[1])


def test_everybody_is_drawn_and_descent_goes_to_the_right():
    drawing = ancestry(FAMILY, LINKS)
    assert {"S1", "S2", "H1", "H1-1", "ring"} <= set(texts(drawing))
    order = [left_of(drawing, name) for name in ("S1", "H1", "H1-1", "ring")]
    assert order == sorted(order)
    assert len(set(order)) == 4


def test_a_ribbon_is_as_wide_as_its_grams():
    ribbons = re.findall(r" ([\d.]+) V ([\d.]+) C", ancestry(FAMILY, LINKS).svg)
    widths = [float(below) - float(above) for above, below in ribbons]
    assert len(widths) == 4
    assert sorted(round(w / max(widths), 2) for w in widths) == sorted(
        round(link.mass_g / 140, 2) for link in LINKS
    )


def test_a_suspect_is_told_by_word():
    assert sum("suspect" in (text or "") for text in texts(ancestry(FAMILY, LINKS))) == 1
    assert not any("suspect" in (text or "") for text in texts(ancestry(FAMILY[:2], ())))


def test_one_body_alone_is_a_drawing_too():
    drawing = ancestry(FAMILY[:1], ())
    assert drawing.width_mm > 0
    assert drawing.alt
