"""A good answer before the proof: round the relaxed program, then change one piece at a time.

With every choice fixed, the rest is a linear program whose best value is concave in the choices.
So its duals bound what a single change can bring: where they promise nothing, no change of one
piece helps, and where they promise most, it is worth a look.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from collop.bench.model import Model
from collop.bench.program import Hot, Outcome

__all__ = ["SHORT", "Search", "searched"]

#: Short money weighs so many times itself while looking: bookings come first.
SHORT = 1000.0
_GAIN = 1e-6
_PASSES = 12
_TRIES = 40


@dataclass(slots=True)
class Search:
    """The best choices found, and the columns' values with them.

    Parameters
    ----------
    taken : frozenset of int
        Ways.
    values : list of float, shape (columns,)
        Empty if no answer was found.
    relaxed : Outcome
        The relaxed program: no plan is better than its objective, short money weighed in.
    """

    taken: frozenset[int]
    values: list[float]
    relaxed: Outcome
    tries: int = 0


@dataclass(slots=True)
class _Tree:
    """Ways by piece and by what they come off."""

    model: Model
    roots: dict[str, list[int]] = field(default_factory=lambda: defaultdict(list))
    below: dict[int, dict[str, list[int]]] = field(default_factory=dict)
    cells: list[list[tuple[int, float]]] = field(default_factory=list)

    def __post_init__(self) -> None:
        for way in self.model.ways:
            if way.parent is None:
                self.roots[way.tag].append(way.index)
            else:
                groups = self.below.setdefault(way.parent, defaultdict(list))
                groups[way.node].append(way.index)
        count = len(self.model.ways)
        self.cells = [[] for _ in range(count)]
        for row, terms in enumerate(self.model.program.rows):
            if row in self.model.choosing:
                continue
            for column, value in terms.items():
                if column < count:
                    self.cells[column].append((row, value))

    def values(self, gains: list[float], duals: list[float]) -> list[float]:
        """Return what one of each way brings by the duals, without what comes off it."""
        return [
            gains[index] - sum(duals[row] * value for row, value in cells)
            for index, cells in enumerate(self.cells)
        ]

    def best_below(self, way: int, values: list[float]) -> tuple[float, list[int]]:
        """Return a way's value with the best ways for all that comes off it, and those ways."""
        total, taken = values[way], [way]
        for ways in self.below.get(way, {}).values():
            found = max((self.best_below(one, values) for one in ways), key=lambda pair: pair[0])
            total += found[0]
            taken += found[1]
        return total, taken

    def with_below(self, way: int, taken: frozenset[int]) -> list[int]:
        """Return a way that is taken, and all that is taken of what comes off it."""
        found = [way]
        for ways in self.below.get(way, {}).values():
            found += self.with_below(next(one for one in ways if one in taken), taken)
        return found

    def of_piece(self, tag: str, taken: Iterable[int]) -> list[int]:
        """Return the ways taken of a piece, that of the piece itself first."""
        return sorted(index for index in taken if self.model.ways[index].tag == tag)


class _Looking:
    def __init__(self, model: Model) -> None:
        self.model, self.tree = model, _Tree(model)
        self.gains = list(model.program.gains)
        short = model.short_cost()
        self.short = short
        for column, gain in enumerate(short):
            if gain:
                self.gains[column] += SHORT * gain
        self.hot = Hot(model.program, self.gains)
        self.fixed = [(0.0, 1.0)] * len(model.ways)
        self.tries = 0

    def at(self, taken: frozenset[int]) -> Outcome:
        """Solve with exactly these ways taken."""
        for index in range(len(self.model.ways)):
            value = 1.0 if index in taken else 0.0
            if self.fixed[index] != (value, value):
                self.fixed[index] = (value, value)
                self.hot.bound(index, value, value)
        self.tries += 1
        return self.hot.solve()

    def rounded(self, relaxed: Outcome) -> frozenset[int]:
        """Return for each piece the way that the relaxed answer likes most, if it likes any."""
        taken: set[int] = set()
        values = relaxed.values

        def down(way: int) -> None:
            taken.add(way)
            for ways in self.tree.below.get(way, {}).values():
                down(max(ways, key=lambda one: values[one]))

        for ways in self.tree.roots.values():
            if sum(values[way] for way in ways) > 0.5:
                down(max(ways, key=lambda way: values[way]))
        return frozenset(taken)

    def fewer(self, taken: frozenset[int], relaxed: Outcome) -> frozenset[int]:
        """Leave pieces hanging until the rest can be done; those first that are liked least."""
        liked = {
            tag: sum(relaxed.values[way] for way in ways) for tag, ways in self.tree.roots.items()
        }
        for tag in sorted(liked, key=lambda one: (liked[one], one)):
            if self.at(taken).values:
                break
            taken = taken.difference(self.tree.of_piece(tag, taken))
        return taken

    def moves(
        self, taken: frozenset[int], duals: list[float]
    ) -> list[tuple[float, frozenset[int]]]:
        """Return changes of one piece, or of one large cut, that the duals promise a gain from.

        The best first.
        """
        values = self.tree.values(self.gains, duals)
        found = [
            (worth, taken.difference(old).union(new))
            for old, options in self._places(taken)
            for worth, new in self._better(old, options, values)
        ]
        return sorted(found, key=lambda one: (-one[0], sorted(one[1])))

    def _places(self, taken: frozenset[int]) -> Iterator[tuple[list[int], list[int]]]:
        """Yield what may be changed: the ways taken there, and those that could be."""
        for tag, ways in self.tree.roots.items():
            yield self.tree.of_piece(tag, taken), ways
        for way in sorted(taken):
            for ways in self.tree.below.get(way, {}).values():
                now = next(one for one in ways if one in taken)
                yield self.tree.with_below(now, taken), ways

    def _better(
        self, old: list[int], options: list[int], values: list[float]
    ) -> Iterator[tuple[float, list[int]]]:
        now = sum(values[index] for index in old)
        if old and self.model.ways[old[0]].parent is None and -now > _GAIN:
            yield -now, []
        for way in options:
            worth, new = self.tree.best_below(way, values)
            if worth > now + _GAIN and set(new) != set(old):
                yield worth - now, new

    def climb(self, taken: frozenset[int]) -> tuple[frozenset[int], Outcome]:
        """Change one piece after the other while it helps."""
        best = self.at(taken)
        for _ in range(_PASSES * max(1, len(self.tree.roots))):
            if not best.values:
                break
            for promised, new in self.moves(taken, best.duals)[:_TRIES]:
                tried = self.at(new)
                if tried.values and tried.objective > best.objective + max(_GAIN, promised * 1e-3):
                    taken, best = new, tried
                    break
            else:
                break
        return taken, best


def searched(model: Model, start: frozenset[int] | None = None) -> Search:
    """Look for a good answer, from `start` or from the relaxed program.

    Short money weighs a thousand times itself, so what can be met is met first.
    """
    looking = _Looking(model)
    relaxed = looking.hot.solve()
    if not relaxed.values:
        return Search(frozenset(), [], relaxed)
    rounded = looking.rounded(relaxed)
    begun = rounded if start is None else start
    if not looking.at(begun).values:
        begun = looking.fewer(rounded, relaxed)
    taken, best = looking.climb(begun)
    return Search(taken, best.values, relaxed, looking.tries)
