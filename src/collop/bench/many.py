"""Cutting plans of many shops, and what they send one another.

Each shop is planned by itself, on any executor.  A linear program over the worths of those plans
(`collop.bench.transfers`) proposes what to send.  Each van is then put into the problems of its two
shops, both are planned anew with their breaks as they are, and the van goes only if the two plans,
less its cost, bring more than before, or let less be short.  One that brings much less than the
worths promised is tried day by day, then cut by cut.  All money is of those plans.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import Executor, Future
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from collop.bench.many_reading import Shop, moved, read_shops
from collop.bench.many_trial import Standing, Trip, carries, standing_of, with_loads
from collop.bench.plan import bench
from collop.bench.transfers import proposed
from collop.errors import CollopError, ProblemError
from collop.measures import decimal_of, minor_places

__all__ = ["PLAN_ID", "plan_many", "planned"]

PLAN_ID = "collop.benches.plan/1"
#: A part that promises less money than this is not tried by itself.
_LEAST_HOPE = 1.0
Json = dict[str, Any]


def planned(path: str, problem: object) -> Json:
    """Return one shop's plan; errors name the shop's path.  It can be sent to another process.

    Raises
    ------
    ProblemError
        If the problem cannot be read.
    """
    try:
        return bench(problem)
    except CollopError as error:
        raise moved(error, path) from None


@dataclass(slots=True)
class _Crew:
    """Whoever plans: an executor, or this process one shop after the other."""

    executor: Executor | None

    def plans(self, asked: Sequence[tuple[str, Json]]) -> list[Json | ProblemError]:
        """Return a plan for each (path, problem), in their order; a refusal in its place."""
        futures: list[Future[Json]] = []
        if self.executor is not None:
            futures = [self.executor.submit(planned, *one) for one in asked]
        found: list[Json | ProblemError] = []
        for at, one in enumerate(asked):
            try:
                found.append(futures[at].result() if futures else planned(*one))
            except ProblemError as error:
                found.append(error)
        return found


@dataclass(slots=True)
class _Together:
    """What has been decided: how each shop stands, which vans go, which do not."""

    shops: tuple[Shop, ...]
    standing: list[Standing]
    going: list[Trip] = field(default_factory=list)
    staying: list[Trip] = field(default_factory=list)


def plan_many(problem: object, executor: Executor | None = None) -> Json:
    """Return the plans of a ``collop.benches/1`` problem.

    Parameters
    ----------
    problem : object
        Shops, each with its ``collop.bench/1`` problem, and the vans between them; see
        ``docs/benches.md``.
    executor : concurrent.futures.Executor, optional
        Where the shops are planned; None is here, one after the other.  The answer is the same.

    Returns
    -------
    dict
        A ``collop.benches.plan/1`` plan.

    Raises
    ------
    ProblemError
        If the problem cannot be read; the message says which shop, what is wrong and where.
    """
    shops, links = read_shops(problem)
    crew = _Crew(executor)
    plans = []
    for found in crew.plans([(shop.path, shop.asked) for shop in shops]):
        if isinstance(found, ProblemError):
            raise found
        plans.append(found)
    loads = proposed([shop.problem for shop in shops], plans, links)
    trips = Trip.of(loads, links)
    together = _Together(
        shops, [standing_of(shop, plan, plan) for shop, plan in zip(shops, plans, strict=True)]
    )
    _try_all(together, trips, crew)
    _tell_reasons(together, crew)
    return _plan(together, plans)


def _try_all(together: _Together, trips: Sequence[Trip], crew: _Crew) -> None:
    """Try the vans that promise most first; vans of different shops are tried at once."""
    waiting = sorted(trips, key=lambda trip: (-trip.urgency, trip.key))
    while waiting:
        now, busy, later = [], set[int](), []
        for trip in waiting:
            if busy.isdisjoint(trip.shops):
                now.append(trip)
            else:
                later.append(trip)
            busy.update(trip.shops)
        asked = [
            (together.shops[at].path, problem)
            for trip in now
            for at, problem in zip(trip.shops, _problems(together, trip), strict=True)
        ]
        answers = crew.plans(asked)
        for number, trip in enumerate(now):
            later.extend(_decide(together, trip, answers[2 * number : 2 * number + 2]))
        waiting = later


def _vans_of(together: _Together, at: int) -> list[Trip]:
    return [trip for trip in together.going if at in trip.shops]


def _problems(together: _Together, trip: Trip) -> Iterator[Json]:
    """Yield the problems of the two shops with this van and those that go already."""
    for at in trip.shops:
        vans = [*_vans_of(together, at), trip]
        yield with_loads(together.shops[at], together.standing[at].first, at, vans)


def _decide(
    together: _Together, trip: Trip, answers: Sequence[Json | ProblemError]
) -> Iterator[Trip]:
    """Let a van go or stay; yield its parts if together they bring less than was hoped."""
    before = [together.standing[at] for at in trip.shops]
    after = []
    for at, old, plan in zip(trip.shops, before, answers, strict=True):
        # a shop at the limit of what a problem may hold takes no more
        if not isinstance(plan, ProblemError):
            shop = together.shops[at]
            if carries(shop, at, plan, [*_vans_of(together, at), trip]):
                after.append(standing_of(shop, plan, old.first))
    if len(after) == len(before):
        more = sum((one.money for one in after), Fraction(0))
        trip = trip.with_gain(more - sum(one.money for one in before) - trip.cost)
        if trip.pays(before, after) and trip.is_as_hoped(before, after):
            for at, now in zip(trip.shops, after, strict=True):
                together.standing[at] = now
            together.going.append(trip)
            return
    parts = trip.parts()
    if len(parts) == 1:
        together.staying.append(trip)
        return
    for part in parts:
        if part.urgency >= _LEAST_HOPE:
            yield part
        else:
            together.staying.append(part)


def _tell_reasons(together: _Together, crew: _Crew) -> None:
    """Ask the reasons of the plans that a van has changed, where they were asked for."""
    changed = [
        at for at, shop in enumerate(together.shops)
        if shop.problem.reasons and any(at in trip.shops for trip in together.going)
    ]  # fmt: skip
    asked = [
        (together.shops[at].path,
         with_loads(together.shops[at], together.standing[at].first, at, _vans_of(together, at),
                    reasons=True))
        for at in changed
    ]  # fmt: skip
    for at, plan in zip(changed, crew.plans(asked), strict=True):
        if isinstance(plan, dict):
            first = together.standing[at].first
            together.standing[at] = standing_of(together.shops[at], plan, first)


def _plan(together: _Together, plans: Sequence[Json]) -> Json:
    first = together.shops[0].problem
    money = _Money(first.currency, first.rounding)
    alone = sum((Fraction(plan["contribution"]) for plan in plans), Fraction(0))
    cost = sum((money.rounded(trip.cost) for trip in together.going), Fraction(0))
    whole = sum((one.money for one in together.standing), Fraction(0))
    going = sorted(together.going, key=lambda trip: trip.key)
    staying = sorted(together.staying, key=lambda trip: trip.key)
    return {
        "schema": PLAN_ID,
        "currency": first.currency,
        "unit": first.unit,
        "days": [day.date.isoformat() for day in first.days],
        "shops": [
            {"id": shop.id, "name": shop.name, "alone": plan["contribution"],
             "contribution": money.text(stands.money), "plan": stands.plan}
            for shop, plan, stands in zip(together.shops, plans, together.standing, strict=True)
        ],
        "transfers": [trip.told(together.shops, money.text) for trip in going],
        "dropped": [trip.told(together.shops, money.text) for trip in staying],
        "alone": money.text(alone),
        "cost": money.text(cost),
        "contribution": money.text(whole - cost),
        "gain": money.text(whole - cost - alone),
        "assumptions": _assumptions(together),
    }  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Money:
    currency: str
    rounding: Any

    def rounded(self, amount: Fraction) -> Fraction:
        return Fraction(decimal_of(amount, minor_places(self.currency), self.rounding))

    def text(self, amount: Fraction) -> str:
        return f"{decimal_of(amount, minor_places(self.currency), self.rounding):f}"


def _assumptions(together: _Together) -> list[str]:
    found = []
    if together.going:
        found.append(
            "A shop that sends or gets something keeps the breaks of its plan by itself; only "
            "where the meat goes is planned anew."
        )
        found.append(
            "What leaves stands in its shop's plan as a booking at next to nothing; what arrives, "
            "as a piece that is put into the case on that day."
        )
    return found
