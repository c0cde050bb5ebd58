"""Where a piece's metal came from, and where a bag's metal went: ribbons as wide as the grams."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from lemel.quantities import AS_IT_COMES, Preference, show
from lemel.sketch.drawing import Drawing
from lemel.sketch.strokes import line, page, rect, write
from lemel.values import Quantity, Saying
from lemel.words import say

__all__ = ["Kinsman", "Link", "ancestry"]

_COLUMN, _BOX, _GAP, _TOP = 62.0, 40.0, 9.0, 8.0
#: The heaviest body is drawn so high, mm, and none lower than can hold two lines of words.
_TALLEST, _LOWEST = 30.0, 9.5
_SMALL = 3.0


@dataclass(frozen=True, slots=True)
class Kinsman:
    """A bag, heat, bar or piece: its id, what it is in a word, its grams; `suspect` if barred."""

    id: str
    kind: str
    mass_g: float
    suspect: bool = False


@dataclass(frozen=True, slots=True)
class Link:
    """So many grams of `parent` are in `child`."""

    parent: str
    child: str
    mass_g: float


@dataclass(slots=True)
class _Box:
    who: Kinsman
    x: float
    y: float
    high: float
    came: float = 0.0
    went: float = 0.0


def ancestry(
    bodies: Sequence[Kinsman], links: Sequence[Link], *, units: Preference = AS_IT_COMES
) -> Drawing:
    """Bodies in columns by descent, left to right; a ribbon's width is the grams it carries.

    A suspect body has a double edge and says so. `links` must have no circle; links to bodies
    that are not drawn are left away.
    """
    known = {one.id: one for one in bodies}
    own = [one for one in links if one.parent in known and one.child in known]
    columns = _columns(known, own)
    heaviest = max((one.mass_g for one in bodies), default=1.0) or 1.0
    boxes = _boxes(columns, known, heaviest)
    height = _TOP + max((box.y + box.high for box in boxes.values()), default=10.0)
    width = max((box.x + _BOX for box in boxes.values()), default=_BOX) + 0.5
    body = [*_ribbons(own, boxes, heaviest), *_drawn(boxes.values(), units)]
    told = {"bodies": len(bodies), "links": len(own)}
    return Drawing(
        page(width, height, body), width, height, say(Saying("sketch.ancestry.alt", told))
    )


def _columns(known: Mapping[str, Kinsman], links: Sequence[Link]) -> list[list[str]]:
    """By the longest way from a body without parents; a heat stands right of all its bags."""
    depth = dict.fromkeys(known, 0)
    for _ in known:
        moved = False
        for one in links:
            if depth[one.child] <= depth[one.parent]:
                depth[one.child] = depth[one.parent] + 1
                moved = True
        if not moved:
            break
    columns: list[list[str]] = [[] for _ in range(max(depth.values(), default=0) + 1)]
    for name in sorted(known, key=lambda name: (-known[name].mass_g, name)):
        columns[depth[name]].append(name)
    parents: dict[str, list[str]] = {}
    for one in links:
        parents.setdefault(one.child, []).append(one.parent)
    place = {name: n for n, name in enumerate(columns[0])} if columns else {}
    for column in columns[1:]:
        # Near the middle of its parents, so that few ribbons cross.
        column.sort(key=lambda name: _middle([place[p] for p in parents.get(name, ())]))
        place.update({name: n for n, name in enumerate(column)})
    return columns


def _middle(places: Sequence[float]) -> float:
    return sum(places) / len(places) if places else 0.0


def _boxes(
    columns: Sequence[Sequence[str]], known: Mapping[str, Kinsman], heaviest: float
) -> dict[str, _Box]:
    def high(name: str) -> float:
        return max(_LOWEST, _TALLEST * known[name].mass_g / heaviest)

    heights = [sum(high(n) for n in one) + _GAP * (len(one) - 1) for one in columns]
    tallest = max(heights, default=0.0)
    boxes: dict[str, _Box] = {}
    for n, column in enumerate(columns):
        y = _TOP + (tallest - heights[n]) / 2
        for name in column:
            boxes[name] = _Box(known[name], n * _COLUMN + 0.5, y, high(name))
            y += high(name) + _GAP
    return boxes


def _ribbons(links: Sequence[Link], boxes: Mapping[str, _Box], heaviest: float) -> Iterable[str]:
    """Each leaves its parent's right side and enters its child's left, stacked in order."""
    for one in sorted(links, key=lambda one: (boxes[one.child].y, boxes[one.parent].y)):
        parent, child = boxes[one.parent], boxes[one.child]
        wide = max(0.3, _TALLEST * one.mass_g / heaviest)
        begin = parent.y + min(parent.went, max(0.0, parent.high - wide))
        end = child.y + min(child.came, max(0.0, child.high - wide))
        parent.went += wide
        child.came += wide
        yield _ribbon(parent.x + _BOX, begin, child.x, end, wide)


def _ribbon(left: float, begin: float, right: float, end: float, wide: float) -> str:
    """As wide at each place as it is at its ends, with an edge that parts it from the next."""
    middle = (left + right) / 2
    return (
        f'<path d="M {left:.2f} {begin:.2f} C {middle:.2f} {begin:.2f} {middle:.2f} {end:.2f}'
        f" {right:.2f} {end:.2f} V {end + wide:.2f} C {middle:.2f} {end + wide:.2f}"
        f' {middle:.2f} {begin + wide:.2f} {left:.2f} {begin + wide:.2f} Z"'
        f' fill="#c4c4c4" stroke="#4a4a4a" stroke-width="0.15"/>'
    )


def _drawn(boxes: Iterable[_Box], units: Preference) -> Iterable[str]:
    for box in boxes:
        yield rect(box.x, box.y, _BOX, box.high, "white", 0.35)
        if box.who.suspect:
            yield rect(box.x + 0.9, box.y + 0.9, _BOX - 1.8, box.high - 1.8, "none", 0.35)
            yield line((box.x, box.y), (box.x + 4, box.y - 3), 0.35)
            word = say(Saying("sketch.ancestry.suspect"))
            yield write(box.x + 4.6, box.y - 1.6, word, _SMALL, bold=True)
        name = box.who.id.rpartition("/")[2] or box.who.id
        yield write(box.x + 2, box.y + 4.3, _cut(name), bold=True)
        mass = show(Quantity(box.who.mass_g, "g"), units)
        yield write(box.x + 2, box.y + 8.1, f"{box.who.kind} {mass}", _SMALL)


def _cut(text: str) -> str:
    most = 20
    return text if len(text) <= most else f"{text[: most - 1]}…"
