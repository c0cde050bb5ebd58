"""One pair of hands: acts that need them are put one after another so that the day is shortest."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

__all__ = ["Act", "Chain", "Timing", "in_turn"]

#: Two moments closer than this are the same, min.
SAME = 1e-9


@dataclass(frozen=True, slots=True)
class Act:
    """Something that needs the hands for `minutes` without a break.

    The next act of its chain, or the end of the day, comes `lag_min` after it at the earliest.
    `after` names acts of other chains (chain, place in it) and the minutes that must lie between
    their end and this one's start. From its start it `takes` a place that holds one thing at a
    time, or at its end `frees` one. An `urgent` act should not wait once its own chain is ready
    for it: metal is hot. A `late` act is begun as late as costs nothing: what comes of it would
    only wait.
    """

    minutes: float
    lag_min: float = 0.0
    after: tuple[tuple[int, int, float], ...] = ()
    takes: str = ""
    frees: str = ""
    urgent: bool = False
    late: bool = False


Chain = Sequence[Act]


@dataclass(frozen=True, slots=True)
class Timing:
    """When each act of each chain begins, in min from the first; no other order is shorter.

    `order` names the chain of each act in the order of the hands. `proven` False: the search
    was ended by its limit, and only `least_min` is certain.
    `waited_min` is what urgent acts waited, which is the least for this length.
    """

    starts: tuple[tuple[float, ...], ...]
    order: tuple[int, ...]
    length_min: float
    waited_min: float
    least_min: float
    proven: bool


class _Label(NamedTuple):
    """Some acts done: when the hands and each chain are ready, and how it came to be."""

    at: tuple[int, ...]
    hands: float
    ready: tuple[float, ...]
    ends: tuple[float, ...]
    waited: float
    held: frozenset[str]
    before: _Label | None
    began: tuple[int, float]

    def no_worse_than(self, other: _Label) -> bool:
        """With the same acts done, nothing is ready later and no metal waited longer."""
        return (
            self.hands <= other.hands + SAME
            and self.waited <= other.waited + SAME
            and all(a <= b + SAME for a, b in zip(self.ready, other.ready, strict=True))
            and all(a <= b + SAME for a, b in zip(self.ends, other.ends, strict=True))
        )


def in_turn(
    chains: Sequence[Chain], *, most: int = 5000, order: Sequence[int] | None = None
) -> Timing:
    """The shortest day in which the hands do one act at a time, and who begins when.

    Each act begins as soon as hands, chain, places and what it comes `after` allow, in some
    order; for a length that only grows when an act is delayed one of these orders is best. All
    are searched, branch and bound, except those that are no better than one already seen
    (everything done is the same, and nothing is ready earlier). Among equally short days the one
    with the least waiting of hot metal. Past `most` partial orders the best so far is given.
    With an `order` that one alone is timed.

    Two bars of 2 + 10 min, and the hands between them:

    >>> in_turn([[Act(2, 10)], [Act(2, 10)]]).length_min
    14.0
    """
    search = _Search(chains, most, order)
    search.go()
    return search.timing()


class _Search:
    """Labels still to be gone on from, the best whole day, and what was seen on the way."""

    def __init__(self, chains: Sequence[Chain], most: int, order: Sequence[int] | None) -> None:
        self.chains, self.most, self.order = chains, most, order
        self.best: _Label | None = None
        self.cost = (float("inf"), float("inf"))
        named = [gate[:2] for chain in chains for act in chain for gate in act.after]
        self.watched = {name: n for n, name in enumerate(dict.fromkeys(named))}
        self.tails: dict[tuple[int, int], float] = {}
        for c, chain in enumerate(chains):
            for i in range(len(chain)):
                self._tail(c, i)
        self.work = [_left(chain) for chain in chains]
        self.seen: dict[tuple[int, ...], list[_Label]] = {}
        none = (0.0,) * len(chains)
        ends = (0.0,) * len(self.watched)
        self.root = _Label(
            (0,) * len(chains), 0.0, none, ends, 0.0, frozenset(), None, (0, 0.0)
        )  # fmt: skip
        self.least = self._bound(self.root)

    def go(self) -> None:
        """Depth first, the likeliest first; done when all is searched or the limit is met."""
        stack, tried = [self.root], 0
        while stack and (tried < self.most or self.best is None):
            label = stack.pop()
            if not self._better(self._bound(label), label.waited):
                continue
            known = self.seen.setdefault(label.at, [])
            if any(one.no_worse_than(label) for one in known):
                continue
            tried += 1
            known.append(label)
            found = sorted(self._next(label), key=lambda pair: pair[0], reverse=True)
            if not found and self._better(max(label.ready), label.waited):
                self.best, self.cost = label, (max(label.ready), label.waited)
            stack += [one for _, one in found]
        if not stack and self.order is None:
            self.least = self.cost[0]

    def _better(self, length: float, waited: float) -> bool:
        shortest, least_wait = self.cost
        if length > shortest - SAME:
            return length < shortest + SAME and waited < least_wait - SAME
        return True

    def timing(self) -> Timing:
        """The best label as moments."""
        assert self.best is not None
        starts: list[list[float]] = [[] for _ in self.chains]
        order: list[int] = []
        label = self.best
        while label.before is not None:
            chain, start = label.began
            starts[chain].append(start)
            order.append(chain)
            label = label.before
        in_order = tuple(reversed(order))
        moments = [list(reversed(one)) for one in starts]
        if any(act.late for chain in self.chains for act in chain):
            _begin_late(self.chains, moments, in_order)
        length = self.cost[0]
        return Timing(
            tuple(map(tuple, moments)),
            in_order,
            length,
            _waited(self.chains, moments),
            self.least,
            length <= self.least + SAME,
        )

    def _tail(self, c: int, i: int) -> float:
        """Least minutes from the start of an act to the end of everything that hangs on it."""
        if (c, i) not in self.tails:
            act, chain = self.chains[c][i], self.chains[c]
            rest = act.lag_min + (self._tail(c, i + 1) if i + 1 < len(chain) else 0.0)
            for other, acts in enumerate(self.chains):
                for k, later in enumerate(acts):
                    for gate in later.after:
                        if gate[:2] == (c, i):
                            rest = max(rest, gate[2] + self._tail(other, k))
            self.tails[c, i] = act.minutes + rest
        return self.tails[c, i]

    def _bound(self, label: _Label) -> float:
        """No way to go on ends the day earlier."""
        found, work, last = 0.0, 0.0, float("inf")
        for c, chain in enumerate(self.chains):
            i = label.at[c]
            if i == len(chain):
                found = max(found, label.ready[c])
                continue
            found = max(found, max(label.hands, label.ready[c]) + self.tails[c, i])
            work += self.work[c][i]
            last = min(last, chain[-1].lag_min)
        return max(found, label.hands + work + last) if work else found

    def _next(self, label: _Label) -> Iterator[tuple[tuple[float, int], _Label]]:
        """Every act that may come next, with how early it should be tried."""
        wanted = None if self.order is None else self.order[sum(label.at) :][:1]
        for c, chain in enumerate(self.chains):
            i = label.at[c]
            if i == len(chain) or chain[i].takes in label.held:
                continue
            act = chain[i]
            if wanted is not None and c not in wanted:
                continue
            if any(label.at[other] <= place for other, place, _ in act.after):
                continue
            gates = (label.ends[self.watched[o, p]] + gap for o, p, gap in act.after)
            start = max(label.hands, label.ready[c], *gates, 0.0)
            end = start + act.minutes
            n = self.watched.get((c, i))
            made = _Label(
                (*label.at[:c], i + 1, *label.at[c + 1 :]),
                end,
                (*label.ready[:c], end + act.lag_min, *label.ready[c + 1 :]),
                label.ends if n is None else (*label.ends[:n], end, *label.ends[n + 1 :]),
                label.waited + (start - label.ready[c] if act.urgent else 0.0),
                (label.held | ({act.takes} if act.takes else set())) - {act.frees},
                label,
                (c, start),
            )
            # Hot metal goes before work that would keep it waiting, then heat by heat.
            yield (start if act.urgent else end, c), made


def _left(chain: Chain) -> tuple[float, ...]:
    """Minutes of the hands that are left at each place of a chain."""
    return tuple(sum(act.minutes for act in chain[i:]) for i in range(len(chain) + 1))


def _waited(chains: Sequence[Chain], starts: Sequence[Sequence[float]]) -> float:
    """What urgent acts wait in all after their own chain is ready for them."""
    found = 0.0
    for chain, begins in zip(chains, starts, strict=True):
        ready = 0.0
        for act, start in zip(chain, begins, strict=True):
            found += start - ready if act.urgent else 0.0
            ready = start + act.minutes + act.lag_min
    return found


def _begin_late(chains: Sequence[Chain], starts: list[list[float]], order: Sequence[int]) -> None:
    """Move late acts towards what waits for them, the order kept and all others where they are."""
    done = [0] * len(chains)
    places = []
    for c in order:
        places.append((c, done[c]))
        done[c] += 1
    hands = float("inf")
    for c, i in reversed(places):
        act = chains[c][i]
        if act.late:
            limits = [hands, *_next_of(chains, starts, c, i)]
            if min(limits) < float("inf"):
                starts[c][i] = max(starts[c][i], min(limits) - act.minutes)
        hands = starts[c][i]
    free = 0.0
    for c, i in places:
        act = chains[c][i]
        if act.late and act.urgent and i:
            before = chains[c][i - 1]
            starts[c][i] = max(free, starts[c][i - 1] + before.minutes + before.lag_min)
        free = starts[c][i] + act.minutes


def _next_of(
    chains: Sequence[Chain], starts: Sequence[Sequence[float]], c: int, i: int
) -> Iterator[float]:
    """When an act must be over for what hangs on it: the next of its chain, and any gate."""
    if i + 1 < len(chains[c]):
        yield starts[c][i + 1] - chains[c][i].lag_min
    for other, chain in enumerate(chains):
        for k, later in enumerate(chain):
            for gate in later.after:
                if gate[:2] == (c, i):
                    yield starts[other][k] - gate[2]
