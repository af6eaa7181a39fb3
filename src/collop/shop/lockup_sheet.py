"""The sheet of an evening: the lines to count, what was done with them, and what is still open."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.chalk.counting import counting
from collop.chalk.counting_reading import MOST_LINES, USUAL_LINES
from collop.errors import BadValue
from collop.measures import Money, Weight, sum_money
from collop.shop.ageing import CaseView, load_view
from collop.shop.case import load_case
from collop.shop.costing import CaseCost, known_costs
from collop.shop.day_model import DayGap
from collop.shop.freezer_words import is_freezer_line
from collop.shop.hook import bookings_between
from collop.shop.lockup_model import CARRIED_OVER, LockedLine, LockLine, LockUp
from collop.shop.lockup_notes import entries_of, lock_of, writes_after
from collop.shop.lockup_paid import owed_by_day, unpaid_of_day
from collop.shop.lockup_problem import counting_problem, next_open
from collop.shop.lockup_ways import Evening, ways_of
from collop.shop.model import Booking, CaseLine, Settings
from collop.shop.moves import best_moves
from collop.shop.store import AnyRow
from collop.shop.tables import case_lines
from collop.shop.week_tables import lock_ups

__all__ = ["Chosen", "choose", "load_sheet", "open_bookings"]

#: Bookings older than this and never handed over are no longer asked about: a figure of ours.
LOOK_BACK = timedelta(days=14)


@dataclass(frozen=True, slots=True)
class Chosen:
    """What was chosen to be counted: the problem, the plan over all lines, and the case."""

    problem: Mapping[str, Any]
    plan: Mapping[str, Any]
    lines: Mapping[str, CaseLine]
    opens: date

    def told(self, case_id: str) -> Mapping[str, Any] | None:
        """Return what the plan says of a line; None if nothing of it is at risk."""
        return next((one for one in self.plan["lines"] if one["id"] == case_id), None)

    def at_risk(self, case_id: str, chosen: Settings) -> Money:
        """Return the money at risk in a line."""
        told = self.told(case_id)
        return Money.of(told["at_risk"] if told else 0, chosen.currency)


def choose(conn: Connection, now: datetime, chosen: Settings, day: date) -> Chosen:
    """Return every line by the money at risk; the sheet has the first of them."""
    # packs of freezer orders were weighed when they were packed, and lie in the freezer
    lines = [line for line in load_case(conn, now, chosen) if not is_freezer_line(line.name)]
    opens = next_open(day, chosen)
    problem = counting_problem(conn, lines, chosen, day, opens=opens, most=USUAL_LINES)
    plan = counting(problem | {"most": MOST_LINES})
    return Chosen(problem, plan, {line.id: line for line in lines}, opens)


def open_bookings(
    conn: Connection, day: date, chosen: Settings
) -> tuple[tuple[Booking, ...], tuple[tuple[Booking, str], ...]]:
    """Return the bookings due by the end of `day` that were neither handed over nor taken off.

    The first are those that a word is wanted for. One of which an earlier lock-up said that it is
    gone, off or short is not asked about again: it is told with that word, as it still holds.
    """
    first = day - LOOK_BACK
    query = select(lock_ups.c.facts).where(lock_ups.c.day >= first).order_by(lock_ups.c.number)
    said = {
        one["booking"]: one["word"]
        for facts in conn.scalars(query)
        for one in facts["open_bookings"]
    }
    found = [one for one in bookings_between(conn, first, day, chosen) if one.state.holds]
    asked = tuple(one for one in found if said.get(one.id, CARRIED_OVER) == CARRIED_OVER)
    told = tuple((one, said[one.id]) for one in found if one not in asked)
    return asked, told


def _wanted(
    plan: Mapping[str, Any], entries: Mapping[str, tuple[LockedLine, ...]], also: str | None,
    known: Mapping[str, CaseLine],
) -> list[str]:  # fmt: skip
    """Return the lines of the sheet in order: what was worked on tonight keeps its place."""
    risk = {one["id"]: Money.of(one["at_risk"], plan["currency"]).minor for one in plan["lines"]}
    skipped = {one["id"] for one in plan["lines"] if one["skipped"]}
    for case_id, told in entries.items():
        risk[case_id] = told[0].at_risk.minor
    mine = [case_id for case_id in entries if case_id in known]
    rest = [one["id"] for one in plan["lines"] if one["id"] not in entries]
    wanted = [*mine, *rest[: max(0, USUAL_LINES - len(mine))]]
    wanted.sort(key=lambda name: (name not in skipped, -risk.get(name, 0), name))
    if also in known and also not in wanted:
        wanted.append(str(also))
    return wanted


@dataclass(frozen=True, slots=True)
class _Room:
    """What every line of the sheet is told from."""

    chosen: Settings
    found: Chosen
    view: CaseView
    rows: Mapping[str, AnyRow]
    entries: Mapping[str, tuple[LockedLine, ...]]
    costs: Mapping[str, CaseCost]

    def line(self, case_id: str) -> LockLine:
        """Return one line of the sheet."""
        line, told = self.found.lines[case_id], self.found.told(case_id)
        given = next(one for one in self.found.problem["lines"] if one["id"] == case_id)
        passes = Weight.of(given["passes"], self.chosen.legal_unit)
        entries = self.entries.get(case_id, ())
        cost = self.costs.get(case_id)
        at_risk = entries[0].at_risk if entries else self.found.at_risk(case_id, self.chosen)
        evening = Evening(self.view, line, self.rows[case_id], passes, self.found.opens)
        return LockLine(
            case_id=case_id, name=line.name, form=line.form, price=line.price,
            cost=None if cost is None else cost.per_unit, expected=line.on_hand,
            booked=line.booked, free=line.free, past=line.past, passes=passes,
            pieces=line.piece_lb, use_by=line.use_by, days_left=line.days_left, at_risk=at_risk,
            say=told["say"] if told else "Nothing is at risk by the book.",
            is_skipped=bool(given["skipped"]), entries=entries, ways=ways_of(evening),
        )  # fmt: skip


def load_sheet(
    conn: Connection, now: datetime, chosen: Settings, day: date, *, also: str | None = None,
    gaps: Sequence[DayGap] = (),
) -> LockUp:  # fmt: skip
    """Return the sheet of a day.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    now : datetime
        The moment; stock and prices are those of now.
    chosen : Settings
        The shop's choices.
    day : date
        Today, or a day before it: then only what was written down of it is told.
    also : str, optional
        A line that is told too, chosen or not.
    gaps : sequence of DayGap
        What the Day Book lacks on that day.

    Raises
    ------
    BadValue
        If the day is still to come.
    """
    if day > now.date():
        raise BadValue(f"Day: {day:%a %d %b} is still to come; lock up today.", where="day")
    locked, found = lock_of(conn, day), choose(conn, now, chosen, day)
    entries = entries_of(conn, day, chosen, None if locked is None else locked.at)
    view = load_view(conn, now, chosen)
    rows = {row.id: row for row in conn.execute(select(case_lines))}
    is_today = day == now.date()
    plan = found.plan if is_today else {**found.plan, "lines": []}
    wanted = _wanted(plan, entries, also, found.lines)
    room = _Room(chosen, found, view, rows, entries, known_costs(conn, chosen))
    lines = tuple(room.line(case_id) for case_id in wanted)
    is_last = found.opens != day + timedelta(days=1)
    asked, told = open_bookings(conn, day, chosen)
    coming = bookings_between(conn, day + timedelta(days=1), found.opens, chosen)
    return LockUp(
        day=day, at=now, next_open=found.opens, lines=lines,
        others=len(found.lines) - len(lines), at_risk=Money.of(found.plan["at_risk"],
                                                               chosen.currency),
        covered=sum_money((line.at_risk for line in lines), chosen.currency),
        notes=tuple(found.plan["assumptions"]),
        moves=best_moves(view) if is_today and is_last else (), is_last_day=is_last,
        open_bookings=asked, told_bookings=told,
        coming=tuple(one for one in coming if one.state.holds), gaps=tuple(gaps),
        unpaid=unpaid_of_day(conn, day, chosen),
        owed=owed_by_day(conn, day - LOOK_BACK, day, chosen), locked=locked,
        after=writes_after(conn, locked), problem=found.problem,
    )  # fmt: skip
