"""The list of the cutting room: every line of work in the order it is best done, with its marks.

Lines due before the next clean-down come first. Of what is due together those with allergens come
last, so that a clean-down follows them. Then the hour counts, and of one hour like work stands
together: one station, one animal, the higher cooking temperature later. What is made for the case
is due at no hour and comes after that, the grinding for it first. That order is common practice, no
published source.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

from sqlalchemy.engine import Connection

from collop.measures import Weight, WeightUnit
from collop.shop.bench_list_breaks import breaks_of
from collop.shop.bench_list_lines import PAST_DAYS, Work, work_of
from collop.shop.bench_list_model import BenchLine, BenchList, CleanDue, Kind, Station
from collop.shop.bench_marks import Mark, load_marks
from collop.shop.case import load_case
from collop.shop.clean_downs import clean_between, clean_due
from collop.shop.model import CaseLine, Settings, State

__all__ = ["load_bench"]

#: A line of the case that lasts less than so many days is thin.
_THIN_DAYS = 2
_MOST_THIN = 8
_FIRST_HEAT = Decimal(0)


def _line_of(line_id: str, shown: Mapping[str, Any]) -> BenchLine:
    """Return a line as it was last seen, cancelled since."""
    return BenchLine(
        id=line_id, kind=Kind(shown["kind"]), station=Station(shown["station"]),
        what=shown["what"], species=shown["species"],
        weight=Weight(shown["weight"], WeightUnit(shown["unit"])),
        due=datetime.fromisoformat(shown["due"]), how=tuple(shown["how"]),
        case_id=shown["case_id"], booking_id=shown["booking_id"], who=shown["who"],
        contains=tuple(shown["contains"]), casing=shown["casing"],
        cares=tuple(shown["cares"]), is_off=True,
    )  # fmt: skip


def _was_called_off(line: BenchLine, work: Work, day: date, *, has_plan: bool) -> bool:
    """Tell whether a line that was seen and is there no more was cancelled."""
    if line.kind.is_planned:
        return has_plan and line.due.date() >= day
    state = work.states.get(line.booking_id or "")
    return state is State.OFF or (state is State.BOOKED and line.kind is Kind.WANTED)


def _off(
    work: Work, marks: Mapping[str, Mark], now: datetime, day: date, *, has_plan: bool
) -> Iterable[BenchLine]:
    """Yield the cancelled lines that nobody has touched yet."""
    known = {line.id for line in work.lines}
    since = now - timedelta(days=PAST_DAYS)
    for line_id, mark in marks.items():
        if line_id in known or mark.is_crossed or mark.shown is None or mark.seen_at is None:
            continue
        line = _line_of(line_id, mark.shown)
        if mark.seen_at >= since and _was_called_off(line, work, day, has_plan=has_plan):
            yield replace(line, done=mark.done)


def _was(line: BenchLine, shown: Mapping[str, Any]) -> dict[str, Any]:
    """Return the facts that changed since a line was seen, as they were."""
    found: dict[str, Any] = {}
    weight = Weight(shown["weight"], WeightUnit(shown["unit"]))
    if weight != line.weight:
        found["weight"] = weight
    pieces = None if line.pieces is None else len(line.pieces)
    if shown["pieces"] != pieces:
        found["pieces"] = shown["pieces"]
    if datetime.fromisoformat(shown["due"]) != line.due:
        found["due"] = datetime.fromisoformat(shown["due"])
    for name in ("what", "who", "casing"):
        if shown[name] != getattr(line, name):
            found[name] = shown[name] or "none"
    for name in ("how", "contains", "cares"):
        if tuple(shown[name]) != getattr(line, name):
            found[name] = "; ".join(shown[name]) or "nothing"
    return found


def _marked(line: BenchLine, mark: Mark | None, *, was_seen: bool) -> BenchLine:
    """Return a line with what its marks say."""
    if mark is None or mark.shown is None:
        return replace(line, is_new=was_seen)
    was = None if mark.done else _was(line, mark.shown)
    return replace(line, was=was or None, done=mark.done)


def _before_clean_down(line: BenchLine, clean: CleanDue) -> bool:
    return clean.due is not None and not clean.is_late and line.due <= clean.due


def _order(line: BenchLine, day: date, clean: CleanDue) -> tuple[Any, ...]:
    """Return what lines are sorted by."""
    heat = line.cook_f if line.cook_f is not None else _FIRST_HEAT
    return (
        not _before_clean_down(line, clean), max(line.due.date(), day), bool(line.contains),
        # what is late is due now, so a make of yesterday comes after it as well
        line.kind.is_planned, line.kind is Kind.MAKE, line.due, line.station.order, heat,
        line.species, line.case_id or "", line.kind is Kind.WANTED, line.id,
    )  # fmt: skip


def _numbered(lines: Iterable[BenchLine], marks: Mapping[str, Mark]) -> list[BenchLine]:
    """Give each line the number it has today, else the lowest that is left."""
    taken = {mark.number for mark in marks.values() if mark.number is not None}
    found, free = [], 1
    for line in lines:
        mark = marks.get(line.id)
        number = mark.number if mark else None
        if number is None:
            while free in taken:
                free += 1
            number = free
            free += 1
        found.append(replace(line, number=number))
    return found


def _with_cleaning(
    lines: Sequence[BenchLine], finished: Sequence[BenchLine], clean: CleanDue, today: date
) -> tuple[BenchLine, ...]:
    """Say where a station must be cleaned because another animal was on it."""
    on: dict[Station, tuple[str, Decimal | None]] = {}
    for line in reversed(finished):
        after = line.done is not None and (clean.last is None or line.done.at > clean.last)
        if after and line.cook_f is not None:
            on[line.station] = (line.species, line.cook_f)
    found, day = [], None
    for line in lines:
        if line.is_off or line.cook_f is None:
            found.append(line)
            continue
        part = (_before_clean_down(line, clean), max(line.due.date(), today))
        if day not in {None, part}:
            on = {}  # there is a clean-down between the two
        now, day = (line.species, line.cook_f), part
        found.append(replace(line, clean_first=clean_between(on.get(line.station), now)))
        on[line.station] = now
    return tuple(found)


def _digest(lines: Iterable[BenchLine]) -> str:
    facts = [[one.id, one.number, one.is_off, one.shown()] for one in lines]
    return hashlib.sha256(json.dumps(facts, sort_keys=True).encode()).hexdigest()[:16]


def _thin(case: Iterable[CaseLine]) -> tuple[str, ...]:
    """Return the names of what lasts less than two days, the thinnest first."""
    found = [
        (line.cover_days, line.name)
        for line in case
        if line.cover_days is not None and line.cover_days < _THIN_DAYS and line.form == "fresh"
    ]
    return tuple(name for _, name in sorted(found))[:_MOST_THIN]


def _split(
    work: Work, marks: Mapping[str, Mark], day: date
) -> tuple[list[BenchLine], list[BenchLine]]:
    """Return the lines that wait, and those finished on the day, newest first."""
    was_seen = any(mark.is_seen for mark in marks.values())
    lines = [_marked(one, marks.get(one.id), was_seen=was_seen) for one in work.lines]
    open_ = [one for one in lines if one.done is None and one.id in work.waiting]
    closed = [(one.done.at, one.id, one) for one in lines if one.done and one.done.at.date() == day]
    return open_, [one for _, _, one in sorted(closed, key=lambda found: found[:2], reverse=True)]


def load_bench(
    conn: Connection, now: datetime, chosen: Settings, plan: Mapping[str, Any] | None,
    plan_at: datetime | None = None,
) -> BenchList:  # fmt: skip
    """Return the list of the cutting room.

    Parameters
    ----------
    conn : Connection
        Reading connection; nothing is written.
    now : datetime
        The moment, shop-local; its day is that of the list.
    chosen : Settings
        The shop's.
    plan : mapping, optional
        The kept ``collop.bench.plan/1``, for makes, grinds and breaks; left out, breaks come from
        the days planned on the rail and there are no makes and grinds.
    plan_at : datetime, optional
        When that plan was made.
    """
    day = now.date()
    work, marks = work_of(conn, day, chosen, plan), load_marks(conn, day, now)
    clean = clean_due(conn, now, chosen)
    open_, finished = _split(work, marks, day)
    off = list(_off(work, marks, now, day, has_plan=plan is not None))
    ordered = sorted([*open_, *off], key=lambda one: _order(one, day, clean))
    numbered = _numbered([*ordered, *finished], marks)
    lines, finished = numbered[: len(ordered)], numbered[len(ordered) :]
    was_seen = any(mark.is_seen for mark in marks.values())
    return BenchList(
        at=now, day=day, lines=_with_cleaning(lines, finished, clean, day),
        finished=tuple(finished), breaks=breaks_of(conn, now, chosen, plan), clean=clean,
        thin=_thin(load_case(conn, now, chosen)), digest=_digest(lines), was_seen=was_seen,
        has_news=any(one.is_new or one.is_changed for one in lines)
        or any(one.is_open and _unseen(one, marks) for one in lines),
        plan_at=plan_at,
    )  # fmt: skip


def _unseen(line: BenchLine, marks: Mapping[str, Mark]) -> bool:
    """Tell whether a line was not seen on the day."""
    mark = marks.get(line.id)
    return mark is None or mark.number is None
