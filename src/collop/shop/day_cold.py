"""Cold checks against their rounds, and how long a place was over its limit.

A round opens an hour before its time, is in time until an hour after it, and ends where the next
one opens, or at midnight; then what was not read is a gap, and stays one. Common practice, no
published source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from itertools import groupby, pairwise

from sqlalchemy.engine import Connection

from collop.measures import Temperature
from collop.reference.rulebook import rule_row
from collop.rules.limits import Limit, Reading, is_over, time_above
from collop.shop.day_checks_lines import check_lines, first_written
from collop.shop.day_model import DayGap, DayLine, OverLimit, Place, Round, RoundState
from collop.shop.day_places import PlaceBook
from collop.shop.model import Settings

__all__ = ["AGAIN_AFTER", "ColdBook", "hours_of", "load_cold"]

#: A place over its limit is read again within so long: ours.
AGAIN_AFTER = timedelta(minutes=30)
_AROUND = timedelta(hours=1)
_ENTERED_AFTER = timedelta(minutes=15)
# a good reading before the first day asked bounds what was over on it
_BEFORE = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class ColdBook:
    """Cold checks of some days.

    Parameters
    ----------
    lines : sequence of DayLine
        Every cold check from some days before the first, by time.
    places : PlaceBook
        What was to be read.
    hours : sequence of (date, tuple of time)
        From which day on cold was to be read at which hours.
    settings : Settings
        Which days are open.
    now : datetime
        Shop-local.
    """

    lines: Sequence[DayLine]
    places: PlaceBook
    hours: Sequence[tuple[date, tuple[time, ...]]]
    settings: Settings
    now: datetime

    def standing(self) -> dict[str, list[DayLine]]:
        """Return the readings that count, by place and time."""
        found: dict[str, list[DayLine]] = {}
        for line in self.lines:
            if line.stands and line.reading is not None:
                found.setdefault(line.subject, []).append(line)
        return found

    def rounds(self, first: date, last: date) -> list[Round]:
        """Return every check that was to be made on open days, by time and place."""
        standing, written = self.standing(), first_written(self.lines)
        found = []
        for step in range((last - first).days + 1):
            day = first + timedelta(days=step)
            if not self.settings.is_open(day):
                continue
            by_day = {
                key: [line for line in lines if line.done_at.date() == day]
                for key, lines in standing.items()
            }
            for due, opens, ends in _windows(day, hours_of(self.hours, day)):
                for place in self.places.places.values():
                    if self.places.was_read(place.id, due):
                        there = (line for line in by_day.get(place.id, ())
                                 if opens <= line.done_at < ends)  # fmt: skip
                        found.append(_round(place, (due, opens, ends), there, written, self.now))
        return found

    def gaps(self, first: date, last: date) -> list[DayGap]:
        """Return the checks that were not made, and those entered long after."""
        return [
            DayGap("cold", one.place.name, one.due, _gap_words(one), one.line)
            for one in self.rounds(first, last)
            if one.state in {RoundState.GAP, RoundState.ENTERED}
        ]

    def over(self, first: date, last: date) -> list[OverLimit]:
        """Return each time a place was over its limit that touches these days."""
        found = []
        for lines in self.standing().values():
            found += [
                one
                for one in _events(lines, self.now)
                if one.first.date() <= last and (one.is_open or one.last.date() >= first)
            ]
        return sorted(found, key=lambda one: (one.first, one.name))

    def again(self) -> list[tuple[Place, datetime, DayLine]]:
        """Return the places to be read again, until when, and the reading that was over."""
        standing = self.standing()
        found = []
        for place in self.places.read_now():
            last = next(reversed(standing.get(place.id, [])), None)
            if last is not None and last.is_over:
                found.append((place, last.done_at + AGAIN_AFTER, last))
        return sorted(found, key=lambda one: one[1])


def load_cold(
    conn: Connection, book: tuple[PlaceBook, Sequence[tuple[date, tuple[time, ...]]]],
    chosen: Settings, span: tuple[date, date], now: datetime,
) -> ColdBook:  # fmt: skip
    """Return the cold checks of the days of `span`, and of a week before them."""
    since = datetime.combine(span[0], time()) - _BEFORE
    until = datetime.combine(span[1], time()) + timedelta(days=1) + _BEFORE
    lines = check_lines(conn, since, until, kind="cold")
    return ColdBook(lines, *book, chosen, now)


def hours_of(changes: Sequence[tuple[date, tuple[time, ...]]], day: date) -> tuple[time, ...]:
    """Return at which hours cold was to be read on a day."""
    return [hours for since, hours in changes if since <= day][-1]


def _windows(day: date, hours: Sequence[time]) -> Iterator[tuple[datetime, datetime, datetime]]:
    """Yield when each round is due, opens and ends."""
    due = [datetime.combine(day, hour) for hour in hours]
    opens = [max(datetime.combine(day, time()), one - _around(hours)) for one in due]
    ends = [*opens[1:], datetime.combine(day, time()) + timedelta(days=1)]
    yield from zip(due, opens, ends, strict=True)


def _around(hours: Sequence[time]) -> timedelta:
    """Return how long around its time a round is in time: an hour, or half the closest two."""
    moments = [datetime.combine(date.min, hour) for hour in hours]
    closest = min((b - a for a, b in pairwise(moments)), default=2 * _AROUND)
    return min(_AROUND, closest / 2)


def _round(
    place: Place, window: tuple[datetime, datetime, datetime], there: Iterable[DayLine],
    written: Mapping[str, datetime], now: datetime,
) -> Round:  # fmt: skip
    due, opens, ends = window
    in_time = due + (due - opens)
    line = next(iter(there), None)
    if line is not None:
        state = RoundState.DONE if line.done_at <= in_time else RoundState.LATE
        if written[line.id] >= ends + _ENTERED_AFTER:
            state = RoundState.ENTERED
    elif now < opens:
        state = RoundState.AHEAD
    elif now <= in_time:
        state = RoundState.DUE
    else:
        state = RoundState.OVERDUE if now < ends else RoundState.GAP
    return Round(place, due, state, line)


def _gap_words(one: Round) -> str:
    if one.line is None:
        return "not read"
    return f"not written in its time; entered {one.line.at:%a %-d %b %H:%M} as a late entry"


def _events(lines: Sequence[DayLine], now: datetime) -> Iterator[OverLimit]:
    """Yield each stretch of readings over the limit, bounded by the good ones beside it."""
    groups = [(over, list(group)) for over, group in groupby(lines, key=lambda one: one.is_over)]
    for place, (over, group) in enumerate(groups):
        if not over:
            continue
        before = groups[place - 1][1][-1] if place else None
        after = groups[place + 1][1][0] if place + 1 < len(groups) else None
        yield _event(group, before, after, now)


def _event(
    group: Sequence[DayLine], before: DayLine | None, after: DayLine | None, now: datetime
) -> OverLimit:
    coolest = min(_reading(line) for line in group)
    # a little under the coolest reading over: the limit itself may have changed since
    bound = Limit(name="cold", temperature=Temperature(coolest.count - 1), is_floor=False,
                  row=rule_row("SF006"))  # fmt: skip
    read = {line.done_at: line for line in group}
    for line in (before, after):
        if line is not None and not is_over(bound, _reading(line)):
            read.setdefault(line.done_at, line)
    told = time_above(
        [Reading(at, _reading(line)) for at, line in read.items()], bound,
        until=now if after is None else None,
    )  # fmt: skip
    first, last = group[0].done_at, group[-1].done_at
    words = _over_words(told.at_least_min, told.at_most_min, has_before=told.last_good is not None)
    if after is None and told.at_most_min is not None:
        words = f"{words}; no good reading yet"
    return OverLimit(group[0].name, first, last, told.at_least_min, told.at_most_min,
                     after is None, words)  # fmt: skip


def _span(minutes: int) -> str:
    hours, rest = divmod(minutes, 60)
    return f"{hours} h {rest} min" if hours else f"{rest} min"


def _over_words(least: int, most: int | None, *, has_before: bool) -> str:
    """Say for how long a place was over, as an honest interval."""
    if most is not None:
        return f"over for at least {_span(least)}, at most {_span(most)}"
    missing = "after" if has_before else "before"
    return f"over for at least {_span(least)}; no good reading stands {missing} it"


def _reading(line: DayLine) -> Temperature:
    assert line.reading is not None
    return line.reading
