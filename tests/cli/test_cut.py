"""`lemel cut` as one asks it at the bench: outlines by their drawings, rests, full-size paper."""

from __future__ import annotations

import math
import os
import re
import shutil

import pypdfium2
import pytest

from lemel.demo import examples

#: What pypdfium2 calls a drawn line or outline (FPDF_PAGEOBJ_PATH).
PATH = 2
OUTLINES = examples() / "cut_outline.toml"


@pytest.fixture
def folder(tmp_path):
    """The example with its drawings in a folder of its own; `write` puts another piece there."""
    for name in ("leaf.svg", "tag.dxf"):
        shutil.copy(examples() / name, tmp_path)

    def write(piece: str, name: str = "asked.toml") -> object:
        path = tmp_path / name
        path.write_text(
            'format = "lemel-cut 1"\ncomposition = { Ag = 925, Cu = 75 }\n'
            f'[[piece]]\nwhat = "outline"\nthickness_mm = 0.9\n{piece}\n',
            "utf-8",
        )
        return path

    write.at = tmp_path
    return write


def test_outlines_come_from_drawings_beside_the_file_and_from_the_words_of_a_path(lemel):
    data = lemel("cut", OUTLINES, "--json").data
    assert data["unplaced"] == []
    by_line = {one["piece"].split("/")[0]: one["outline"] for one in data["blanks"]}
    assert by_line["leaf"]["length_mm"] == pytest.approx(44.0, abs=0.01)
    # The leaf is two mirrored cubics of height 26: its widest is 3/4 of that on each side.
    assert by_line["leaf"]["width_mm"] == pytest.approx(2 * 26 * 0.75 / 2, abs=0.05)
    assert (by_line["tag"]["length_mm"], by_line["tag"]["width_mm"]) == pytest.approx((36, 18))
    assert by_line["angle"]["length_mm"] == 24


def test_the_mass_of_a_tag_is_its_area_with_the_round_corners_taken_off(lemel):
    data = lemel("cut", OUTLINES, "--json").data
    tag = next(one for one in data["blanks"] if one["piece"].startswith("tag"))
    area = 36 * 18 - (4 - math.pi) * 5**2
    assert tag["mass_g"] == pytest.approx(area * 0.9 * 10.36 / 1000, rel=0.003)


def test_a_layer_says_which_lines_of_a_drawing_are_meant(lemel, folder):
    boxed = lemel("cut", folder('drawing = "tag.dxf"'), "--json").data["blanks"][0]["outline"]
    assert (boxed["length_mm"], boxed["width_mm"]) == pytest.approx((65, 35))


@pytest.mark.parametrize(
    ("piece", "named", "said"),
    [
        ('drawing = "../leaf.svg"', "drawing", "same folder"),
        ('drawing = "/etc/leaf.svg"', "drawing", "same folder"),
        ('drawing = "none.svg"', "drawing", "a drawing that is there"),
        ('drawing = "leaf.png"', "drawing", ".svg or .dxf"),
        ('drawing = "leaf.svg"\nlayer = "CUT"', "drawing", "no layer"),
        ('layer = "CUT"', "layer", "drawing"),
        ('drawing = "leaf.svg"\npath_mm = "M 0 0 H 9 V 9 Z"', "drawing", "drawing or path_mm"),
        ('drawing = "tag.dxf"\nlayer = "NONE"', "drawing", "one closed outline"),
        ('path_mm = "M 0 0 nonsense"', "path_mm", "path commands"),
    ],
)
def test_a_drawing_that_cannot_be_read_is_refused_by_its_key(lemel, folder, piece, named, said):
    shutil.copy(folder.at / "leaf.svg", folder.at / "leaf.png")
    heard = lemel("cut", folder(piece))
    assert heard.code == 2
    assert named in heard.err
    assert said in heard.err


def test_no_link_leads_out_of_the_folder_and_no_great_or_odd_file_is_read(lemel, folder):
    below = folder.at / "below"
    below.mkdir()
    (below / "asked.toml").write_text(folder('drawing = "leaf.svg"').read_text("utf-8"), "utf-8")
    os.symlink(folder.at / "leaf.svg", below / "leaf.svg")
    assert "same folder" in lemel("cut", below / "asked.toml").err
    (folder.at / "great.svg").write_bytes(b" " * 2_000_001)
    assert "bytes at most" in lemel("cut", folder('drawing = "great.svg"')).err
    os.mkfifo(folder.at / "pipe.svg")
    assert lemel("cut", folder('drawing = "pipe.svg"')).code == 2


def test_a_file_on_stdin_may_name_no_drawing(lemel, folder, monkeypatch):
    import io
    import sys

    raw = folder('drawing = "leaf.svg"').read_bytes()
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(raw)))
    heard = lemel("cut", "-")
    assert heard.code == 2
    assert "path_mm" in heard.err


SVG = '<svg xmlns="http://www.w3.org/2000/svg" {head}>{body}</svg>'
SHAPES = {
    "units": ('width="5cm" height="2cm" viewBox="0 0 100 40"',
              '<rect x="10" y="10" width="60" height="20"/>', (30, 10)),
    "inches": ('width="1in" height="1in" viewBox="0 0 96 96"',
               '<polygon points="0,0 96,0 96,48"/>', (25.4, 12.7)),
    "turned": ("", '<g transform="rotate(90)"><rect width="20" height="8"/></g>', (8, 20)),
    "scaled": ("", '<g transform="scale(2)"><g transform="translate(5,5) scale(1.5, 1)">'
                   '<rect width="10" height="4"/></g></g>', (30, 8)),
    "round": ("", '<circle cx="9" cy="9" r="7"/><circle cx="9" cy="9" r="2"/>', (14, 14)),
    "defined only": ("", '<defs><rect width="99" height="99"/></defs><ellipse rx="6" ry="3"/>',
                     (12, 6)),
}  # fmt: skip


@pytest.mark.parametrize("name", SHAPES)
def test_shapes_groups_turns_and_units_of_an_svg_file_are_read(lemel, folder, name):
    head, body, (along, across) = SHAPES[name]
    (folder.at / "shape.svg").write_text(SVG.format(head=head, body=body), "utf-8")
    data = lemel("cut", folder('drawing = "shape.svg"'), "--json").data
    found = data["blanks"][0]["outline"]
    assert (found["length_mm"], found["width_mm"]) == pytest.approx((along, across), abs=0.041)


@pytest.mark.parametrize(
    "text",
    [
        "not a drawing", "<html/>", SVG.format(head="", body=""),
        '<!DOCTYPE svg [<!ENTITY a "b">]><svg/>',
        SVG.format(head="", body='<g transform="rotate(a)"><rect width="9" height="9"/></g>'),
        SVG.format(head='width="5cm" height="9cm" viewBox="0 0 9 9"',
                   body='<rect width="9" height="9"/>'),
    ],
)  # fmt: skip
def test_an_svg_file_without_a_sound_outline_is_refused(lemel, folder, text):
    (folder.at / "bad.svg").write_text(text, "utf-8")
    heard = lemel("cut", folder('drawing = "bad.svg"'))
    assert heard.code == 2
    assert "bad.svg" in heard.err


def test_a_dxf_in_inches_comes_out_in_mm_and_one_that_is_silent_is_in_mm(lemel, folder):
    silent = (folder.at / "tag.dxf").read_text("utf-8")
    head = "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n1\n0\nENDSEC\n"
    (folder.at / "inch.dxf").write_text(head + silent, "utf-8")
    for name, times in (("tag.dxf", 1.0), ("inch.dxf", 25.4)):
        path = folder(f'drawing = "{name}"\nlayer = "CUT"')
        found = lemel("cut", path, "--json").data["blanks"][0]["outline"]
        assert found["length_mm"] == pytest.approx(36 * times, abs=0.01)


def test_each_bar_is_drawn_at_full_size_as_svg_and_pdf(lemel, tmp_path):
    data = lemel("cut", OUTLINES, "--draw", tmp_path / "paper", "--json").data
    names = sorted(path.name for path in (tmp_path / "paper").iterdir())
    assert names == ["01-sheet-0.9.pdf", "01-sheet-0.9.svg"]
    assert len(data["drawn"]) == 2
    svg = (tmp_path / "paper" / names[1]).read_text("utf-8")
    assert re.search(r'width="132\.000mm"', svg)
    (page,) = pypdfium2.PdfDocument(tmp_path / "paper" / names[0])
    assert page.get_size() == pytest.approx((841.9, 595.3), abs=0.1)
    bounds = [one.get_bounds() for one in page.get_objects() if one.type == PATH]
    wide_mm = [(right - left) * 25.4 / 72 for left, _, right, _ in bounds]
    # The sheet is 120 mm long and the check line 50 mm, on paper too, with their strokes.
    assert max(wide_mm) < 280
    for length_mm in (120.0, 50.0):
        assert any(one == pytest.approx(length_mm, abs=0.7) for one in wide_mm)


def test_wire_is_told_as_a_list_of_cuts(lemel, tmp_path):
    path = tmp_path / "wire.toml"
    path.write_text(
        """format = "lemel-cut 1"
composition = { Ag = 925, Cu = 75 }
[[piece]]
id = "pin"
what = "stock"
count = 3
section = "round 1 mm"
length_mm = 60
[[stock]]
id = "coil"
kind = "stock"
composition = { Ag = 925, Cu = 75 }
section = "round 1 mm"
length_mm = 400
mass_g = 3.25
soft_section = "round 1 mm"
""",
        "utf-8",
    )
    words = " ".join(lemel("cut", path, "--draw", tmp_path / "paper").out.split())
    assert "Along coil, mm from its end: pin/1 0.0 to 60.0" in words
    assert [one.suffix for one in (tmp_path / "paper").iterdir()] == [".svg"]
