"""The cutting plan as a mixed-integer program.

    max  bookings + sales + by-products + trim sold + salvage + left + kept - labour - making
    s.t. on hand_t = on hand_t-1 + in_t - booked_t - sold_t - ground_t - spoilt_t    (cut or bin)
         on hand_t <= what has come in by t and is still good on t + 1
         sum over steps of sold / (what sells at that step) <= 1                       (cut, day)
         one style and day at most for each piece; a large cut in exactly one once it is off
         minutes of work <= minutes of those who can do it

Stock has no age in it: the oldest is sold first, so what is on hand at night is the youngest, and
it is good exactly if it is no more than what came in and is not past its day.  That is why the
second row is enough, and why there is no column for each age of each cut.  Only opening lots that
outlast what comes in later stand in a row of their own, and are taken from it on the day of use.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from collop.bench.hands import Work, add_work, everyone
from collop.bench.problem import BenchProblem, Bin, Cut, Make
from collop.bench.program import Program
from collop.bench.shelf import Shelf, brings, by_last_day, only_past, stock_rows
from collop.bench.ways import Way, ways_of

__all__ = ["Model", "build"]

#: What ways bring: by (cut or bin, id), day, then way.
Arrivals = dict[tuple[str, str], dict[int, dict[int, float]]]

#: A case cannot hold more than it holds, whatever is promised.
_OVER_ROOM = 10.0
_NOTHING = 1e-9


@dataclass(slots=True)
class Model:
    """The program and where everything stands in it.

    Parameters
    ----------
    problem : BenchProblem
        What is asked.
    ways : tuple of Way
        Way i is column i.
    cuts, bins : dict of Shelf
        By id.
    made : dict of (int, int, str)
        Columns of what a make takes of a bin on a day: (make, day, bin).
    short : dict of (int, int)
        Columns of what booking b lacks of its line l.
    missed : dict of str
        Column by tag: 1 if a piece is not broken by the day a claim, or an order, wants it.
    over : dict of int
        Columns by day of weight that the case cannot hold.
    room : dict of int
        Rows by day of what the case holds at night.
    work : Work
        Rows and columns of minutes.
    choosing : set of int
        Rows that only say which ways go together.
    cap : int, optional
        Row that holds all shortage to the least there can be.
    least_is_proven : bool
        Whether no plan can be less short.
    """

    problem: BenchProblem
    ways: tuple[Way, ...]
    program: Program = field(default_factory=Program)
    cuts: dict[str, Shelf] = field(default_factory=dict)
    bins: dict[str, Shelf] = field(default_factory=dict)
    made: dict[tuple[int, int, str], int] = field(default_factory=dict)
    short: dict[tuple[int, int], int] = field(default_factory=dict)
    missed: dict[str, int] = field(default_factory=dict)
    over: dict[int, int] = field(default_factory=dict)
    room: dict[int, int] = field(default_factory=dict)
    work: Work = field(default_factory=Work)
    choosing: set[int] = field(default_factory=set)
    cap: int | None = None
    least_is_proven: bool = True

    @property
    def constant(self) -> float:
        """Return the money that every plan brings."""
        return self.program.constant

    @property
    def days(self) -> int:
        """Return how many days are planned."""
        return len(self.problem.days)

    def short_cost(self) -> list[float]:
        """Return gains that count only what is short, as money lost, shape (columns,)."""
        gains = [0.0] * len(self.program.gains)
        for (at, line), column in self.short.items():
            gains[column] = -float(self.problem.bookings[at].lines[line].price) - 0.01
        worth = {piece.tag: float(piece.worth_left) for piece in self.problem.rail}
        for tag, column in self.missed.items():
            gains[column] = -max(1.0, worth[tag])
        dearest = max((float(cut.price) for cut in self.problem.cuts.values()), default=1.0)
        for column in self.over.values():
            gains[column] = -_OVER_ROOM * max(1.0, dearest)
        return gains


def build(problem: BenchProblem) -> Model:
    """Return the program of a problem."""
    model = Model(problem, ways_of(problem))
    _ways(model)
    model.work = add_work(model.program, problem, model.ways)
    arrivals = _arrivals(model)
    for cut in problem.cuts.values():
        _cut(model, cut, arrivals)
    for one in problem.bins.values():
        _bin(model, one, arrivals)
    _flows(model, arrivals)
    _makes(model)
    _bookings(model)
    _room(model)
    return model


# what is cut


def _ways(model: Model) -> None:
    """Add a whole column for each way, and the rows that let one of a node be taken."""
    program, problem = model.program, model.problem
    locked = {lock.tag for lock in problem.locks if lock.style is not None}
    roots: dict[str, list[Way]] = defaultdict(list)
    below: dict[tuple[int, str], list[Way]] = defaultdict(list)
    for way in model.ways:
        worths = sum((o.worth * way.to_free(weight) for o, weight in way.parts if o.to == "worth"),
                     Fraction(0))  # fmt: skip
        column = program.column(float(worths), most=1.0, whole=True)
        assert column == way.index
        if way.parent is None:
            roots[way.tag].append(way)
        else:
            below[way.parent, way.node].append(way)
    for piece in sorted(problem.rail, key=lambda one: one.tag):
        kept = float(piece.worth_left * (1 - piece.claimed))
        program.constant += kept
        mine = roots.get(piece.tag, [])
        for way in mine:
            program.gains[way.index] -= kept
        least = 1.0 if piece.tag in locked else 0.0
        model.choosing.add(program.row({way.index: 1.0 for way in mine}, least, 1.0))
        due = [claim.due for claim in piece.claims] + ([piece.until_day] if piece.must else [])
        if due:
            missed = model.missed[piece.tag] = program.column(0.0, most=1.0)
            in_time = {way.index: 1.0 for way in mine if way.day <= min(due)}
            program.row({**in_time, missed: 1.0}, low=1.0)
    for (parent, _), ways in below.items():
        terms = {**{way.index: 1.0 for way in ways}, parent: -1.0}
        model.choosing.add(program.row(terms, low=0.0, high=0.0))


# what is in stock


def _arrivals(model: Model) -> Arrivals:
    """Return what each way brings: by (cut or bin, id), day, then way."""
    found: dict[tuple[str, str], dict[int, dict[int, float]]] = defaultdict(
        lambda: defaultdict(lambda: defaultdict(float))
    )
    for way in model.ways:
        for output, weight in way.parts:
            free = way.to_free(weight) if output.to in {"cut", "bin"} else 0
            if free:
                found[output.to, output.id][way.day][way.index] += float(free)
    return found


def _cut(model: Model, cut: Cut, arrivals: Arrivals) -> None:
    program = model.program
    shelf = model.cuts[cut.id] = Shelf()
    comes: set[int] = set(arrivals.get(("cut", cut.id), {}))
    if any(make.cut == cut.id for make in model.problem.makes):
        comes = set(range(model.days))
    stock_rows(program, shelf, by_last_day(cut.stock), days=model.days, keeps=cut.keeps_days,
               may_come=comes)  # fmt: skip
    for column in (*shelf.spoilt.values(), *shelf.past_older.values()):
        program.gains[column] = float(cut.salvage)
    left = max(cut.left.worth, cut.salvage)
    most = float("inf") if cut.left.takes is None else float(cut.left.takes)
    at_end = {nights[-1]: -1.0 for nights in (shelf.on_hand, shelf.older) if nights}
    for column in at_end:
        program.gains[column] += float(cut.salvage)
    if left > cut.salvage:
        shelf.left = program.column(float(left - cut.salvage), most=most)
        program.row({shelf.left: 1.0, **at_end}, high=0.0)
    for day in range(model.days):
        _ladder(model, cut, shelf, day)
        if cut.ground is not None:
            shelf.ground[day] = program.column(0.0)
            program.rows[shelf.balance[day]][shelf.ground[day]] = 1.0


def _ladder(model: Model, cut: Cut, shelf: Shelf, day: int) -> None:
    """Add what sells on a day at each step of the price."""
    usual = float(cut.usual[day])
    if usual <= _NOTHING or not model.problem.days[day].is_open:
        return
    program = model.program
    terms: dict[int, float] = {}
    for step, share in enumerate(cut.steps):
        sells = usual * float(share) ** -float(cut.elasticity)
        if model.problem.case_room is not None:
            # nothing under a thousandth is sold: crumbs would add up to more than the case holds
            sells = math.floor(sells * 1000 + 1e-6) / 1000
        if sells <= _NOTHING:
            continue
        column = program.column(float(cut.price * share), most=sells)
        shelf.sold[day, step] = column
        program.rows[shelf.balance[day]][column] = 1.0
        terms[column] = 1.0 / sells
    if len(terms) > 1:
        shelf.ladder[day] = program.row(terms, high=1.0)


def _bin(model: Model, one: Bin, arrivals: Arrivals) -> None:
    program = model.program
    shelf = model.bins[one.id] = Shelf()
    comes: set[int] = set(arrivals.get(("bin", one.id), {}))
    if any(cut.ground is not None and cut.ground.bin == one.id
           for cut in model.problem.cuts.values()):  # fmt: skip
        comes = set(range(model.days))
    stock_rows(program, shelf, by_last_day(one.stock), days=model.days, keeps=one.keeps_days,
               may_come=comes)  # fmt: skip
    for day in range(model.days):
        column = shelf.sold_as_is[day] = program.column(float(one.worth))
        program.rows[shelf.balance[day]][column] = 1.0


# what moves


def _flows(model: Model, arrivals: Arrivals) -> None:
    """Let ways and grinding bring weight into cuts and bins."""
    problem = model.problem
    for (to, id_), by_day in arrivals.items():
        shelf = model.cuts[id_] if to == "cut" else model.bins[id_]
        keeps = problem.cuts[id_].keeps_days if to == "cut" else problem.bins[id_].keeps_days
        for day, terms in by_day.items():
            brings(model.program, shelf, terms, keeps=keeps, day=day)
    everybody = everyone(problem)
    for cut in problem.cuts.values():
        if cut.ground is None:
            continue
        bin_, gives = problem.bins[cut.ground.bin], float(cut.ground.gives)
        for day, column in model.cuts[cut.id].ground.items():
            brings(model.program, model.bins[bin_.id], {column: gives}, keeps=bin_.keeps_days,
                   day=day)  # fmt: skip
            if cut.ground.minutes_per_unit:
                row = model.program.rows[model.work.rows[day, everybody]]
                row[column] = float(cut.ground.minutes_per_unit)


def _makes(model: Model) -> None:
    """Let makes turn trim into cuts, within their limits of fat."""
    program, problem = model.program, model.problem
    everybody = everyone(problem)
    for at, make in enumerate(problem.makes):
        grows = 1 / (1 - float(make.added))
        cost = grows * (float(make.added_cost * make.added) + float(make.cost_per_unit))
        cut = problem.cuts[make.cut]
        for day in range(model.days):
            takes = {}
            for name in make.bins:
                column = takes[name] = model.made[at, day, name] = program.column(-cost)
                program.rows[model.bins[name].balance[day]][column] = 1.0
            finished = dict.fromkeys(takes.values(), grows)
            brings(program, model.cuts[cut.id], finished, keeps=cut.keeps_days, day=day)
            if make.minutes_per_unit:
                row = program.rows[model.work.rows[day, everybody]]
                row.update(dict.fromkeys(takes.values(), grows * float(make.minutes_per_unit)))
            _fat_rows(model, make, takes)


def _fat_rows(model: Model, make: Make, takes: Mapping[str, int]) -> None:
    bins = model.problem.bins
    if make.fat_max is not None and any(bins[name].fat > make.fat_max for name in takes):
        most = make.fat_max
        model.program.row(
            {col: float(bins[name].fat - most) for name, col in takes.items()}, high=0
        )
    if make.fat_min is not None and any(bins[name].fat < make.fat_min for name in takes):
        least = make.fat_min
        model.program.row(
            {col: float(bins[name].fat - least) for name, col in takes.items()}, low=0
        )


def _bookings(model: Model) -> None:
    program = model.program
    for at, booking in enumerate(model.problem.bookings):
        for number, line in enumerate(booking.lines):
            weight, price = float(line.weight), float(line.price)
            column = model.short[at, number] = program.column(-price, most=weight)
            program.constant += price * weight
            balance = model.cuts[line.cut].balance[booking.due]
            program.rows[balance][column] = -1.0
            program.low[balance] -= weight
            program.high[balance] -= weight


def _room(model: Model) -> None:
    """Keep the case within what it holds at night; no sound meat is thrown out to that end."""
    room, program = model.problem.case_room, model.program
    if room is None:
        return
    for day in range(model.days):
        over = model.over[day] = program.column(0.0)
        nights = (shelf.on_hand[day] for shelf in model.cuts.values())
        older = (shelf.older[day] for shelf in model.cuts.values() if shelf.older)
        terms = dict.fromkeys((*nights, *older), 1.0)
        model.room[day] = program.row({**terms, over: -1.0}, high=float(room))
    for key, shelf in model.cuts.items():
        only_past(program, model.problem.cuts[key], shelf)
