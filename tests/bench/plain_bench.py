"""A second, plain model of the cutting plan: every quantity by its last sound day, nothing clever.

It is written from the meaning of ``collop.bench/1`` alone and shares no line with the kernel: it
reads the JSON itself, in floats.  Whole numbers are settled by trying them all, or by CBC; the rest
by ``scipy.optimize.linprog``.
"""

from __future__ import annotations

import itertools
import math
import warnings
from dataclasses import dataclass, field
from fractions import Fraction

import numpy as np
from scipy.optimize import linprog
from scipy.sparse import csr_matrix

STEPS = ["1", "0.9", "0.8", "0.7"]
#: What a unit of money short is worse than a unit of money earned, with the choices fixed.
WORSE = 1000.0


@dataclass
class Column:
    """One quantity: its bounds, what it brings, and what it leaves short (in money)."""

    low: float = 0.0
    high: float = math.inf
    whole: bool = False
    money: float = 0.0
    short: float = 0.0


@dataclass
class Row:
    """``low <= sum <= high``."""

    terms: dict
    low: float
    high: float


@dataclass
class Answer:
    """Money short, money earned, and every quantity."""

    short: float
    money: float
    values: dict


@dataclass
class Plain:
    """The program of one problem.

    `choices` lists, piece by piece, what may be done with it; `crumbs` counts by what is cut the
    parts that do not end at a thousandth.
    """

    problem: dict
    columns: dict = field(default_factory=dict)
    rows: dict = field(default_factory=dict)
    choices: list = field(default_factory=list)
    crumbs: dict = field(default_factory=dict)

    def column(self, key, **about):
        """Add a column once."""
        self.columns[key] = Column(**about)
        return key

    def term(self, row, key, amount, low=0.0, high=0.0):
        """Add to a row, making it when it is new."""
        found = self.rows.setdefault(row, Row({}, low, high))
        found.terms[key] = found.terms.get(key, 0.0) + amount

    @property
    def days(self):
        """Return how many days there are."""
        return len(self.problem["days"])

    # -- solving ---------------------------------------------------------------------------------

    def settle(self, chosen, more=None):
        """Return the best of the rest when exactly the `chosen` breaks are made, or None.

        `more` adds to the right of rows: to ``("flow", cut, last day, day)`` more that comes in, to
        ``("sold", cut, day)`` more that leaves unpaid, to ``("hand", number, day)`` more minutes.
        """
        keys = list(self.columns)
        place = {key: index for index, key in enumerate(keys)}
        bounds, cost = [], []
        for key in keys:
            one = self.columns[key]
            fixed = float(key in chosen)
            bounds.append((fixed, fixed) if one.whole else (one.low, one.high))
            cost.append(WORSE * one.short - one.money)
        equal, right, under, most = [], [], [], []
        for name, row in self.rows.items():
            line = [(place[key], amount) for key, amount in row.terms.items()]
            extra = (more or {}).get(name, 0.0)
            if row.low == row.high:
                equal.append(line)
                right.append(row.low + extra)
                continue
            if row.high < math.inf:
                under.append(line)
                most.append(row.high + extra)
            if row.low > -math.inf:
                under.append([(index, -amount) for index, amount in line])
                most.append(-row.low - extra)
        found = linprog(
            cost, A_ub=_matrix(under, len(keys)), b_ub=most or None, bounds=bounds,
            A_eq=_matrix(equal, len(keys)), b_eq=right or None, method="highs",
        )  # fmt: skip
        if found.status != 0:
            assert found.status == 2, found.message
            return None
        return self._answer(dict(zip(keys, found.x, strict=True)))

    def _answer(self, values):
        short = sum(self.columns[key].short * value for key, value in values.items())
        money = sum(self.columns[key].money * value for key, value in values.items())
        return Answer(short, money, values)

    def every_choice(self):
        """Yield each whole choice: a set of the breaks that are made."""
        for some in itertools.product(*self.choices):
            yield frozenset().union(*some)

    def grain(self):
        """Return the money in a thousandth of every part that does not end at a thousandth.

        A plan is in whole thousandths; which way such a part goes is its own affair.
        """
        dearest = max(float(cut["price"]) for cut in self.problem["cuts"])
        parts = sum(self.crumbs.values()) + 4 * self.days * len(self.problem["makes"])
        return 0.001 * dearest * parts

    def count(self):
        """Return how many whole choices there are."""
        return math.prod(len(one) for one in self.choices)

    def best(self):
        """Return the best answer of all choices, least short first; None if nothing can be done."""
        found = [answer for some in self.every_choice() if (answer := self.settle(some))]
        if not found:
            return None
        least = min(one.short for one in found)
        return max((one for one in found if one.short <= least + 1e-5), key=lambda one: one.money)

    def best_by_cbc(self):
        """Return the best answer by PuLP and CBC: least short, then most money."""
        with warnings.catch_warnings():
            # it warns of names that its next major version will not have
            warnings.simplefilter("ignore", DeprecationWarning)
            return self._by_cbc()

    def _by_cbc(self):
        import pulp

        program = pulp.LpProblem("bench", pulp.LpMinimize)
        names = {}
        for index, (key, one) in enumerate(self.columns.items()):
            high = None if one.high == math.inf else one.high
            kind = "Integer" if one.whole else "Continuous"
            names[key] = pulp.LpVariable(f"x{index}", one.low, high, kind)
        for row in self.rows.values():
            total = pulp.lpSum(amount * names[key] for key, amount in row.terms.items())
            if row.low == row.high:
                program += total == row.low
                continue
            if row.high < math.inf:
                program += total <= row.high
            if row.low > -math.inf:
                program += total >= row.low
        short = pulp.lpSum(one.short * names[key] for key, one in self.columns.items() if one.short)
        money = pulp.lpSum(one.money * names[key] for key, one in self.columns.items() if one.money)
        tool = pulp.PULP_CBC_CMD(msg=False, gapRel=1e-7, threads=1)
        if any(one.short for one in self.columns.values()):
            program.setObjective(short)
            assert pulp.LpStatus[program.solve(tool)] == "Optimal"
            program += short <= (pulp.value(short) or 0.0) + 1e-6
        program.setObjective(-money)
        assert pulp.LpStatus[program.solve(tool)] == "Optimal"
        return self._answer({key: one.value() or 0.0 for key, one in names.items()})


def _matrix(lines, width):
    if not lines:
        return None
    rows = [index for index, line in enumerate(lines) for _ in line]
    places = [place for line in lines for place, _ in line]
    amounts = [amount for line in lines for _, amount in line]
    return csr_matrix((np.array(amounts), (rows, places)), shape=(len(lines), width))


# -- building ------------------------------------------------------------------------------------


def plain(problem) -> Plain:
    """Return the program of a ``collop.bench/1`` problem."""
    model = Plain(problem)
    _pieces(model)
    _cuts(model)
    _bins(model)
    _makes(model)
    _bookings(model)
    _labour(model)
    return model


def weight_on(piece, day):
    """Return what a piece weighs on a day, to the thousandth."""
    exact = Fraction(piece["weight"]) * (1 - Fraction(piece.get("shrink_per_day", "0"))) ** day
    return Fraction(round(exact * 1000), 1000)


def _by_id(model, name):
    return {one["id"]: one for one in model.problem[name]}


def _pieces(model):
    kinds = _by_id(model, "kinds")
    locks = {one["tag"]: one for one in model.problem.get("locks") or []}
    for piece in model.problem["rail"]:
        claims = piece.get("claims") or []
        claimed = sum(Fraction(one["weight"]) for one in claims) / Fraction(piece["weight"])
        last = piece.get("until")
        last = model.days - 1 if last is None else min(last, model.days - 1)
        must = bool(piece.get("must"))
        if claims:
            # broken by the earliest claim's day, if it can be
            due = min(one["due"] for one in claims)
            if due >= piece.get("from", 0):
                last, must = min(last, due), True
        window = range(piece.get("from", 0), last + 1)
        lock = locks.get(piece["tag"])
        must = must or (lock is not None and lock.get("style") is not None)
        ways = []
        for day in window:
            for style in kinds[piece["kind"]]["styles"]:
                if lock and not _obeys(lock, style["id"], day):
                    continue
                key = (None, piece["tag"], style["id"], day)
                ways += _break(model, kinds, key, style, weight_on(piece, day), 1 - claimed)
        keep = float(piece["worth_left"]) * float(1 - claimed)
        model.column(("kept", piece["tag"]), high=0.0 if must and ways else 1.0, money=keep)
        model.term(("piece", piece["tag"]), ("kept", piece["tag"]), 1.0, 1.0, 1.0)
        for key in sorted({key for way in ways for key in way if key[0] is None}, key=str):
            model.term(("piece", piece["tag"]), key, 1.0, 1.0, 1.0)
        model.choices.append(ways if must and ways else [frozenset(), *ways])


def _obeys(lock, style, day):
    if lock.get("style") is None and lock.get("day") is None:
        return False
    return lock.get("style") in {None, style} and lock.get("day") in {None, day}


def _break(model, kinds, key, style, weight, ours):
    """Add one way to break, and everything that may be done with its large cuts.

    `ours` is the share that no claim takes.  Returns the whole ways: sets of keys that are made
    together.
    """
    day = key[3]
    money = 0.0
    model.column(key, high=1.0, whole=True)
    below = []
    exact = [Fraction(output["share"]) * weight for output in style["outputs"]]
    crumbs = sum(
        (1000 * part).denominator > 1 or (1000 * part * ours).denominator > 1 for part in exact
    )
    model.crumbs[key[1]] = max(model.crumbs.get(key[1], 0), crumbs)
    for output, part in zip(style["outputs"], exact, strict=True):
        gives = float(part * ours)
        if "cut" in output:
            cut = _by_id(model, "cuts")[output["cut"]]
            flow = ("flow", cut["id"], day + cut["keeps_days"], day)
            model.term(flow, key, -gives)
        elif "bin" in output:
            trim = _by_id(model, "bins")[output["bin"]]
            model.term(("trim", trim["id"], day + trim["keeps_days"], day), key, -gives)
        elif "kind" in output:
            below.append(_large(model, kinds, key, output["kind"], part, ours))
        else:
            money += float(output["worth"]) * gives
    model.columns[key].money = money
    if float(style["minutes"]):
        model.term(("labour", style["id"], day), key, -float(style["minutes"]))
    return [frozenset({key}).union(*some) for some in itertools.product(*below)]


def _large(model, kinds, parent, kind, weight, ours):
    found = []
    first = parent[3]
    last = min(first + kinds[kind].get("holds_days", 0), model.days - 1)
    row = ("large", parent, kind)
    for day in range(first, last + 1):
        for style in kinds[kind]["styles"]:
            key = (parent, f"{parent[1]}/{kind}", style["id"], day)
            found += _break(model, kinds, key, style, weight, ours)
            model.term(row, key, 1.0)
    model.term(row, parent, -1.0)
    return found


def _stock(model, word, thing):
    """Add opening stock and the carrying of one cut or bin from night to night.

    ``(word, id, last, day)`` rows say: stays + leaves - comes - was there = 0.
    """
    lots = {}
    for lot in thing.get("stock") or []:
        lots[lot["days_left"]] = lots.get(lot["days_left"], 0.0) + float(lot["weight"])
    lasts = set(lots) | {day + thing["keeps_days"] for day in range(model.days)}
    for last in sorted(lasts):
        for day in range(min(last, model.days - 1) + 1):
            row = (word, thing["id"], last, day)
            there = lots.get(last, 0.0) if day == 0 else 0.0
            found = model.rows.setdefault(row, Row({}, 0.0, 0.0))
            found.low = found.high = there
            stays = model.column(("night", word, thing["id"], last, day))
            model.term(row, stays, 1.0)
            if day:
                model.term(row, ("night", word, thing["id"], last, day - 1), -1.0)
    return sorted(lasts)


def _cuts(model):
    room = model.problem.get("case_room")
    for cut in model.problem["cuts"]:
        lasts = _stock(model, "flow", cut)
        name, salvage = cut["id"], float(cut.get("salvage", "0"))
        left = cut.get("left") or {"worth": cut.get("salvage", "0"), "takes": None}
        takes = math.inf if left.get("takes") is None else float(left["takes"])
        model.column(("left", name), high=takes, money=float(left["worth"]))
        model.column(("beyond", name), money=salvage)
        model.term(("end", name), ("left", name), 1.0)
        model.term(("end", name), ("beyond", name), 1.0)
        for last in lasts:
            if last < model.days:  # past its days the morning after
                model.columns[("night", "flow", name, last, last)].money = salvage
            else:
                model.term(("end", name), ("night", "flow", name, last, model.days - 1), -1.0)
            for day in range(min(last, model.days - 1) + 1):
                _uses(model, cut, last, day)
                if room is not None and last > day:
                    night = ("night", "flow", name, last, day)
                    model.term(("room", day), night, 1.0, -math.inf, float(room))
        for day in range(model.days):
            _prices(model, cut, day)


def _uses(model, cut, last, day):
    row = ("flow", cut["id"], last, day)
    sold = model.column(("sold", cut["id"], last, day))
    model.term(row, sold, 1.0)
    model.term(("sold", cut["id"], day), sold, 1.0)
    if ground := cut.get("ground"):
        key = model.column(("ground", cut["id"], last, day))
        model.term(row, key, 1.0)
        trim = _by_id(model, "bins")[ground["bin"]]
        arrives = ("trim", trim["id"], day + trim["keeps_days"], day)
        model.term(arrives, key, -float(ground["yield"]))
        model.term(("labour", None, day), key, -float(ground["minutes_per_unit"]))


def _prices(model, cut, day):
    name, price = cut["id"], float(cut["price"])
    elasticity = 1.5 if cut.get("elasticity") is None else cut["elasticity"]
    if not model.problem["days"][day]["open"]:
        model.rows.setdefault(("sold", name, day), Row({}, 0.0, 0.0))
        return
    for step in cut.get("steps") or STEPS:
        share = model.column(("share", name, day, step), high=1.0)
        sold = model.column(("at", name, day, step), money=price * float(step))
        most = float(cut["usual"][day]) * float(step) ** -elasticity
        model.term(("most", name, day, step), sold, 1.0, -math.inf, 0.0)
        model.term(("most", name, day, step), share, -most, -math.inf, 0.0)
        model.term(("shares", name, day), share, 1.0, -math.inf, 1.0)
        model.term(("sold", name, day), sold, -1.0)


def _bins(model):
    for trim in model.problem["bins"]:
        for last in _stock(model, "trim", trim):
            for day in range(min(last, model.days - 1) + 1):
                sold = ("trim sold", trim["id"], last, day)
                model.column(sold, money=float(trim["worth"]))
                model.term(("trim", trim["id"], last, day), sold, 1.0)


def _makes(model):
    bins = _by_id(model, "bins")
    for index, make in enumerate(model.problem["makes"]):
        added = float(make.get("added") or "0")
        cut = _by_id(model, "cuts")[make["cut"]]
        for day in range(model.days):
            costs = added * float(make.get("added_cost") or "0") + float(
                make.get("cost_per_unit") or "0"
            )
            made = model.column(("made", index, day), money=-costs)
            model.term(("flow", cut["id"], day + cut["keeps_days"], day), made, -1.0)
            model.term(("labour", None, day), made, -float(make.get("minutes_per_unit") or "0"))
            model.term(("meat", index, day), made, -(1 - added))
            for name in make["bins"]:
                for row in [
                    row
                    for row in model.rows
                    if row[0] == "trim" and row[1] == name and row[3] == day
                ]:
                    took = model.column(("took", index, name, row[2], day))
                    model.term(row, took, 1.0)
                    model.term(("meat", index, day), took, 1.0)
                    fat = float(bins[name]["fat"])
                    if make.get("fat_max") is not None:
                        over = fat - float(make["fat_max"])
                        model.term(("fat most", index, day), took, over, -math.inf, 0.0)
                    if make.get("fat_min") is not None:
                        over = fat - float(make["fat_min"])
                        model.term(("fat least", index, day), took, over, 0.0, math.inf)


def _bookings(model):
    cuts = _by_id(model, "cuts")
    for booking in model.problem["bookings"]:
        for index, line in enumerate(booking["lines"]):
            price = float(line.get("price") or cuts[line["cut"]]["price"])
            key = (booking["id"], index)
            model.column(("short", *key), short=price)
            row = ("booked", *key)
            model.term(row, ("short", *key), 1.0, float(line["weight"]), float(line["weight"]))
            due = booking["due"]
            flows = [
                one
                for one in model.rows
                if one[0] == "flow" and one[1] == line["cut"] and one[3] == due
            ]
            for flow in flows:
                met = model.column(("met", *key, flow[2]), money=price)
                model.term(row, met, 1.0)
                model.term(flow, met, 1.0)


def _labour(model):
    work = [row for row in model.rows if row[0] == "labour"]
    for index, hand in enumerate(model.problem["hands"]):
        rate = float(hand["per_hour"]) / 60
        extra = hand.get("overtime_per_hour")
        extra = 1.5 * rate if extra is None else float(extra) / 60
        beyond = hand.get("overtime") or ["0"] * model.days
        for day in range(model.days):
            usual = model.column(
                ("usual", index, day), high=float(hand["minutes"][day]), money=-rate
            )
            over = model.column(("over", index, day), high=float(beyond[day]), money=-extra)
            model.term(("hand", index, day), usual, -1.0, -math.inf, 0.0)
            model.term(("hand", index, day), over, -1.0)
        for row in work:
            if row[1] not in (hand.get("cannot") or []):
                does = model.column(("does", index, row[1], row[2]))
                model.term(row, does, 1.0)
                model.term(("hand", index, row[2]), does, 1.0)


def chosen_by(plan):
    """Return the keys of the breaks of a plan."""
    by_id = {one["id"]: one for one in plan["breaks"]}

    def key(one):
        if not one["of"]:
            return (None, one["tag"], one["style"], one["day"])
        above = key(by_id[one["of"]])
        return (above, f"{above[1]}/{one['kind']}", one["style"], one["day"])

    return frozenset(key(one) for one in plan["breaks"])
