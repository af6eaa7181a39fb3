"""One piece cut otherwise, all else as planned: what that would bring.

With every choice fixed the rest is a linear program whose best value is concave in the choices, so
its duals promise at least what any other choice brings.  Others are tried in the order of what they
promise, until no promise is better than what was found.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from collop.bench.program import Hot, Outcome
from collop.bench.solving import Answer
from collop.bench.ways import Way

__all__ = ["Forced", "Forcing", "Other"]

#: So many are worked out in full for each break, and so many may turn out not to be possible.
_TRIES, _FAILS = 3, 6
_CRUMB = 1e-6
#: Short money weighs so many times itself where something has to be short: bookings come first.
_SHORT = 1000.0


@dataclass(frozen=True, slots=True)
class Other:
    """Something else to do with one piece or large cut.

    Parameters
    ----------
    way : Way, optional
        None is to leave it hanging.
    taken : frozenset of int
        All ways of the plan that has it.
    promised : float
        The most that it could bring beyond the plan, by the duals; under zero is a loss.
    """

    way: Way | None
    taken: frozenset[int]
    promised: float


@dataclass(frozen=True, slots=True)
class Forced:
    """What one other choice brings.

    Parameters
    ----------
    other : Other
        Which.
    loses : float
        Money less than the plan, not under zero.
    values : list of float, shape (columns,)
        Of the plan that has it.
    short : str
        What it would do that the plan does not, e.g. ``leave H9 short``; empty if nothing.
    """

    other: Other
    loses: float
    values: list[float]
    short: str = ""


class Forcing:
    """The program with the plan's choices, in which one thing at a time is done otherwise.

    Parameters
    ----------
    answer : Answer
        The plan; it and its own program are left as they are.
    """

    def __init__(self, answer: Answer) -> None:
        self.answer, self.model = answer, answer.model
        self.chosen = frozenset(answer.chosen)
        self.as_is = _Fixed(answer, self.chosen)
        self.otherwise = _Fixed(answer, self.chosen)
        self._lacking: _Fixed | None = None
        self._values = self._promises()
        self._roots: dict[str, list[int]] = defaultdict(list)
        self._below: dict[int, dict[str, list[int]]] = defaultdict(lambda: defaultdict(list))
        for way in self.model.ways:
            if way.parent is None:
                self._roots[way.tag].append(way.index)
            else:
                self._below[way.parent][way.node].append(way.index)

    def _promises(self) -> list[float]:
        """Return what one of each way brings by the duals, without what comes off it."""
        program, count = self.model.program, len(self.model.ways)
        values = list(program.gains[:count])
        for row, terms in enumerate(program.rows):
            price = self.answer.duals[row]
            if not price or row in self.model.choosing:
                continue
            for column, amount in terms.items():
                if column < count:
                    values[column] -= price * amount
        return values

    def others(self, way: Way) -> list[Other]:
        """Return what else could be done with what `way` cuts: every other style on every day.

        What comes off it is cut in the style that the plan has for it, and in the best by the
        duals.  Where there is no other style, a piece on the rail may be left hanging.
        """
        if way.parent is None:
            rivals: Sequence[int] = self._roots[way.tag]
        else:
            rivals = self._below[way.parent][way.node]
        mine = self._tree(way.index)
        found = [
            other for index in rivals if self.model.ways[index].style.id != way.style.id
            for other in self._other(self.model.ways[index], mine)
        ]  # fmt: skip
        if not found and way.parent is None:
            found = [Other(None, self.chosen - mine, -self._worth(mine))]
        return found

    def breaks(self, tag: str) -> list[Other]:
        """Return each way to break a piece that the plan keeps."""
        return [
            other for index in self._roots[tag]
            for other in self._other(self.model.ways[index], frozenset())
        ]  # fmt: skip

    def _other(self, way: Way, mine: frozenset[int]) -> list[Other]:
        styles = {self.model.ways[one].node: self.model.ways[one].style.id for one in mine}
        found: dict[frozenset[int], Other] = {}
        for keep in (styles, {}):
            worth, ways = self._best_below(way.index, keep)
            taken = (self.chosen - mine).union(ways)
            found.setdefault(taken, Other(way, taken, worth - self._worth(mine)))
        return list(found.values())

    def _worth(self, ways: Iterable[int]) -> float:
        return sum(self._values[index] for index in sorted(ways))

    def _tree(self, index: int) -> frozenset[int]:
        """Return a way of the plan and all that it takes of what comes off it."""
        found = [index]
        for ways in self._below.get(index, {}).values():
            for below in ways:
                if below in self.chosen:
                    found += self._tree(below)
        return frozenset(found)

    def _best_below(self, index: int, styles: Mapping[str, str]) -> tuple[float, list[int]]:
        """Return what a way brings with all that comes off it, and those ways.

        `styles` keeps a node to a style where it can be cut so.
        """
        total, taken = self._values[index], [index]
        for node, ways in self._below.get(index, {}).items():
            kept = [one for one in ways if self.model.ways[one].style.id == styles.get(node)]
            tried = [self._best_below(one, styles) for one in kept or ways]
            worth, below = max(tried, key=lambda pair: pair[0])
            total += worth
            taken += below
        return total, taken

    def best(self, others: Sequence[Other]) -> Forced | None:
        """Return the other choice that loses least; one that leaves a booking short if no other.

        None if nothing else can be done, for want of minutes.
        """
        found: Forced | None = None
        fails: list[Other] = []
        tries = 0
        for other in sorted(others, key=_order):
            if tries == _TRIES or (found and found.loses <= -other.promised + _CRUMB):
                break
            outcome = self.otherwise.at(other.taken)
            if not outcome.values:
                fails.append(other)
                if len(fails) == _FAILS:
                    break
                continue
            tries += 1
            loses = max(0.0, self.answer.objective - outcome.objective)
            if found is None or loses < found.loses - _CRUMB:
                found = Forced(other, loses, outcome.values)
        if found is not None:
            return found
        return next((one for one in map(self._short, fails) if one is not None), None)

    def _short(self, other: Other) -> Forced | None:
        """Return a choice whose bookings may fall short; None if it cannot be done even so."""
        if self._lacking is None:
            self._lacking = _Fixed(self.answer, self.chosen)
            self._lacking.open_shortage()
        values = self._lacking.at(other.taken).values
        if not values:
            return None
        program = self.model.program
        brings = program.constant + sum(
            gain * value for gain, value in zip(program.gains, values, strict=True) if gain
        )
        loses = max(0.0, self.answer.objective - brings)
        return Forced(other, loses, values, self._who(values))

    def _who(self, values: Sequence[float]) -> str:
        model, before = self.model, self.answer.values
        for (at, _), column in model.short.items():
            if values[column] > before[column] + _CRUMB:
                return f"leave {model.problem.bookings[at].id} short"
        for tag, column in model.missed.items():
            if values[column] > before[column] + _CRUMB:
                piece = next(one for one in model.problem.rail if one.tag == tag)
                claims = sorted(piece.claims, key=lambda one: one.due)
                return f"leave {claims[0].booking} short" if claims else f"leave {tag} too late"
        return "overfill the case"


def _order(other: Other) -> tuple[float, str, int]:
    """Most promised first; of like promises the first by style and day."""
    way = other.way
    name, day = ("", -1) if way is None else (way.style.id, way.day)
    return -round(other.promised, 5), name, day


class _Fixed:
    """A program whose ways are fixed, and fixed anew with few changes."""

    def __init__(self, answer: Answer, taken: frozenset[int]) -> None:
        self.model, self.hot, self.taken = answer.model, Hot(answer.model.program), taken
        for way in self.model.ways:
            value = 1.0 if way.index in taken else 0.0
            self.hot.bound(way.index, value, value)

    def at(self, taken: frozenset[int]) -> Outcome:
        """Solve with exactly these ways taken."""
        for index in sorted(taken ^ self.taken):
            value = 1.0 if index in taken else 0.0
            self.hot.bound(index, value, value)
        self.taken = taken
        return self.hot.solve()

    def open_shortage(self) -> None:
        """Let all be short, and the case overflow, at many times its money."""
        model, program = self.model, self.model.program
        for (at, line), column in model.short.items():
            self.hot.bound(column, 0.0, float(model.problem.bookings[at].lines[line].weight))
        for column in model.missed.values():
            self.hot.bound(column, 0.0, 1.0)
        for column in model.over.values():
            self.hot.bound(column, 0.0, math.inf)
        for column, cost in enumerate(model.short_cost()):
            if cost:
                self.hot.gain(column, program.gains[column] + _SHORT * cost)
        if model.cap is not None:
            self.hot.sides(model.cap, -math.inf, math.inf)
