"""Reading what people type: one message for each field, in the label's own words.

Every reader takes text and returns a value, or raises `BadValue` with one sentence that says what
is wrong and how to put it right.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from decimal import Decimal, InvalidOperation
from typing import TypeVar

from collop.errors import BadValue

__all__ = [
    "MOST_HEADS",
    "SURE",
    "Faults",
    "Fields",
    "Heads",
    "is_sure",
    "read_amount",
    "read_choice",
    "read_day",
    "read_heads",
    "read_name",
    "read_near_day",
    "read_phone_end",
    "read_time",
    "read_whole",
]

MOST_HEADS = 500
#: Where a refusal points that only asks whether it is right.
SURE = "sure"
_MOST_TEXT = 2000
_MOST_VALUES = 40
_YEARS = timedelta(days=3660)

_T = TypeVar("_T")


class Fields:
    """The texts of one form or query, in the order they came.

    Parameters
    ----------
    pairs : iterable of (name, text)
        Texts are trimmed; more than forty of one name are left out.
    """

    def __init__(self, pairs: Iterable[tuple[str, str]]) -> None:
        self._texts: dict[str, list[str]] = {}
        for name, text in pairs:
            texts = self._texts.setdefault(name, [])
            if len(texts) < _MOST_VALUES:
                texts.append(text.strip()[:_MOST_TEXT])

    def one(self, name: str, default: str = "") -> str:
        """Return the first text of `name`; `default` if it is absent."""
        return self._texts.get(name, [default])[0]

    def all(self, name: str) -> list[str]:
        """Return every text of `name`."""
        return list(self._texts.get(name, []))

    def __contains__(self, name: object) -> bool:
        return name in self._texts

    def __iter__(self) -> Iterator[tuple[str, str]]:
        for name, texts in self._texts.items():
            for text in texts:
                yield name, text


@dataclass(slots=True)
class Faults:
    """What is wrong with a form: the first message of each field, in reading order."""

    messages: dict[str, str] = field(default_factory=dict)

    def add(self, name: str, message: str) -> None:
        """Note a message unless the field has one already."""
        self.messages.setdefault(name, message)

    def take(self, name: str, read: Callable[[], _T], fallback: _T) -> _T:
        """Return what `read` returns; note its message and return `fallback` if it refuses."""
        try:
            return read()
        except BadValue as error:
            self.add(name, error.message)
            return fallback

    def __bool__(self) -> bool:
        return bool(self.messages)

    def of(self, name: str) -> str:
        """Return the message beside a field; empty if it is well."""
        return self.messages.get(name, "")


def is_sure(fields: Fields) -> bool:
    """Tell whether a weight that was asked about is sent again as it was."""
    return bool(fields.one(SURE)) and fields.one(SURE) == fields.one("weight")


def read_whole(text: str, label: str, low: int, high: int) -> int:
    """Read a whole number within [low, high]."""
    if not text:
        raise BadValue(f"{label}: enter a whole number from {low} to {high}.")
    if not re.fullmatch(r"[+-]?[0-9]{1,9}", text):
        raise BadValue(f"{label}: write a whole number such as {max(low, 6)}, without other signs.")
    value = int(text)
    if value < low:
        raise BadValue(f"{label}: {value} is too few; enter {low} or more.")
    if value > high:
        raise BadValue(f"{label}: {value} is too many; enter {high} or fewer.")
    return value


@dataclass(frozen=True, slots=True)
class Heads:
    """How many eat: one number, or the two ends of "thirty, maybe forty-five"."""

    low: int
    high: int

    @property
    def planned(self) -> int:
        """Return the number planned for: three quarters of the way up, rounded up."""
        return self.low + -(-3 * (self.high - self.low) // 4)

    @property
    def text(self) -> str:
        """Return the number or both ends, as the field shows them."""
        return str(self.low) if self.low == self.high else f"{self.low}-{self.high}"


_UNITS = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
          "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen",
          "eighteen", "nineteen"]  # fmt: skip
_TENS = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
_WORDS = {word: value for value, word in enumerate(_UNITS)} | {
    word: 10 * (place + 2) for place, word in enumerate(_TENS)
}
_FILLER = re.compile(r"\b(?:about|around|maybe|perhaps|or|to|up|between|people|heads|of|us)\b")


def _numbers_in(text: str) -> list[int]:
    """Return the numbers of a phrase, in digits or words; -1 stands for what is no number."""
    spoken = re.sub(r"(?<=[a-z])-(?=[a-z])", " ", text.lower()).replace("\N{EN DASH}", "-")
    parts = re.split(r"[,;]|(?<=[0-9a-z ])-|\b(?:maybe|or|to|perhaps|up to)\b", spoken)
    found = []
    for part in parts:
        words = _FILLER.sub(" ", part).replace(" and ", " ").split()
        if words:
            found.append(_number(words))
    return found


def _number(words: list[str]) -> int:
    if len(words) == 1 and re.fullmatch(r"-?[0-9]{1,9}", words[0]):
        return int(words[0])
    total = 0
    for word in words:
        if word == "hundred":
            total = max(total, 1) * 100
        elif word in _WORDS:
            total += _WORDS[word]
        else:
            raise BadValue("Eaters: write a number such as 34, or two such as 30-45.")
    return total


def read_heads(text: str) -> Heads:
    """Read how many eat: ``34``, ``30-45``, ``thirty, maybe forty-five``."""
    if not text:
        raise BadValue("Eaters: enter how many eat, for example 34.")
    found = _numbers_in(text)
    if not 1 <= len(found) <= 2:
        raise BadValue("Eaters: write a number such as 34, or two such as 30-45.")
    low, high = min(found), max(found)
    if low < 1:
        raise BadValue(f"Eaters: {low} is too few; enter 1 or more.")
    if high > MOST_HEADS:
        raise BadValue(f"Eaters: {high} is too many for one ask; enter {MOST_HEADS} or fewer.")
    return Heads(low, high)


def read_amount(text: str, label: str, *, high: str = "100000", places: int = 2) -> Decimal:
    """Read a decimal amount above zero; a currency sign and thousands commas may be typed too."""
    plain = text.replace("$", "").replace(" ", "")
    if re.fullmatch(r"[0-9]{1,3}(,[0-9]{3})+(\.[0-9]+)?", plain):
        plain = plain.replace(",", "")
    try:
        value = Decimal(plain.replace(",", "."))
    except InvalidOperation:
        raise BadValue(f"{label}: write an amount such as 310 or 48.50.") from None
    if not value.is_finite() or len(plain) > 12:
        raise BadValue(f"{label}: write an amount such as 310 or 48.50.")
    if value <= 0:
        raise BadValue(f"{label}: enter more than 0, or leave it empty.")
    if value > Decimal(high):
        raise BadValue(f"{label}: enter {high} or less.")
    if value != round(value, places):
        raise BadValue(f"{label}: write at most {places} decimals.")
    return value


def read_choice(text: str, label: str, allowed: Iterable[str]) -> str:
    """Read one of a fixed set of words."""
    options = list(allowed)
    if text not in options:
        known = ", ".join(options)
        raise BadValue(f"{label}: {text[:30]!r} is not known here; choose one of {known}.")
    return text


def read_day(text: str, label: str, *, first: date, days: int = 366) -> date:
    """Read a day as year-month-day, not before `first` and at most `days` after it."""
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise BadValue(f"{label}: choose a day, written like {first.isoformat()}.") from None
    if day < first:
        raise BadValue(f"{label}: that day is past; choose {first:%a %d %b} or later.")
    if day > first + timedelta(days=days):
        raise BadValue(f"{label}: that is more than {days} days ahead; choose an earlier day.")
    return day


def read_near_day(text: str, label: str, *, today: date) -> date:
    """Read a day within ten years of `today`."""
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise BadValue(f"{label}: choose a day, written like {today.isoformat()}.") from None
    if not today - _YEARS <= day <= today + _YEARS:
        raise BadValue(f"{label}: choose a day within ten years of today.")
    return day


def read_time(text: str, label: str) -> time:
    """Read a time of day as hours:minutes."""
    if not re.fullmatch(r"[0-9]{1,2}[:.][0-9]{2}", text):
        raise BadValue(f"{label}: write the time like 18:30.")
    try:
        return datetime.strptime(text.replace(".", ":"), "%H:%M").time()  # noqa: DTZ007 -- shop time
    except ValueError:
        raise BadValue(f"{label}: write the time from 00:00 to 23:59.") from None


def read_name(text: str, label: str) -> str:
    """Read a person's name."""
    if not text:
        raise BadValue(f"{label}: enter a name to put on the slip.")
    if len(text) > 60 or not text.isprintable():
        raise BadValue(f"{label}: write a name of at most 60 letters.")
    return text


def read_phone_end(text: str) -> str:
    """Read the last four digits of a telephone number; a longer number is cut to its end."""
    digits = re.sub(r"[ ()+.-]", "", text)
    if not re.fullmatch(r"[0-9]{4,15}", digits):
        raise BadValue("Phone end: enter the last four digits, for example 4471.")
    return digits[-4:]
