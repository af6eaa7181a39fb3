"""The bench: the shop's cutting plan, kept; what a pound more is worth; what bookings want cut."""

from __future__ import annotations

import json
from collections import OrderedDict
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from datetime import date, datetime
from decimal import Decimal
from threading import Lock
from typing import Any

from collop.errors import StorageTrouble
from collop.measures import Weight
from collop.shop import bench_wants
from collop.shop.acts import Room
from collop.shop.bench_kept import (
    before_of,
    begun_at,
    keep_plan,
    latest_plan,
    newest_note,
    version_of,
)
from collop.shop.bench_list_room import BenchListRoom
from collop.shop.bench_model import KeptPlan, PlanInWork, PlanNote, Want
from collop.shop.bench_problem import bench_problem
from collop.shop.bench_worth import worth_sold
from collop.shop.farm_problem import farm_problem
from collop.shop.settings import load_settings

__all__ = ["BenchRoom"]

#: Whoever finds a plan in work waits so long for it.
_WAITS_S = 20.0
_MOST_RIVALS = 24
_IN_WORK = "A plan is being made; look again in a minute."
_LOST = "The plan was made and cannot be read again; plan again."


class BenchRoom(BenchListRoom):
    """The cutting plan and the list of the cutting room. Reached as `Shop.bench`.

    Safe to share between threads; one plan is worked out at a time.

    Parameters
    ----------
    room : Room
        Database and clock.
    """

    def __init__(self, room: Room) -> None:
        super().__init__(room)
        self._lock = Lock()
        self._rivals: OrderedDict[str, dict[str, Any]] = OrderedDict()

    @contextmanager
    def _alone(self) -> Iterator[None]:
        """Let one plan be worked out at a time.

        Raises
        ------
        PlanInWork
            If another took too long.
        """
        if not self._lock.acquire(timeout=_WAITS_S):
            raise PlanInWork(_IN_WORK)
        try:
            yield
        finally:
            self._lock.release()

    def _now(self) -> datetime:
        return self._room.clock.now()

    # the plan

    def _asked(
        self, locks: Iterable[Mapping[str, Any]], days: int, start: date | None, *, reasons: bool
    ) -> tuple[dict[str, Any], tuple[str, ...], list[Any]]:
        """Return problem, sentences and version, all of one moment."""
        now = self._now()
        with self._room.store.read() as conn:
            chosen = load_settings(conn)
            before = before_of(latest_plan(conn, now), start or now.date())
            problem, notes = bench_problem(
                conn, now, chosen, locks=locks, before=before, days=days, start=start,
                reasons=reasons,
            )  # fmt: skip
            return problem, notes, version_of(conn, now)

    def problem(
        self, *, locks: Iterable[Mapping[str, Any]] = (), days: int = 7, reasons: bool = True,
        start: date | None = None,
    ) -> dict[str, Any]:  # fmt: skip
        """Return the ``collop.bench/1`` problem of the shop as it stands.

        Parameters
        ----------
        locks : iterable of mapping
            Decisions taken: ``tag``, ``style`` (None: it is kept) and ``day`` (None: any).
        days : int
            Days of the plan, from 1 to 14.
        reasons : bool
            Whether runners-up and what saves a short booking are worked out.
        start : date, optional
            Day 0, by default today.

        Raises
        ------
        BadValue
            If the days are out of range or over.
        """
        return self._asked(locks, days, start, reasons=reasons)[0]

    def plan(
        self, *, locks: Iterable[Mapping[str, Any]] = (), days: int = 7, reasons: bool = True,
        start: date | None = None,
    ) -> dict[str, Any]:  # fmt: skip
        """Return the ``collop.bench.plan/1`` of the shop as it stands; nothing is kept.

        What it is asked is told at `problem`; its assumptions say too what the shop took for
        granted.

        Raises
        ------
        ProblemError
            If the days, or a lock, cannot be.
        PlanInWork
            If another plan is worked out and takes long.
        """
        problem, notes, _ = self._asked(locks, days, start, reasons=reasons)
        with self._alone():
            return _planned(problem, notes)

    def rival(self, kept: KeptPlan, locks: Iterable[Mapping[str, Any]]) -> dict[str, Any]:
        """Return the plan of the very problem a kept plan answers, with decisions of a person.

        Day, hour and weights are those of the kept plan, so that the two differ by the decisions
        alone; nothing is kept but a few answers in memory. Decisions that are the plan's own give
        the plan itself: it is as good an answer with them as without.

        Parameters
        ----------
        kept : KeptPlan
            Plan in force.
        locks : iterable of mapping
            As at `problem`; they count before the kept problem's own for the same piece.

        Raises
        ------
        ProblemError
            If a lock cannot be.
        PlanInWork
            If another plan is worked out and takes long.
        """
        wanted = [dict(one) for one in locks]
        if all(_is_own(kept, one) for one in wanted):
            return dict(kept.plan)
        key = json.dumps([kept.number, kept.at.isoformat(), wanted], sort_keys=True)
        if (known := self._rivals.get(key)) is not None:  # no need to wait for a plan in work
            return known
        with self._alone():
            if key not in self._rivals:
                self._rivals[key] = _planned(_locked(kept, wanted), ())
                if len(self._rivals) > _MOST_RIVALS:
                    self._rivals.popitem(last=False)
            return self._rivals[key]

    def refresh(
        self, *, force: bool = False, shown: int | None = None,
        step: Callable[[str], None] | None = None,
    ) -> KeptPlan:  # fmt: skip
        """Return a plan of the shop as it stands, kept.

        A new one is worked out, and kept, only if something was weighed, booked, priced, planned or
        chosen since the last, or the day is another; or if `force` is given.

        Parameters
        ----------
        force : bool
            Plan even if nothing moved.
        shown : int, optional
            Number of the plan the person looks at, 0 for none: a newer one of the shop as it stands
            is returned and none is made, whatever `force` is.
        step : callable, optional
            Told "reading", "planning" and "keeping" as each begins; what it raises ends the work,
            and nothing is kept.

        Raises
        ------
        PlanInWork
            If another plan is worked out and takes long.
        """
        tell = step or (lambda _step: None)
        with self._alone():
            newest = self.newest()
            is_seen = newest is None or shown is None or newest.number <= shown
            if newest is None or not newest.is_current or (force and is_seen):
                tell("reading")
                with self._room.store.read() as conn:
                    after = begun_at(conn)
                problem, notes, version = self._asked((), 7, None, reasons=True)
                tell("planning")
                plan = _planned(problem, notes)
                tell("keeping")
                keep_plan(self._room, version, problem, plan, after=after)
            found = self.latest()
        if found is None:
            raise StorageTrouble(_LOST)
        return found

    def newest(self) -> PlanNote | None:
        """Return number, hour and changes of the newest kept plan; None if there is none yet."""
        with self._room.store.read() as conn:
            return newest_note(conn, self._now())

    def latest(self, number: int | None = None) -> KeptPlan | None:
        """Return the newest kept plan, or None if there is none yet.

        Parameters
        ----------
        number : int, optional
            Of the plan wanted; the newest is given for one that is not there.
        """
        with self._room.store.read() as conn:
            found = None if number is None else latest_plan(conn, self._now(), number=number)
            return found or latest_plan(conn, self._now())

    def version(self) -> tuple[Any, ...]:
        """Return numbers that move with all a plan rests on: while they stand, no plan is due."""
        with self._room.store.read() as conn:
            return tuple(version_of(conn, self._now()))

    def worths(
        self, on: date | None = None, *, number: int | None = None
    ) -> dict[str, Decimal]:  # fmt: skip
        """Return what a legal unit of each cut that is sold is worth elsewhere, by case line.

        Parameters
        ----------
        on : date, optional
            Day of use, by default today; outside the plan, its nearest day.
        number : int, optional
            Of the kept plan; see `latest`.

        Returns
        -------
        dict of str to Decimal
            Of the plan, see `worth_sold`; empty without one, or if its days are over.
        """
        kept, today = self.latest(number), self._now().date()
        if kept is None:
            return {}
        days = [date.fromisoformat(day) for day in kept.plan["days"]]
        if days[-1] < today:
            return {}
        at = min(len(days) - 1, max(0, ((on or today) - days[0]).days))
        return {cut["id"]: worth_sold(cut, at) for cut in kept.plan["cuts"]}

    # how many animals to order

    def _farm(self, week_of: date | None) -> tuple[dict[str, Any], tuple[str, ...]]:
        now = self._now()
        with self._room.store.read() as conn:
            return farm_problem(conn, now, load_settings(conn), week_of=week_of,
                                kept=latest_plan(conn, now))  # fmt: skip

    def farm_problem(self, week_of: date | None = None) -> dict[str, Any]:
        """Return the ``collop.farmcall/1`` problem of a week.

        Parameters
        ----------
        week_of : date, optional
            Any day of it, by default of the next.

        Raises
        ------
        BadValue
            If the week is over or more than half a year ahead.
        WrongState
            If no animal with a price came yet, or no line on the board is cut here.
        """
        return self._farm(week_of)[0]

    def farm_notes(self, week_of: date | None = None) -> tuple[str, ...]:
        """Return what the shop takes for granted in that problem, one sentence each."""
        return self._farm(week_of)[1]

    def farm_plan(self, week_of: date | None = None) -> dict[str, Any]:
        """Return the ``collop.farmcall.plan/1`` of a week; see `farm_problem`."""
        from collop.bench.farmcall import farmcall  # noqa: PLC0415 -- seldom needed, and slow

        problem, notes = self._farm(week_of)
        plan: dict[str, Any] = farmcall(problem)
        return plan | {"assumptions": [*notes, *plan["assumptions"]]}

    # what bookings want cut

    def want(
        self, booking_id: str, case_id: str, weight: Weight, *, by: str, key: str, note: str = ""
    ) -> None:
        """Write what a booking wants of a line beyond what is reserved; 0 takes it back.

        The newest word counts; what is reserved of the line afterwards is taken off it.

        Raises
        ------
        BadValue, NotFound, WrongState
            If the weight is none, or there is no such booking or line, or the booking is over.
        """
        bench_wants.want(self._room, booking_id, case_id, weight, by=by, note=note, key=key)

    def wants(self) -> tuple[Want, ...]:
        """Return what bookings that still hold want, soonest collected first."""
        with self._room.store.read() as conn:
            return bench_wants.load_wants(conn, load_settings(conn))


def _is_own(kept: KeptPlan, lock: Mapping[str, Any]) -> bool:
    """Tell whether a kept plan does what a decision asks."""
    done = [one for one in kept.plan["breaks"] if one["tag"] == lock["tag"] and one["of"] is None]
    if lock["style"] is None:
        return not done and any(one["tag"] == lock["tag"] for one in kept.plan["kept"])
    return any(one["style"] == lock["style"] and lock["day"] in {None, one["day"]} for one in done)


def _locked(kept: KeptPlan, locks: list[dict[str, Any]]) -> dict[str, Any]:
    """Return the problem of a kept plan with decisions more; the plan's breaks are the start."""
    own = {one["tag"] for one in locks}
    others = [one for one in kept.problem["locks"] if one["tag"] not in own]
    first = date.fromisoformat(kept.plan["days"][0])
    return {
        **kept.problem, "locks": [*locks, *others], "before": before_of(kept, first),
        "reasons": False,
    }  # fmt: skip


def _planned(problem: dict[str, Any], notes: tuple[str, ...]) -> dict[str, Any]:
    from collop.bench import bench  # noqa: PLC0415 -- opening a shop does not need it

    plan: dict[str, Any] = bench(problem)
    return plan | {"assumptions": [*notes, *plan["assumptions"]]}
