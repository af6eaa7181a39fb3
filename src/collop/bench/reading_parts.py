"""What every part of a bench problem is read with: names, weights, money, shares, lists of days.

The limits are of a shop's size: what is past them is a slip of the hand, and is said so at once.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal
from fractions import Fraction

from collop.errors import BadValue
from collop.wire import Reader, checked_decimal

__all__ = [
    "MOST_PER_DAY", "decimal_text", "known", "label", "lines", "minutes", "money", "name_of",
    "number", "per_day", "share", "weight", "whole",
]  # fmt: skip

#: Longest id and longest name.
MOST_ID, MOST_NAME = 80, 200
#: Decimals of a weight that a scale reads, of money and minutes, and of a share.
SCALE_PLACES, FINE_PLACES, SHARE_PLACES = 3, 6, 12
#: Most minutes of one hand in a day.
MOST_PER_DAY = "1440"
_MOST_MINUTES = "10000"
_LONGEST_NUMBER = 10**15
_LEAST_NUMBER = 1e-9


def lines(top: Reader, key: str, keys: Iterable[str], most: int) -> Iterator[Reader]:
    """Yield one `Reader` a line of a list that may be left out.

    Raises
    ------
    ProblemError
        If it is no list, longer than `most`, or a line is no object of these keys.
    """
    found = top.items(key, [])
    if len(found) > most:
        raise top.fail(key, f"has {len(found)} lines; give {most} at the most.")
    known_keys = tuple(keys)
    for path, value in top.each(key, []):
        yield Reader(value, path, known_keys)


def name_of(row: Reader, key: str, default: str | None = None, most: int = MOST_NAME) -> str:
    """Return a text that can be printed on one line, by default `default` (None: must be given)."""
    found = str(row.text(key) if default is None else row.text(key, default))
    if len(found) > most:
        raise row.fail(key, f"has {len(found)} letters; use {most} at the most.")
    if not found.isprintable():
        raise row.fail(key, f"is {found[:40]!r}; leave out signs that cannot be printed.")
    return found


def label(row: Reader, key: str, seen: set[str] | None = None) -> str:
    """Return an id; refused if it is empty or in `seen`, to which it is added."""
    found = name_of(row, key, most=MOST_ID)
    if not found.strip():
        raise row.fail(key, "is empty; name it.")
    if seen is not None:
        if found in seen:
            raise row.fail(key, f"is {found[:40]!r} once more; give each its own.")
        seen.add(found)
    return found


def known(row: Reader, key: str, among: Iterable[str], thing: str, listed: str) -> str:
    """Return an id that is `among` the ids of things; `listed` is the key where they are listed."""
    found = label(row, key)
    if found not in among:
        raise row.fail(key, f"is {found[:40]!r}, which is no {thing}; add it to {listed}.")
    return found


def decimal_text(
    value: object, where: str, *, high: str = "1000000", places: int = FINE_PLACES
) -> Fraction:
    """Return a decimal of zero or more given as text, exactly.

    Parameters
    ----------
    places : int
        Most decimals; closing zeros are not counted.

    Raises
    ------
    BadValue
        With its path.
    """
    found = checked_decimal(value, where, high=high)
    step = Decimal(1).scaleb(-places)
    if found % step:
        raise BadValue(
            f"{where} is {str(value)[:40]!r}; write {places} decimals at the most.", where=where
        )
    return Fraction(found)


def _amount(
    row: Reader, key: str, default: str | None, *, high: str = "1000000", places: int = FINE_PLACES
) -> Fraction:
    value = row.value.get(key)
    if value is None:
        if default is None:
            raise row.fail(key, "is missing; add it.")
        return Fraction(default)
    return decimal_text(value, row.where(key), high=high, places=places)


def weight(
    row: Reader, key: str, *, least: str = "0.001", high: str = "100000", places: int = SCALE_PLACES
) -> Fraction:
    """Return a weight that must be given [the problem's unit], of `least` or more."""
    found = _amount(row, key, None, high=high, places=places)
    if found < Fraction(least):
        raise row.fail(key, f"is {str(row.value[key])[:40]}; give {least} or more.")
    return found


def money(row: Reader, key: str, default: str | None = None) -> Fraction:
    """Return money, or money per unit of weight, of zero or more."""
    return _amount(row, key, default)


def minutes(row: Reader, key: str, default: str | None = None) -> Fraction:
    """Return minutes, or minutes per unit of weight."""
    return _amount(row, key, default, high=_MOST_MINUTES)


def share(
    row: Reader, key: str, default: str | None = None, *, high: str = "1", above_zero: bool = False
) -> Fraction:
    """Return a share of 1 with up to 12 decimals."""
    found = _amount(row, key, default, high=high, places=SHARE_PLACES)
    if above_zero and not found:
        raise row.fail(key, "is zero; give more than zero, or leave the line out.")
    return found


def per_day(row: Reader, key: str, days: int, *, high: str = "100000") -> tuple[Fraction, ...]:
    """Return a list of one decimal text a day.

    Raises
    ------
    BadValue
        With the path of the list, if it is not as long as the plan, or of the first bad value.
    """
    found = row.items(key)
    if len(found) != days:
        raise row.fail(key, f"has {len(found)} values; give one for each of the {days} days.")
    return tuple(decimal_text(value, path, high=high) for path, value in row.each(key))


def _no_endless_number(row: Reader, key: str) -> None:
    # a whole number of thousands of digits cannot be printed in a refusal
    value = row.value.get(key)
    if isinstance(value, int) and not -_LONGEST_NUMBER < value < _LONGEST_NUMBER:
        raise row.fail(key, "has too many digits; write a shorter number.")


def whole(row: Reader, key: str, low: int, high: int, default: int | None = None) -> int:
    """Return a whole number within [low, high]; it must be given if there is no default."""
    _no_endless_number(row, key)
    found = row.whole(key, low, high) if default is None else row.whole(key, low, high, default)
    return int(found)


def number(row: Reader, key: str, low: float, high: float, default: str | None) -> Fraction | None:
    """Return a plain number as the decimal it was written as; the default if it is left out."""
    _no_endless_number(row, key)
    found = row.number(key, low, high, None)
    if found is None:
        return None if default is None else Fraction(default)
    if 0 < found < _LEAST_NUMBER:
        raise row.fail(key, f"is {found}; write zero, or {_LEAST_NUMBER:g} at the least.")
    return Fraction(Decimal(str(found)))
