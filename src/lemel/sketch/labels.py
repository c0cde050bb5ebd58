"""Names at lines: each stands in free space, a thin leader takes it to where its line is alone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

__all__ = ["Frame", "Path", "put_labels"]

#: Points of a line or an obstacle in the plot's own values.
Path = Sequence[tuple[float, float]]

#: Type of 10 points on paper, a little on the wide side: a narrower face leaves more air.
_CHAR_MM = 1.95
_HIGH_MM = 3.6
#: Air about a label, and between a leader and what it passes.
_AIR_MM = 1.0
_PASS_MM = 0.7
#: So near its end a leader may come near to other lines.
_END_MM = 1.2
_LEAST_MM, _MOST_MM = 2.0, 40.0
#: Lines that lie this far apart are told apart at a glance; more brings nothing.
_APART_MM = 4.0
_FINE_MM = 0.5
_GRID_MM = 1.5
_ANCHORS = 24


@dataclass(frozen=True, slots=True)
class Frame:
    """Axes on paper: their size in mm and the values at their edges."""

    width_mm: float
    height_mm: float
    across: tuple[float, float]
    up: tuple[float, float]

    def on_paper(self, path: Path) -> Any:
        """The points in mm from the lower left corner, as an array of two columns."""
        import numpy as np

        points = np.asarray(path, dtype=float).reshape(-1, 2)
        low = np.array((self.across[0], self.up[0]))
        return (points - low) / self._span() * (self.width_mm, self.height_mm)

    def value_at(self, at_mm: Any) -> tuple[float, float]:
        """The values at a point in mm."""
        span = self._span()
        return (
            round(float(self.across[0] + at_mm[0] / self.width_mm * span[0]), 9),
            round(float(self.up[0] + at_mm[1] / self.height_mm * span[1]), 9),
        )

    def _span(self) -> Any:
        import numpy as np

        return np.array((self.across[1] - self.across[0], self.up[1] - self.up[0]))


def put_labels(
    axes: Any, frame: Frame, named: Mapping[str, Path], others: Sequence[Path] = ()
) -> None:
    """Write each name beside its line, clear of all lines, of `others` and of other names.

    Where there is no free place with a straight way to the line, the name takes the place
    that is best without looking at its leader.
    """
    import numpy as np

    lines = {name: _dense(frame.on_paper(path)) for name, path in named.items()}
    taken = [*lines.values(), *(_dense(frame.on_paper(path)) for path in others)]
    for name, line in lines.items():
        rest = [one for one in taken if one is not line]
        half = np.array((len(name) * _CHAR_MM / 2, _HIGH_MM / 2))
        centre, edge, anchor = _place(half, line, rest, frame)
        ends = [frame.value_at(edge), frame.value_at(anchor)]
        axes.plot([x for x, _ in ends], [y for _, y in ends], linewidth=0.6, linestyle="-")
        x, y = frame.value_at(centre)
        axes.text(x, y, name, ha="center", va="center")
        taken.append(_filled(centre, half))
        taken.append(_dense(np.array((edge, anchor))))


def _place(half: Any, line: Any, rest: Sequence[Any], frame: Frame) -> tuple[Any, Any, Any]:
    """Centre of the label, where its leader leaves it, and where it meets the line."""
    import numpy as np

    everything = np.concatenate([line, *rest])
    centres = _free(half, everything, frame)
    anchors = _anchors(line, rest, frame)
    edges = np.clip(anchors[:, None, :2], centres - half, centres + half)
    lengths = np.hypot(*np.moveaxis(edges - anchors[:, None, :2], 2, 0))
    costs = lengths - 2 * np.minimum(anchors[:, 2], _APART_MM)[:, None]
    costs[(lengths < _LEAST_MM) | (lengths > _MOST_MM)] = np.inf
    order = np.argsort(costs, axis=None, kind="stable")
    first: tuple[Any, Any, Any] | None = None
    for flat in order:
        which, where = np.unravel_index(flat, costs.shape)
        if not np.isfinite(costs[which, where]):
            break
        found = centres[where], edges[which, where], anchors[which, :2]
        first = first or found
        if _clear(found[1], found[2], everything):
            return found
    return first or (centres[0], centres[0], anchors[0, :2])


def _free(half: Any, everything: Any, frame: Frame) -> Any:
    """Centres at which a label touches nothing; the middle of the frame if there are none."""
    import numpy as np

    reach = half + _AIR_MM
    size = np.array((frame.width_mm, frame.height_mm))
    across, up = (np.arange(half[i] + 0.5, size[i] - half[i] - 0.5, _GRID_MM) for i in (0, 1))
    grid = np.array([(x, y) for x in across for y in up]).reshape(-1, 2)
    keep = [not np.any(np.all(np.abs(everything - centre) < reach, axis=1)) for centre in grid]
    free = grid[np.array(keep, dtype=bool)]
    return free if len(free) else (size / 2).reshape(1, 2)


def _anchors(line: Any, rest: Sequence[Any], frame: Frame) -> Any:
    """Points of the line with their distance from everything else, away from the edges."""
    import numpy as np

    inside = line[(line[:, 0] > 0.04 * frame.width_mm) & (line[:, 0] < 0.96 * frame.width_mm)]
    inside = inside if len(inside) else line
    some = inside[:: max(1, len(inside) // _ANCHORS)]
    others = np.concatenate(rest) if rest else np.array([(-1e3, -1e3)])
    apart = [np.min(np.hypot(*(others - point).T)) for point in some]
    return np.column_stack((some, apart))


def _clear(edge: Any, anchor: Any, everything: Any) -> bool:
    """Whether the leader passes nothing on its way."""
    import numpy as np

    way = _dense(np.array((edge, anchor)))
    way = way[np.hypot(*(way - anchor).T) > _END_MM]
    return all(np.min(np.hypot(*(everything - point).T)) > _PASS_MM for point in way)


def _filled(centre: Any, half: Any) -> Any:
    """Points all over a label, so that nothing else is put there."""
    import numpy as np

    across, up = (np.arange(-half[i], half[i] + _FINE_MM, _FINE_MM * 2) for i in (0, 1))
    return centre + np.array([(x, y) for x in across for y in up])


def _dense(points: Any) -> Any:
    """The same line with a point at least every half millimetre."""
    import numpy as np

    if len(points) < 2:
        return points
    steps = np.hypot(*np.diff(points, axis=0).T)
    counts = np.maximum(1, np.ceil(steps / _FINE_MM).astype(int))
    parts = [
        points[i] + (points[i + 1] - points[i]) * np.arange(n)[:, None] / n
        for i, n in enumerate(counts)
    ]
    return np.concatenate([*parts, points[-1:]])
