"""Stock by last sound day: what comes first to its end leaves first, nothing is used after it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from typing import Any

from collop.bench.checker_breaks import Broken
from collop.bench.checker_parts import STEP, amount, by_key, total
from collop.bench.checker_trim import ground_by_day, ground_into, made_by_day, used_by_day
from collop.bench.problem import BenchProblem, Cut, Lot

__all__ = ["stock_rules"]


class _Shelf:
    """Weight by last sound day."""

    def __init__(self, stock: Sequence[Lot]) -> None:
        self.lots: dict[int, Fraction] = defaultdict(Fraction)
        for lot in stock:
            self.lots[lot.days_left] += lot.weight

    def take(self, weight: Fraction, day: int) -> Fraction:
        """Take from what ends first; return what was not there."""
        for last in sorted(self.lots):
            if last >= day:
                part = min(weight, self.lots[last])
                self.lots[last] -= part
                weight -= part
        return weight

    def spoil(self, day: int) -> Fraction:
        """Take away what is past its days tomorrow and return its weight."""
        return total(self.lots.pop(last) for last in list(self.lots) if last <= day)

    def on_hand(self) -> Fraction:
        return total(self.lots.values())


def stock_rules(problem: BenchProblem, broken: Broken, plan: Mapping[str, Any]) -> Iterator[str]:
    """Yield each wrong figure of the case and the bins, day by day, and a case over its room."""
    cuts, bins = by_key(plan["cuts"], "id"), by_key(plan["bins"], "id")
    for cut in problem.cuts.values():
        made = made_by_day(plan, cut.id)
        comes = _added(broken.arrivals("cut", cut.id), made)
        yield from _flow_rules(cut.id, cuts[cut.id], _Shelf(cut.stock), comes, cut.keeps_days,
                               uses=("booked", "sold", "ground"))  # fmt: skip
        yield from _same("ground", cut.id, cuts[cut.id], ground_by_day(plan, cut.id))
        yield from _same("booked", cut.id, cuts[cut.id], _booked(problem, plan, cut.id))
        yield from _sale_rules(problem, cut, cuts[cut.id])
    for trim in problem.bins.values():
        comes = _added(broken.arrivals("bin", trim.id), ground_into(plan, trim.id))
        yield from _flow_rules(trim.id, bins[trim.id], _Shelf(trim.stock), comes, trim.keeps_days,
                               uses=("used", "sold"))  # fmt: skip
        yield from _same("used", trim.id, bins[trim.id], used_by_day(plan, trim.id))
    yield from _room_rules(problem, plan)


def _added(one: Mapping[int, Fraction], other: Mapping[int, Fraction]) -> dict[int, Fraction]:
    zero = Fraction(0)
    return {day: one.get(day, zero) + other.get(day, zero) for day in {*one, *other}}


def _flow_rules(name: str, row: Mapping[str, Any], shelf: _Shelf, comes: Mapping[int, Fraction],
                keeps: int, *, uses: Sequence[str]) -> Iterator[str]:  # fmt: skip
    if amount(row["opening"]) != shelf.on_hand():
        yield f"{name} opens with {row['opening']}, which is not its stock"
    sums: dict[str, Fraction] = defaultdict(Fraction)
    for day, told in enumerate(row["days"]):
        said = {key: amount(told[key]) for key in ("in", *uses, "spoilt", "on_hand")}
        if told["day"] != day or any(value < 0 for value in said.values()):
            yield f"{name} has a wrong day or less than nothing on day {day}"
            return
        if said["in"] != comes.get(day, 0):
            yield f"{name} gets {float(comes.get(day, 0))} on day {day}, not {told['in']}"
        shelf.lots[day + keeps] += said["in"]
        yield from _day_rules(name, shelf, said, day, total(said[key] for key in uses))
        for key, value in said.items():
            sums[key] += value
    sums["made"], sums["left"] = sums["in"], shelf.on_hand()
    for key in ("made", *uses, "spoilt", "left"):
        if amount(row[key]) != sums[key]:
            yield f"{name} tells {row[key]} {key} over all days; it is {float(sums[key])}"


def _day_rules(name: str, shelf: _Shelf, said: Mapping[str, Fraction], day: int,
               out: Fraction) -> Iterator[str]:  # fmt: skip
    lacking = shelf.take(out, day)
    if lacking:
        yield f"{name} uses {float(lacking)} on day {day} that is not there or past its days"
    spoilt = shelf.spoil(day)
    if said["spoilt"] != spoilt:
        yield f"{name} spoils {float(spoilt)} on day {day}, not {float(said['spoilt'])}"
    there = shelf.on_hand()
    if said["on_hand"] != there:
        yield f"{name} has {float(there)} on hand on day {day}, not {float(said['on_hand'])}"


def _same(
    key: str, name: str, row: Mapping[str, Any], days: Mapping[int, Fraction]
) -> Iterator[str]:
    for day, told in enumerate(row["days"]):
        if amount(told[key]) != days.get(day, 0):
            yield f"{name} has {told[key]} {key} on day {day}, not {float(days.get(day, 0))}"


def _booked(problem: BenchProblem, plan: Mapping[str, Any], cut: str) -> dict[int, Fraction]:
    """Return what bookings take of a cut on the day each is due."""
    found: dict[int, Fraction] = defaultdict(Fraction)
    told = by_key(plan["bookings"], "id")
    for booking in problem.bookings:
        for line in told[booking.id]["lines"]:
            if line["cut"] == cut:
                found[booking.due] += amount(line["met"])
    return found


def _sale_rules(problem: BenchProblem, cut: Cut, row: Mapping[str, Any]) -> Iterator[str]:
    """Shares of the day at each price add up to one at most; nothing sells on a closed day."""
    if len(row["days"]) != len(problem.days):
        yield f"{cut.id} does not tell every day once"
        return
    for day, told in enumerate(row["days"]):
        shares, slack, sold = 0.0, 0.0, Fraction(0)
        for one in told["at"]:
            step, weight = amount(one["step"]), amount(one["weight"])
            sold += weight
            most = float(cut.usual[day]) * float(step) ** -float(cut.elasticity)
            if step not in cut.steps or weight < 0 or (weight > STEP and not most):
                yield f"{cut.id} sells at a price that is not asked, or to nobody, on day {day}"
            elif most:
                shares += float(weight) / most
                slack += float(STEP) / most
        if sold != amount(told["sold"]):
            yield f"{cut.id} sells {told['sold']} on day {day}, but {float(sold)} at its prices"
        if sold and not problem.days[day].is_open:
            yield f"{cut.id} is sold on day {day}, when nobody is served"
        if shares > 1 + slack + 1e-9:
            yield f"{cut.id} sells more on day {day} than is bought at these prices"


def _room_rules(problem: BenchProblem, plan: Mapping[str, Any]) -> Iterator[str]:
    if problem.case_room is None:
        return
    # sales are cut off at the thousandth, so each cut may leave one more of them for the night
    room = problem.case_room + STEP * len(problem.cuts)
    # what has to be there may not fit; then the plan says by how much
    over = plan["case_room"].get("over")
    for day in range(len(problem.days)):
        there = total(amount(row["days"][day]["on_hand"]) for row in plan["cuts"])
        if amount(plan["case_room"]["used"][day]) != there:
            yield f"the case holds {float(there)} on the night of day {day}, not what is told"
        told = amount(over[day]) if over else Fraction(0)
        if over and told != max(Fraction(0), there - problem.case_room):
            yield f"the case is told {float(told)} over its room on the night of day {day}"
        elif there > room and not told:
            yield f"the case holds {float(there)} on the night of day {day}, over its room"
