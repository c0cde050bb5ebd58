"""Ways through a graph that are flats all along: straight, or with turns between."""

from __future__ import annotations

from dataclasses import dataclass

from lemel.mill.graph import Graph, Node, Run

__all__ = ["Chain", "chains_of"]


@dataclass(frozen=True, slots=True)
class Chain:
    """Families of flats one after the other; between two of them the sheet is turned.

    `phases` are the nodes of each, thick to thin; `run` the mill that rolls them;
    `soft_depth` where the metal was last soft; `finish_minutes` what is left to cut.
    """

    phases: tuple[tuple[Node, ...], ...]
    run: Run
    soft_depth: float
    finish_minutes: float


def chains_of(graph: Graph) -> list[Chain]:
    """All chains of a graph that consists of nothing else; empty if there is anything else."""
    if not graph.runs or any(run.tool != "flats" for run in graph.runs):
        return []
    if any(link.tool not in ("enter", "turn") for link in graph.links):
        return []
    into = {link.target: link.source for link in graph.links}
    by_end = {run.targets.stop - 1: run for run in graph.runs}
    chains = []
    for terminal in graph.terminals:
        chain = _back(graph, terminal.node, into, by_end)
        if chain is None:
            return []
        phases, run = chain
        chains.append(Chain(phases, run, graph.soft_depth, terminal.finish.minutes))
    return chains


def _back(
    graph: Graph, end: int, into: dict[int, int], by_end: dict[int, Run]
) -> tuple[tuple[tuple[Node, ...], ...], Run] | None:
    """Follow a terminal back to the start; None where a family is not rolled throughout."""
    phases: list[tuple[Node, ...]] = []
    last = by_end.get(end)
    while end != 0:
        run = by_end.get(end)
        if run is None or last is None:
            return None
        phases.append(tuple(graph.nodes[i] for i in range(run.sources.start, end + 1)))
        source = into.get(run.sources.start)
        if source is None:
            return None
        # A turned sheet enters its family through a node of its own.
        end = into.get(source, 0) if source != 0 else 0
    return (tuple(reversed(phases)), last) if last is not None else None
