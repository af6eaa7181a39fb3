"""Temperature limits: which is in force, whether a reading is over it, and for how long.

References
----------
.. [1] Food Code 3-501.16(A), quoted in a state's violation 03F-07-5: cold at 41 degF or below.
   Source id ``FL03F``, row SF006.
.. [2] Food Code 3-501.16(A)(1), quoted by Georgia 511-6-1.04(6): hot at 135 degF or above. Source
   id ``GATPHC``, row SF007.
.. [3] Tarrant county health page: freezer at 0 degF. Source id ``TARRANT``, row SF008.
.. [4] FDA Food Code 3-202.11(A): meat arrives at 41 degF or below. Row SF001, from memory, not
   checked.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from collop.errors import BadValue
from collop.measures import Temperature
from collop.reference.cleaning import cleaning_interval
from collop.reference.rulebook import PublishedRule, rule_row
from collop.rules.choosing import NOTHING_CHOSEN, figure, setting

__all__ = [
    "Limit",
    "Reading",
    "TimeAbove",
    "cleaning_hours",
    "cold_limit",
    "freezer_limit",
    "hot_limit",
    "in_order",
    "is_over",
    "receiving_limit",
    "time_above",
]

#: The most readings one sum takes.
MOST_READINGS = 10_000
_CLEAN_OF = {"SF070": "41", "SF071": "45", "SF072": "50", "SF073": "55", "SF074": "warm"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """A temperature that a reading is held against.

    Parameters
    ----------
    name : str
        Name of its setting, e.g. ``cold_limit_f``.
    temperature : Temperature
        In force: as published, or stricter.
    is_floor : bool
        Whether it must not fall under it (hot holding); else it must not rise over it.
    row : PublishedRule
        The published row; `row.is_cited` is false where it is recalled.
    """

    name: str
    temperature: Temperature
    is_floor: bool
    row: PublishedRule

    def text(self) -> str:
        """Return the limit in words, e.g. ``41 °F (5 °C) or below``."""
        side = "above" if self.is_floor else "below"
        return f"{_both(self.temperature)} or {side}"


@dataclass(frozen=True, slots=True)
class Reading:
    """One temperature that was read.

    Parameters
    ----------
    at : datetime
        Shop-local time, without a zone.
    temperature : Temperature
        What the thermometer said.
    """

    at: datetime
    temperature: Temperature


@dataclass(frozen=True, slots=True)
class TimeAbove:
    """How long a thing was over its limit: known only within two bounds.

    Parameters
    ----------
    at_least_min, at_most_min : int or None
        Minutes. `at_most_min` is None where no good reading stands before or after.
    last_good, first_over, last_over, next_good : datetime or None
        The readings that bound the longest stretch; None where there is none.
    """

    at_least_min: int
    at_most_min: int | None
    last_good: datetime | None = None
    first_over: datetime | None = None
    last_over: datetime | None = None
    next_good: datetime | None = None

    @property
    def is_any(self) -> bool:
        """Tell whether any reading was over the limit."""
        return self.first_over is not None

    def text(self) -> str:
        """Return it in words."""
        if not self.is_any:
            return "no reading was over the limit"
        if self.at_most_min is None:
            missing = "before" if self.last_good is None else "after"
            return f"over for at least {self.at_least_min} min; no good reading stands {missing} it"
        return f"over for {self.at_least_min} to {self.at_most_min} min"


def _both(temperature: Temperature) -> str:
    fahrenheit = f"{temperature.in_fahrenheit(1).normalize():f}"
    return f"{fahrenheit} °F ({temperature.in_celsius(1).normalize():f} °C)"


def _limit(name: str, chosen: Mapping[str, str], *, is_floor: bool = False) -> Limit:
    return Limit(
        name=name, temperature=Temperature.fahrenheit(figure(name, chosen)), is_floor=is_floor,
        row=rule_row(setting(name).rule_id),
    )  # fmt: skip


def cold_limit(chosen: Mapping[str, str] = NOTHING_CHOSEN) -> Limit:
    """Return the highest temperature of cold holding.

    Examples
    --------
    >>> cold_limit().text(), cold_limit({"cold_limit_f": "38"}).text()
    ('41 °F (5 °C) or below', '38 °F (3.3 °C) or below')
    """
    return _limit("cold_limit_f", chosen)


def freezer_limit(chosen: Mapping[str, str] = NOTHING_CHOSEN) -> Limit:
    """Return the highest temperature of a freezer."""
    return _limit("freezer_f", chosen)


def receiving_limit(chosen: Mapping[str, str] = NOTHING_CHOSEN) -> Limit:
    """Return the highest temperature of chilled meat on arrival; its row is from memory."""
    return _limit("receiving_f", chosen)


def hot_limit(chosen: Mapping[str, str] = NOTHING_CHOSEN) -> Limit:
    """Return the lowest temperature of hot holding."""
    return _limit("hot_holding_f", chosen, is_floor=True)


def is_over(limit: Limit, reading: Temperature) -> bool:
    """Tell whether a reading breaks a limit; the limit itself is within.

    Examples
    --------
    >>> is_over(cold_limit(), Temperature.fahrenheit("41.0"))
    False
    >>> is_over(cold_limit(), Temperature.fahrenheit("41.1"))
    True
    >>> is_over(hot_limit(), Temperature.fahrenheit(134))
    True
    """
    if limit.is_floor:
        return reading < limit.temperature
    return reading > limit.temperature


def in_order(readings: Sequence[Reading]) -> list[Reading]:
    """Return readings by their time.

    Raises
    ------
    BadValue
        If there are over 10,000, two of one time differ, or a time has a zone.
    """
    if len(readings) > MOST_READINGS:
        raise BadValue(f"{len(readings)} readings are too many; give at most {MOST_READINGS}.")
    if any(one.at.tzinfo is not None for one in readings):
        raise BadValue("A reading has a time with a zone; give shop time without one.")
    ordered = sorted(readings, key=lambda one: one.at)
    found: list[Reading] = []
    for one in ordered:
        if found and found[-1].at == one.at:
            if found[-1].temperature != one.temperature:
                raise BadValue(f"Two readings of {one.at:%H:%M} differ; correct one of them.")
            continue
        found.append(one)
    return found


def _minutes(first: datetime, last: datetime) -> int:
    return int((last - first).total_seconds() // 60)


def _minutes_up(first: datetime, last: datetime) -> int:
    return -int(-(last - first).total_seconds() // 60)


def _stretches(ordered: Sequence[Reading], limit: Limit, until: datetime | None) -> list[TimeAbove]:
    found: list[TimeAbove] = []
    good: datetime | None = None
    over: list[datetime] = []
    for one in ordered:
        if is_over(limit, one.temperature):
            over.append(one.at)
            continue
        if over:
            found.append(_stretch(good, over, one.at))
        over, good = [], one.at
    if over:
        still = until if until is not None and until >= over[-1] else None
        last = _stretch(good, over, still)
        found.append(
            last
            if still is None
            else TimeAbove(
                last.at_least_min, last.at_most_min, last.last_good, last.first_over, last.last_over
            )
        )
    return found  # fmt: skip


def _stretch(good: datetime | None, over: Sequence[datetime], end: datetime | None) -> TimeAbove:
    most = None if good is None or end is None else _minutes_up(good, end)
    return TimeAbove(_minutes(over[0], over[-1]), most, good, over[0], over[-1], end)


def time_above(
    readings: Sequence[Reading], limit: Limit, *, until: datetime | None = None
) -> TimeAbove:
    """Return for how long readings were over a limit, as an honest interval.

    Parameters
    ----------
    readings : sequence of Reading
        In any order.
    limit : Limit
        What they are held against.
    until : datetime, optional
        Now, where the last reading was over and no good one has come yet.

    Returns
    -------
    TimeAbove
        The sum of all stretches. At least: from the first reading over to the last one. At most:
        from the last good reading before to the first good one after. That a thing stayed over
        between two readings over, and within between two good ones, is taken for granted.

    Examples
    --------
    >>> day = lambda hour, f: Reading(datetime(2026, 6, 9, hour), Temperature.fahrenheit(f))
    >>> time_above([day(8, 39), day(12, 44), day(14, 45), day(16, 40)], cold_limit()).text()
    'over for 120 to 480 min'
    """
    found = _stretches(in_order(readings), limit, until)
    if not found:
        return TimeAbove(0, 0)
    longest = max(found, key=lambda one: (one.at_most_min is None, one.at_most_min or 0))
    mosts = [one.at_most_min for one in found]
    whole = None if None in mosts else sum(one or 0 for one in mosts)
    return TimeAbove(
        sum(one.at_least_min for one in found), whole, longest.last_good, longest.first_over,
        longest.last_over, longest.next_good,
    )  # fmt: skip


def cleaning_hours(
    room: Temperature, chosen: Mapping[str, str] = NOTHING_CHOSEN
) -> tuple[Decimal, PublishedRule]:
    """Return how long may pass between two clean-downs [h], and the published row.

    What a shop chose for a colder room never gives a warmer one longer than its own.

    References
    ----------
    .. [1] Minnesota Rules 4626.0845 (Food Code 4-602.11). Source id ``MN0845``.

    Examples
    --------
    >>> str(cleaning_hours(Temperature.fahrenheit(41))[0])
    '24'
    >>> str(cleaning_hours(Temperature.fahrenheit(48), {"clean_45_h": "8"})[0])
    '8'
    """
    published, row = cleaning_interval(room)
    hours = published
    for rule_id, name in _CLEAN_OF.items():
        hours = min(hours, figure(f"clean_{name}_h", chosen))
        if rule_id == row.rule_id:
            break
    return hours, rule_row(row.rule_id)
