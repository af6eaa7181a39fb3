"""The same cutting plan the ordinary way: PuLP and CBC, stock indexed by its age.

Every lot and every day's cutting is a class of its own, with a column for what leaves it on each
day for each purpose.  What is short costs a hundred times its price, so that bookings come first.
"""

from __future__ import annotations

import time
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import pulp

__all__ = ["PlainAnswer", "solve_plain"]

Json = dict[str, Any]
Terms = list[tuple[Any, float]]

_STEPS = ("1", "0.9", "0.8", "0.7")
_SHORT = 100.0
_OVER_ROOM = 1000.0


@dataclass(frozen=True, slots=True)
class PlainAnswer:
    """What CBC found.

    Parameters
    ----------
    within_gap : bool
        Whether it stopped by itself, not at its time limit.
    contribution, short : float
        Money, and what is short at its price; not a number if there is no answer.
    seconds : float
        Building and solving.
    columns, whole, rows : int
        Size of the model.
    """

    within_gap: bool
    contribution: float
    short: float
    seconds: float
    columns: int
    whole: int
    rows: int


@dataclass(slots=True)
class _Plain:
    problem: Json
    model: pulp.LpProblem
    gain: Terms = field(default_factory=list)
    #: what is short, in money at its price
    short: Terms = field(default_factory=list)
    constant: float = 0.0
    #: what comes into a cut or bin on a day: (id, day) -> terms
    comes: dict[tuple[str, int], Terms] = field(default_factory=lambda: defaultdict(list))
    #: minutes of work by day and by who may not do it
    work: dict[tuple[int, frozenset[str]], Terms] = field(default_factory=lambda: defaultdict(list))
    at_night: dict[int, list[Any]] = field(default_factory=lambda: defaultdict(list))
    count: int = 0

    @property
    def days(self) -> int:
        return len(self.problem["days"])

    def column(self, gain: float = 0.0, most: float | None = None, *, whole: bool = False) -> Any:  # noqa: ANN401
        self.count += 1
        kind = "Integer" if whole else "Continuous"
        found = pulp.LpVariable(f"v{self.count}", 0, most, kind)
        if gain:
            self.gain.append((found, gain))
        return found

    def row(self, terms: Terms, sense: str, right: float) -> None:
        total = _total(terms)
        self.model += {"<=": total <= right, ">=": total >= right, "==": total == right}[sense]


def _total(terms: Terms) -> Any:  # noqa: ANN401
    """Return the sum of terms; a column that stands there twice counts twice."""
    found: dict[Any, float] = defaultdict(float)
    for column, amount in terms:
        found[column] += amount
    return pulp.LpAffineExpression(found)


def _hung(piece: Json, day: int) -> float:
    return float(piece["weight"]) * (1 - float(piece["shrink_per_day"])) ** day


def _breaks(plain: _Plain) -> None:
    kinds = {kind["id"]: kind for kind in plain.problem["kinds"]}
    for piece in plain.problem["rail"]:
        weight = float(piece["weight"])
        claimed = sum(float(claim["weight"]) for claim in piece["claims"]) / weight
        until = plain.days - 1 if piece["until"] is None else piece["until"]
        worth = float(piece["worth_left"])
        plain.constant += worth * (1 - claimed)
        due = [claim["due"] for claim in piece["claims"]] + ([until] if piece["must"] else [])
        chosen: Terms = []
        in_time: Terms = []
        for day in range(piece["from"], until + 1):
            for column in _ways(plain, kinds, piece["kind"], day, (_hung(piece, day), claimed)):
                chosen.append((column, 1.0))
                plain.gain.append((column, -worth * (1 - claimed)))
                if due and day <= min(due):
                    in_time.append((column, 1.0))
        plain.row(chosen, "<=", 1)
        if due:
            missed = plain.column(-_SHORT * max(1.0, worth))
            plain.short.append((missed, max(1.0, worth)))
            plain.row([*in_time, (missed, 1.0)], ">=", 1)


def _ways(plain: _Plain, kinds: dict[str, Json], kind: str, day: int,
          cut: tuple[float, float]) -> Iterator[Any]:  # fmt: skip
    """Yield a whole column for each style of a piece on a day, with all that comes off it."""
    weight, claimed = cut
    for style in kinds[kind]["styles"]:
        column = plain.column(most=1, whole=True)
        cannot = frozenset(
            hand["name"] for hand in plain.problem["hands"] if style["id"] in hand["cannot"]
        )
        plain.work[day, cannot].append((column, float(style["minutes"])))
        for output in style["outputs"]:
            part = weight * float(output["share"])
            free = part * (1 - claimed)
            if "cut" in output or "bin" in output:
                id_ = output.get("cut") or output["bin"]
                plain.comes[id_, day].append((column, free))
            elif "worth" in output:
                plain.gain.append((column, free * float(output["worth"])))
            else:
                inner = output["kind"]
                last = min(day + kinds[inner]["holds_days"], plain.days - 1)
                below: Terms = [
                    (one, 1.0)
                    for later in range(day, last + 1)
                    for one in _ways(plain, kinds, inner, later, (part, claimed))
                ]
                plain.row([*below, (column, -1.0)], "==", 0)
        yield column


def _ages(stock: list[Json], days: int, keeps: int) -> list[tuple[int, int, float | None]]:
    """Return (first day, last day, weight) of each age class; no weight: what comes that day."""
    lots = [(0, lot["days_left"], float(lot["weight"])) for lot in stock]
    return [*lots, *((day, day + keeps, None) for day in range(days))]


def _cut(plain: _Plain, cut: Json, lines: list[tuple[int, float, float]]) -> None:
    price, days = float(cut["price"]), plain.days
    ages = _ages(cut["stock"], days, cut["keeps_days"])
    sold: dict[int, Terms] = defaultdict(list)
    booked: dict[int, Terms] = defaultdict(list)
    left: Terms = []
    for first, end, weight in ages:
        before: Terms = []  # what was on hand the night before
        for day in range(first, min(end, days - 1) + 1):
            sale = plain.column()
            sold[day].append((sale, 1.0))
            leaves: Terms = [(sale, 1.0)]
            if any(line[0] == day for line in lines):
                held = plain.column()
                booked[day].append((held, 1.0))
                leaves.append((held, 1.0))
            if cut["ground"]:
                leaves.append((_grind(plain, cut["ground"], day), 1.0))
            # at night it is on hand, or past its day
            is_last = day == end
            night = plain.column(float(cut["salvage"]) if is_last else 0.0)
            if not is_last:
                plain.at_night[day].append(night)
            comes = (cut["id"], first, weight) if day == first else None
            _balance(plain, comes, [*leaves, (night, 1.0), *before])
            before = [(night, -1.0)]
        if end >= days:
            left.append((night, 1.0))
    _left(plain, cut, left)
    for day in range(days):
        _ladder(plain, cut, price, day, sold[day])
        mine = [line for line in lines if line[0] == day]
        short = [(plain.column(-(_SHORT + 1) * line[2], line[1]), 1.0) for line in mine]
        plain.short += [(column, line[2]) for (column, _), line in zip(short, mine, strict=True)]
        if mine:
            plain.constant += sum(line[1] * line[2] for line in mine)
            plain.row([*booked[day], *short], "==", sum(line[1] for line in mine))


def _grind(plain: _Plain, ground: Json, day: int) -> Any:  # noqa: ANN401
    column = plain.column()
    plain.comes[ground["bin"], day].append((column, float(ground["yield"])))
    plain.work[day, frozenset()].append((column, float(ground["minutes_per_unit"])))
    return column


def _balance(plain: _Plain, comes: tuple[str, int, float | None] | None, terms: Terms) -> None:
    """Let what leaves and stays be what was there, with what comes in of (id, day, weight)."""
    if comes is None:
        plain.row(terms, "==", 0)
    elif comes[2] is not None:
        plain.row(terms, "==", comes[2])
    else:
        arrives = [(column, -amount) for column, amount in plain.comes[comes[0], comes[1]]]
        plain.row([*terms, *arrives], "==", 0)


def _left(plain: _Plain, cut: Json, left: Terms) -> None:
    if not left:
        return
    worth, salvage = float(cut["left"]["worth"]), float(cut["salvage"])
    takes = cut["left"]["takes"]
    good = plain.column(worth, None if takes is None else float(takes))
    beyond = plain.column(salvage)
    plain.row([*left, (good, -1.0), (beyond, -1.0)], "==", 0)


def _ladder(plain: _Plain, cut: Json, price: float, day: int, sold: Terms) -> None:
    usual = float(cut["usual"][day])
    steps: Terms = []
    mix: Terms = []
    for step in map(float, _STEPS):
        sells = usual * step ** -float(cut["elasticity"])
        column = plain.column(price * step, sells)
        steps.append((column, -1.0))
        if sells:
            mix.append((column, 1 / sells))
    plain.row([*sold, *steps], "==", 0)
    if mix:
        plain.row(mix, "<=", 1)


def _bin(plain: _Plain, one: Json, makes: list[Json]) -> dict[tuple[str, int], Terms]:
    """Add a bin; return what each make takes of it by day."""
    takes: dict[tuple[str, int], Terms] = defaultdict(list)
    for first, end, weight in _ages(one["stock"], plain.days, one["keeps_days"]):
        before: Terms = []
        for day in range(first, min(end, plain.days - 1) + 1):
            leaves: Terms = [(plain.column(float(one["worth"])), 1.0)]
            for make in makes:
                if one["id"] in make["bins"]:
                    column = plain.column()
                    takes[make["cut"], day].append((column, 1.0))
                    leaves.append((column, 1.0))
            night = plain.column()
            comes = (one["id"], first, weight) if day == first else None
            _balance(plain, comes, [*leaves, (night, 1.0), *before])
            before = [(night, -1.0)]
    return takes


def _makes(plain: _Plain, taken: dict[str, dict[tuple[str, int], Terms]]) -> None:
    fats = {one["id"]: float(one["fat"]) for one in plain.problem["bins"]}
    for make, day, id_, terms, grows in _taken(plain, taken):
        del id_
        added = float(make.get("added", 0))
        cost = added * float(make.get("added_cost", 0)) + float(make.get("cost_per_unit", 0))
        minutes = float(make["minutes_per_unit"])
        plain.gain += [(column, -cost * grows) for column, _ in terms]
        plain.work[day, frozenset()] += [(column, minutes * grows) for column, _ in terms]
    for make in plain.problem["makes"]:
        for day in range(plain.days):
            for key, sense in (("fat_max", "<="), ("fat_min", ">=")):
                if make.get(key) is not None:
                    limit = float(make[key])
                    fat = [(column, fats[id_] - limit) for id_ in make["bins"]
                           for column, _ in taken[id_][make["cut"], day]]  # fmt: skip
                    plain.row(fat, sense, 0)


def _taken(
    plain: _Plain, taken: dict[str, dict[tuple[str, int], Terms]]
) -> Iterator[tuple[Json, int, str, Terms, float]]:
    for make in plain.problem["makes"]:
        grows = 1 / (1 - float(make.get("added", 0)))
        for day in range(plain.days):
            for id_ in make["bins"]:
                yield make, day, id_, taken[id_][make["cut"], day], grows


def _hands(plain: _Plain) -> None:
    hands = plain.problem["hands"]
    for day in range(plain.days):
        does: dict[str, Terms] = defaultdict(list)
        for (when, cannot), terms in list(plain.work.items()):
            if when != day:
                continue
            shares: Terms = []
            for hand in hands:
                if hand["name"] not in cannot:
                    share = plain.column()
                    shares.append((share, -1.0))
                    does[hand["name"]].append((share, 1.0))
            plain.row([*terms, *shares], "==", 0)
        for hand in hands:
            pay = float(hand["per_hour"]) / 60
            regular = plain.column(-pay, float(hand["minutes"][day]))
            over = plain.column(-1.5 * pay, float((hand["overtime"] or ["0"] * 99)[day]))
            plain.row([*does[hand["name"]], (regular, -1.0), (over, -1.0)], "==", 0)


def _build(problem: Json) -> _Plain:
    plain = _Plain(problem, pulp.LpProblem("plain", pulp.LpMaximize))
    prices = {cut["id"]: float(cut["price"]) for cut in problem["cuts"]}
    lines: dict[str, list[tuple[int, float, float]]] = defaultdict(list)
    for booking in problem["bookings"]:
        for line in booking["lines"]:
            price = prices[line["cut"]] if line["price"] is None else float(line["price"])
            lines[line["cut"]].append((booking["due"], float(line["weight"]), price))
    _breaks(plain)
    made = {make["cut"] for make in problem["makes"]}
    for cut in problem["cuts"]:
        if cut["id"] not in made:
            _cut(plain, cut, lines[cut["id"]])
    taken = {one["id"]: _bin(plain, one, problem["makes"]) for one in problem["bins"]}
    for make, day, _, terms, grows in _taken(plain, taken):
        plain.comes[make["cut"], day] += [(column, grows) for column, _ in terms]
    for cut in problem["cuts"]:
        if cut["id"] in made:
            _cut(plain, cut, lines[cut["id"]])
    _makes(plain, taken)
    _hands(plain)
    if problem["case_room"] is not None:
        for nights in plain.at_night.values():
            over = plain.column(-_OVER_ROOM)
            terms = [(night, 1.0) for night in nights]
            plain.row([*terms, (over, -1.0)], "<=", float(problem["case_room"]))
    return plain


def solve_plain(problem: Json, *, gap: float, seconds: float = 60.0) -> PlainAnswer:
    """Solve a ``collop.bench/1`` problem with CBC, one thread.

    Cuts that are made must not be ground, as none is in the generated shops.

    Parameters
    ----------
    problem : dict
        Of `generator.shop_week`.
    gap : float
        Relative gap at which CBC may stop.
    seconds : float
        Most seconds for CBC.
    """
    start = time.perf_counter()
    plain = _build(problem)
    plain.model.setObjective(_total(plain.gain))
    solver = pulp.PULP_CBC_CMD(msg=False, gapRel=gap, timeLimit=seconds, timeMode="cpu", threads=1)
    plain.model.solve(solver)
    taken = time.perf_counter() - start
    columns = plain.model.variables()
    has_answer = plain.model.sol_status in (
        pulp.LpSolutionOptimal,
        pulp.LpSolutionIntegerFeasible,
    )
    money = short = float("nan")
    if has_answer:
        short = sum(pulp.value(column) * price for column, price in plain.short)
        money = pulp.value(plain.model.objective) + plain.constant + _SHORT * short
    return PlainAnswer(
        within_gap=plain.model.sol_status == pulp.LpSolutionOptimal,
        contribution=money,
        short=short,
        seconds=taken,
        columns=len(columns),
        whole=sum(one.cat == "Integer" for one in columns),
        rows=len(plain.model.constraints),
    )
