"""The plan in whole thousandths: stock by age, first past its day used first, nothing lost.

The solver's figures are only wishes here.  Day by day, what is cut comes in exactly as weighed out,
bookings are served first, sales and grinding are cut off at the thousandth and at what is there,
what is past its day is spoilt, and the rest stays on hand.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction

from collop.bench.problem import BenchProblem, Lot, Make
from collop.bench.solving import Answer
from collop.bench.ways import STEP, Way

__all__ = ["CutDay", "Flows", "Grind", "MadeBatch", "Source", "Stock", "flows_of"]

_NONE = Fraction(0)


@dataclass(frozen=True, slots=True)
class Source:
    """Where weight came from: a way, a make (index, day), or the case on day 0."""

    way: int | None = None
    make: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True)
class Use:
    """Weight of one source that went one way on a day.

    `what` is ``booking``, ``sale``, ``ground``, ``spoilt``, ``left``, ``made`` or ``sold``;
    `booking` is (booking, line) of a booking, `step` the price step of a sale.
    """

    source: Source
    what: str
    day: int
    weight: Fraction
    booking: tuple[int, int] | None = None
    step: int | None = None


@dataclass(slots=True)
class CutDay:
    """What happened to one cut or bin on one day; weights."""

    came: Fraction = _NONE
    booked: Fraction = _NONE
    sold: dict[int, Fraction] = field(default_factory=dict)
    ground: Fraction = _NONE
    used: Fraction = _NONE
    spoilt: Fraction = _NONE
    on_hand: Fraction = _NONE


@dataclass(slots=True)
class Stock:
    """Stock of one cut or bin by the day it may last be used; the soonest first."""

    lots: deque[tuple[int, Fraction, Source]] = field(default_factory=deque)
    days: list[CutDay] = field(default_factory=list)
    uses: list[Use] = field(default_factory=list)

    @property
    def total(self) -> Fraction:
        """Return what is on hand."""
        return sum((weight for _, weight, _ in self.lots), _NONE)

    def bring(self, last: int, weight: Fraction, source: Source) -> None:
        """Put weight in that may be used up to `last`."""
        if weight <= 0:
            return
        at = len(self.lots)
        while at and self.lots[at - 1][0] > last:
            at -= 1
        self.lots.insert(at, (last, weight, source))

    def take(self, weight: Fraction, use: Use) -> Fraction:
        """Take up to so much, oldest first; return what was there to take."""
        wanted = weight
        while wanted > 0 and self.lots:
            last, there, source = self.lots.popleft()
            some = min(wanted, there)
            if some < there:
                self.lots.appendleft((last, there - some, source))
            wanted -= some
            self.uses.append(Use(source, use.what, use.day, some, use.booking, use.step))
        return weight - wanted

    def spoil(self, day: int) -> Fraction:
        """Take out what may not be used after `day`."""
        gone = _NONE
        while self.lots and self.lots[0][0] <= day:
            _, weight, source = self.lots.popleft()
            gone += weight
            self.uses.append(Use(source, "spoilt", day, weight))
        return gone


@dataclass(frozen=True, slots=True)
class Grind:
    """A cut that went to a bin."""

    cut: str
    bin: str
    day: int
    weight: Fraction
    gives: Fraction


@dataclass(frozen=True, slots=True)
class MadeBatch:
    """Trim that became mince or links: weight of each bin, and what came of it."""

    make: int
    day: int
    takes: tuple[tuple[str, Fraction], ...]
    meat: Fraction
    finished: Fraction


@dataclass(slots=True)
class Flows:
    """The whole plan in exact weights.

    `met` is by (booking, line).
    """

    ways: tuple[Way, ...]
    cuts: dict[str, Stock]
    bins: dict[str, Stock]
    grinds: list[Grind]
    batches: list[MadeBatch]
    met: dict[tuple[int, int], Fraction]


def _down(value: float | Fraction) -> Fraction:
    """Cut off at the thousandth; what is within a millionth of one counts as it."""
    steps = Fraction(value) / STEP + Fraction(1, 1000)
    return (steps.numerator // steps.denominator) * STEP


def _up(value: float) -> Fraction:
    steps = Fraction(value) / STEP - Fraction(1, 1000)
    return -(-steps.numerator // steps.denominator) * STEP


def _opening(lots: Iterable[Lot]) -> Stock:
    stock = Stock()
    for lot in lots:
        stock.bring(lot.days_left, lot.weight, Source())
    return stock


class _Walk:
    """One walk through the days."""

    def __init__(self, answer: Answer) -> None:
        self.answer, self.model = answer, answer.model
        self.problem: BenchProblem = answer.model.problem
        chosen = tuple(self.model.ways[index] for index in answer.chosen)
        self.flows = Flows(
            chosen,
            {key: _opening(cut.stock) for key, cut in self.problem.cuts.items()},
            {key: _opening(one.stock) for key, one in self.problem.bins.items()},
            [], [], {},
        )  # fmt: skip
        self.needs = self._needs()

    def _value(self, column: int) -> float:
        return max(0.0, self.answer.values[column])

    def _needs(self) -> dict[str, list[Fraction]]:
        """Return what each cut must keep back at night for later bookings, shape (days,)."""
        days = self.model.days
        due: dict[str, list[Fraction]] = {key: [_NONE] * days for key in self.problem.cuts}
        for at, booking in enumerate(self.problem.bookings):
            for number, line in enumerate(booking.lines):
                short = _down(self._value(self.model.short[at, number]))
                due[line.cut][booking.due] += line.weight - short
        comes: dict[str, list[Fraction]] = {key: [_NONE] * days for key in self.problem.cuts}
        for way in self.flows.ways:
            for output, weight in way.parts:
                if output.to == "cut":
                    comes[output.id][way.day] += way.to_free(weight)
        for (at, day, _), column in self.model.made.items():
            make = self.problem.makes[at]
            more = _down(self._value(column) / (1 - float(make.added)))
            comes[make.cut][day] += max(_NONE, more - STEP)
        needs = {}
        for key in self.problem.cuts:
            night = needs[key] = [_NONE] * days
            for day in range(days - 2, -1, -1):
                after = night[day + 1] + due[key][day + 1] - comes[key][day + 1]
                night[day] = max(_NONE, after)
        return needs

    def go(self) -> Flows:
        for day in range(self.model.days):
            for stock in (*self.flows.cuts.values(), *self.flows.bins.values()):
                stock.days.append(CutDay())
            self._cut(day)
            self._grind(day)
            self._make(day)
            self._serve(day)
            self._sell(day)
            self._sell_trim(day)
            self._night(day)
        last = self.model.days - 1
        for stock in (*self.flows.cuts.values(), *self.flows.bins.values()):
            stock.uses += [Use(source, "left", last, w) for _, w, source in stock.lots]
        return self.flows

    def _cut(self, day: int) -> None:
        for way in self.flows.ways:
            if way.day != day:
                continue
            for output, weight in way.parts:
                if output.to not in {"cut", "bin"}:
                    continue
                is_cut = output.to == "cut"
                stock = (self.flows.cuts if is_cut else self.flows.bins)[output.id]
                kept = (self.problem.cuts if is_cut else self.problem.bins)[output.id].keeps_days
                free = way.to_free(weight)
                stock.bring(day + kept, free, Source(way=way.index))
                stock.days[day].came += free

    def _due_today(self, key: str, day: int) -> Fraction:
        return sum(
            (line.weight - _down(self._value(self.model.short[at, number]))
             for at, booking in enumerate(self.problem.bookings) if booking.due == day
             for number, line in enumerate(booking.lines) if line.cut == key), _NONE,
        )  # fmt: skip

    def _grind(self, day: int) -> None:
        for key, shelf in self.model.cuts.items():
            ground = self.problem.cuts[key].ground
            if ground is None or self._value(shelf.ground[day]) * 1000 < 1:
                continue
            stock = self.flows.cuts[key]
            spare = stock.total - self._due_today(key, day) - self.needs[key][day]
            wanted = min(_down(self._value(shelf.ground[day])), max(_NONE, spare))
            gives = _down(wanted * ground.gives)
            if gives <= 0:
                continue
            stock.take(wanted, Use(Source(), "ground", day, wanted))
            stock.days[day].ground += wanted
            bin_ = self.problem.bins[ground.bin]
            target = self.flows.bins[bin_.id]
            target.bring(day + bin_.keeps_days, gives, Source())
            target.days[day].came += gives
            self.flows.grinds.append(Grind(key, bin_.id, day, wanted, gives))

    def _make(self, day: int) -> None:
        for at, make in enumerate(self.problem.makes):
            takes = {}
            for name in make.bins:
                wish = self._value(self.model.made[at, day, name])
                if wish > 1e-6:
                    takes[name] = min(_up(wish), self.flows.bins[name].total)
            takes = self._within_fat(make, takes)
            meat = sum(takes.values(), _NONE)
            finished = _down(meat / (1 - make.added))
            if finished <= 0:
                continue
            for name, weight in takes.items():
                stock = self.flows.bins[name]
                stock.take(weight, Use(Source(), "made", day, weight))
                stock.days[day].used += weight
            keeps = self.problem.cuts[make.cut].keeps_days
            cut = self.flows.cuts[make.cut]
            cut.bring(day + keeps, finished, Source(make=(at, day)))
            cut.days[day].came += finished
            kept = tuple(sorted((name, weight) for name, weight in takes.items() if weight))
            self.flows.batches.append(MadeBatch(at, day, kept, meat, finished))

    def _within_fat(self, make: Make, takes: dict[str, Fraction]) -> dict[str, Fraction]:
        """Take off thousandths until the share of fat is within its limits."""
        fats = {name: self.problem.bins[name].fat for name in takes}

        def over() -> Fraction:
            return sum((w * (fats[n] - make.fat_max) for n, w in takes.items()), _NONE)  # type: ignore[operator]

        def under() -> Fraction:
            return sum((w * (make.fat_min - fats[n]) for n, w in takes.items()), _NONE)  # type: ignore[operator]

        if make.fat_max is not None:
            while (extra := over()) > 0:
                fattest = max((n for n in takes if takes[n]), key=lambda n: (fats[n], n))
                off = extra / (fats[fattest] - make.fat_max)
                takes[fattest] = max(_NONE, takes[fattest] - _up(float(off)) - STEP)
        if make.fat_min is not None:
            while (lack := under()) > 0:
                leanest = min((n for n in takes if takes[n]), key=lambda n: (fats[n], n))
                off = lack / (make.fat_min - fats[leanest])
                takes[leanest] = max(_NONE, takes[leanest] - _up(float(off)) - STEP)
        return takes

    def _serve(self, day: int) -> None:
        """Serve each line what the answer gives it, then what is still there."""
        due = [
            (at, number, line)
            for at, booking in enumerate(self.problem.bookings) if booking.due == day
            for number, line in enumerate(booking.lines)
        ]  # fmt: skip
        met = {}
        for at, number, line in due:
            short = _down(self._value(self.model.short[at, number]))
            met[at, number] = self._give(day, (at, number), line.cut, line.weight - short)
        for at, number, line in due:
            stock = self.flows.cuts[line.cut]
            spare = max(_NONE, stock.total - self.needs[line.cut][day])
            more = min(line.weight - met[at, number], spare)
            if more > 0:
                met[at, number] += self._give(day, (at, number), line.cut, more)
        self.flows.met.update(met)

    def _give(self, day: int, line: tuple[int, int], cut: str, weight: Fraction) -> Fraction:
        stock = self.flows.cuts[cut]
        given = stock.take(weight, Use(Source(), "booking", day, weight, line))
        stock.days[day].booked += given
        return given

    def _sell(self, day: int) -> None:
        for key, shelf in self.model.cuts.items():
            stock = self.flows.cuts[key]
            spare = max(_NONE, stock.total - self.needs[key][day])
            for step in range(len(self.problem.cuts[key].steps)):
                column = shelf.sold.get((day, step))
                if column is None:
                    continue
                weight = min(_down(self._value(column)), spare)
                if weight <= 0:
                    continue
                stock.take(weight, Use(Source(), "sale", day, weight, None, step))
                stock.days[day].sold[step] = weight
                spare -= weight

    def _sell_trim(self, day: int) -> None:
        for key, shelf in self.model.bins.items():
            stock = self.flows.bins[key]
            weight = min(_down(self._value(shelf.sold_as_is[day])), stock.total)
            if weight > 0 and self.problem.bins[key].worth > 0:
                stock.take(weight, Use(Source(), "sold", day, weight))
                stock.days[day].sold[0] = weight

    def _night(self, day: int) -> None:
        for stock in (*self.flows.cuts.values(), *self.flows.bins.values()):
            today = stock.days[day]
            today.spoilt = stock.spoil(day)
            today.on_hand = stock.total


def flows_of(answer: Answer) -> Flows:
    """Return the plan in whole thousandths."""
    return _Walk(answer).go()
