"""Whoever looks on is told how far the work is, and can end it with what there is by then."""

from __future__ import annotations

from lemel.cut import CutProblem, do, need
from lemel.values import Bar, Blank, Composition, OrderLine, Outline, Section

STERLING = Composition.from_millesimal({"Ag": 925, "Cu": 75})
LINES = tuple(
    OrderLine(f"L{n}", "O", "ada", "outline", 5,
              {"length_mm": 17.0 + 3 * n, "width_mm": 11.0 + 2 * n, "thickness_mm": 0.9 + n % 2},
              "UK Ag 925")
    for n in range(4)
)  # fmt: skip


class Onlooker:
    """Keeps what it is told; says stop after so many tellings."""

    def __init__(self, most: int = 10**9) -> None:
        self.told: list[float] = []
        self.most = most

    def cancelled(self) -> bool:
        return len(self.told) >= self.most

    def tell(self, done: float, *_: object) -> None:
        self.told.append(done)


def sheets() -> tuple[Bar, ...]:
    sections = [Section.flat(0.9, 60), Section.flat(1.9, 60)]
    return tuple(
        Bar(f"b{i}", "ada", "stock", STERLING, 0.0, section, 150,
            section.area_mm2 * 150 * 10.36 / 1000, soft_section=section)
        for i, section in enumerate(sections)
    )  # fmt: skip


def test_progress_never_goes_back():
    eye = Onlooker()
    asked = need(LINES, {"UK Ag 925": STERLING}, watch=eye)
    assert len(eye.told) > 10
    assert eye.told == sorted(eye.told)
    assert 0.5 < eye.told[-1] <= 1
    eye = Onlooker()
    found = do(CutProblem(LINES, asked.blanks, sheets()), watch=eye)
    assert found.unplaced == ()
    assert eye.told == sorted(eye.told)
    assert eye.told[-1] <= 1


def test_a_layout_that_is_stopped_is_whole_as_far_as_it_goes():
    blanks = tuple(
        Blank(f"p{i}", Outline("strip", 20 + i % 7, 9 + i % 5), Section.flat(0.9, 9 + i % 5), 1.0)
        for i in range(24)
    )
    eye = Onlooker(most=2)
    found = do(CutProblem((), blanks, sheets()), watch=eye)
    assert found.proof.stopped_by == "user"
    for sheet in found.sheets:
        total = sheet.blanks_g + sheet.rests_g + sheet.scrap_g + sheet.kerf_g
        assert abs(total - sheets()[0].mass_g) < 1e-6
