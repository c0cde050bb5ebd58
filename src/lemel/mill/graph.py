"""The graph that the route is searched in: sizes as nodes, tools as runs and links.

Nodes stand in the order in which they can be visited. A `Run` is a tool that takes a node
to any later node of its range, as long as the limits hold; on such a range harder steps
come later, so what is feasible is a beginning of the range. A `Link` is one single step.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from lemel.values import Mill

__all__ = ["Finish", "Graph", "Link", "Node", "Run", "Terminal"]


@dataclass(frozen=True, slots=True)
class Node:
    """A shape and size of the metal.

    `depth` is a potential: the strain between two nodes is the difference of their depths.
    `tool_mm` the groove, gap or hole that makes it; `closed`: a leg may end here.
    `pieces` bars travel together, `volume_mm3` in all. `cell` is how much less deep the
    sizes are that the node stands for when a bound is sought (0: itself alone).
    """

    shape: str
    height_mm: float
    width_mm: float
    area_mm2: float
    depth: float
    tool_mm: float
    volume_mm3: float
    closed: bool = True
    pieces: int = 1
    cell: float = 0.0

    @property
    def length_mm(self) -> float:
        """Length of each piece, from its volume."""
        return self.volume_mm3 / self.area_mm2 / self.pieces


@dataclass(frozen=True, slots=True)
class Run:
    """A tool over ranges of nodes: from any of `sources` to a later one of `targets`."""

    tool: str
    mill: Mill | None
    sources: range
    targets: range


@dataclass(frozen=True, slots=True)
class Link:
    """One step from a node to another.

    tool "enter" costs nothing and is not printed; "turn" turns a sheet; "hole" draws with
    at most `reduction` of area taken; "slit" and "disc" cut. `minutes` are beside the tool's own.
    """

    source: int
    target: int
    tool: str
    minutes: float = 0.0
    reduction_most: float = 1.0


@dataclass(frozen=True, slots=True)
class Finish:
    """What is done to the last shape: nothing, cut into strips, file to shape, trim a disc.

    `keep` is the share of the metal that becomes stock before crops, `filed` the share
    that is filed away; `pieces` how many equal strips.
    """

    kind: str = "none"
    pieces: int = 1
    keep: float = 1.0
    filed: float = 0.0
    minutes: float = 0.0


@dataclass(frozen=True, slots=True)
class Terminal:
    """A node that is the wanted stock, with the finish it needs."""

    node: int
    finish: Finish


@dataclass(slots=True)
class Graph:
    """Nodes, runs, links, terminals; the first node is the metal as it lies there.

    `soft_depth` is the depth at which the metal was last soft (or cast), `cast` whether
    that was the casting, `unknown` whether its history is not known. `short` are ends
    that leave too little stock for the need.
    """

    nodes: list[Node] = field(default_factory=list)
    runs: list[Run] = field(default_factory=list)
    links: list[Link] = field(default_factory=list)
    terminals: list[Terminal] = field(default_factory=list)
    short: list[Terminal] = field(default_factory=list)
    soft_depth: float = 0.0
    cast: bool = False
    unknown: bool = False

    def add(self, *nodes: Node) -> range:
        """Append nodes in visiting order; their indices."""
        first = len(self.nodes)
        self.nodes.extend(nodes)
        return range(first, len(self.nodes))

    def run(self, tool: str, mill: Mill | None, sources: range, targets: range) -> None:
        """Add a tool over ranges that are not empty."""
        if len(sources) and len(targets):
            self.runs.append(Run(tool, mill, sources, targets))
