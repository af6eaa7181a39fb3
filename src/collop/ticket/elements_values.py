"""The value behind one identifier: is it right, and what does it say in words.

References
----------
.. [1] Check digits: GS1 General Specifications 7.9.1 (rule BC001).
.. [2] Day 00 in a date is the last day of the month for (11), (13), (15), (16) and (17), not for
   (7003), (7006) and (7007): rule BC117.
.. [3] Characters of set 82: rule BC119, from memory, not checked.
.. [4] The century of a two-digit year, at most 50 years ahead and 49 back: GS1 General
   Specifications, from memory, not checked. Figures of ISO 4217 currencies: from memory, not
   checked.
"""

from __future__ import annotations

import calendar
import datetime as dt
import string
from decimal import Decimal

from collop.errors import BadValue
from collop.ticket.digits import shown, verify
from collop.ticket.identifiers import Identifier

__all__ = ["READ_IN", "SET_82", "decoded_value", "split_parts", "worth_of_digits"]

#: Every character a text value may hold.
SET_82 = frozenset(string.ascii_letters + string.digits + "!\"%&'()*+,-./_:;<=>?")
#: The year a code is taken to be read in where the caller does not say.
READ_IN = 2026
_CHECKED = {"00": "The logistic unit number", "01": "The trade item number",
            "02": "The number of the contained trade items"}  # fmt: skip
_DATES = frozenset({"11", "13", "15", "16", "17"})
_COUNTRIES = frozenset({"422", "423", "424", "425", "426"})
_UNITS = {"310": " kg", "320": " lb", "394": " percent"}
_CURRENCIES = {
    "036": "AUD", "124": "CAD", "208": "DKK", "352": "ISK", "392": "JPY", "554": "NZD",
    "578": "NOK", "752": "SEK", "756": "CHF", "826": "GBP", "840": "USD", "978": "EUR",
    "985": "PLN",
}  # fmt: skip


def split_parts(known: Identifier, value: str) -> tuple[str, ...]:
    """Return `value` cut into the parts of its format.

    Raises
    ------
    BadValue
        If a character or the length does not fit.
    """
    rest, found = value, []
    for index, part in enumerate(known.parts):
        last = index == len(known.parts) - 1
        piece = rest if last else rest[: part.lengths[-1]]
        rest = rest[len(piece) :]
        if len(piece) not in part.lengths:
            raise BadValue(
                f"({known.ai}) {shown(value)} has {len(value)} characters; {_asks(known)}"
            )
        allowed = frozenset(string.digits) if part.digits_only else SET_82
        wrong = next((one for one in piece if one not in allowed), None)
        if wrong is not None:
            kind = "a digit" if part.digits_only else "allowed in a code"
            raise BadValue(
                f"({known.ai}) {shown(value)} holds {wrong!r}, which is not {kind}; take it out."
            )
        found.append(piece)
    return tuple(found)


def _asks(known: Identifier) -> str:
    """Return how long a value must be, as the end of a sentence."""
    if len(known.parts) == 1:
        lengths = known.parts[0].lengths
        if len(lengths) <= 5 and lengths[0] != 1:
            return f"it must have {' or '.join(map(str, lengths))}."
    if known.shortest == known.longest:
        return f"it must have {known.longest}."
    return f"it must have {known.shortest} to {known.longest}."


def worth_of_digits(digits: str, decimals: int) -> Decimal:
    """Return the amount that `digits` with `decimals` mean, exactly.

    Examples
    --------
    >>> str(worth_of_digits("000195", 3))
    '0.195'
    """
    return Decimal(int(digits)).scaleb(-decimals)


def _year(two: str, read_in: int) -> int:
    """Return the year of two digits that lies nearest to `read_in`."""
    year = read_in - read_in % 100 + int(two)
    if year - read_in >= 51:
        return year - 100
    return year + 100 if year - read_in <= -50 else year


def _date(known: Identifier, digits: str, read_in: int, *, open_day: bool = False) -> str:
    """Return a date of six digits as written in ISO 8601."""
    year, month, day = _year(digits[:2], read_in), int(digits[2:4]), int(digits[4:])
    if not 1 <= month <= 12:
        raise BadValue(f"({known.ai}) {digits} has month {digits[2:4]}; it must be 01 to 12.")
    last = calendar.monthrange(year, month)[1]
    if day == 0 and open_day:
        day = last
    if not 1 <= day <= last:
        from_day = "00" if open_day else "01"
        raise BadValue(
            f"({known.ai}) {digits} has day {digits[4:]}; it must be {from_day} to {last}."
        )
    return dt.date(year, month, day).isoformat()


def _time(known: Identifier, digits: str) -> str:
    """Return hours, minutes and seconds, as many as are given, with colons."""
    pairs = [digits[place : place + 2] for place in range(0, len(digits), 2)]
    for pair, most in zip(pairs, (23, 59, 59), strict=False):
        if int(pair) > most:
            raise BadValue(f"({known.ai}) has time {digits}; {pair} is over {most}.")
    return ":".join([*pairs, *(["00"] if len(pairs) == 1 else [])])


def _when(known: Identifier, value: str, read_in: int) -> str:
    """Return a date, a date and time, or a range of dates in words."""
    if known.ai in {"7003", "8008"}:
        return f"{_date(known, value[:6], read_in)} {_time(known, value[6:])}"
    first = _date(known, value[:6], read_in, open_day=known.ai in _DATES)
    if len(value) == 6:
        return first
    last = _date(known, value[6:], read_in)
    if last < first:
        raise BadValue(f"({known.ai}) ends on {last}, before it begins on {first}.")
    return f"{first} to {last}"


def decoded_value(known: Identifier, value: str, *, read_in: int = READ_IN) -> str:
    """Return what `value` says in words, e.g. ``0.195 kg``.

    Parameters
    ----------
    known : Identifier
        The identifier it stands behind.
    value : str
        As in the code.
    read_in : int
        The year the code is read in; it settles the century of a date.

    Raises
    ------
    BadValue
        If the value is wrong: its characters, length, check digit, date or country.
    """
    parts = split_parts(known, value)
    if known.ai in _CHECKED:
        return verify(value, f"({known.ai}) {_CHECKED[known.ai][4:]}")
    if known.ai in _DATES | {"7003", "7006", "7007", "8008"}:
        return _when(known, value, read_in)
    if known.ai in _COUNTRIES:
        return _countries(known, value)
    decimals = known.decimals
    if decimals is None:
        if known.stem == "703":
            return f"{_countries(known, parts[0])}, number {parts[1]}"
        return str(int(value)) if known.ai in {"30", "37"} else value
    amount = f"{worth_of_digits(parts[-1], decimals):f}"
    if len(parts) == 2:  # a price with its currency
        return f"{amount} {_CURRENCIES.get(parts[0], f'in currency {parts[0]}')}"
    return amount + _UNITS.get(known.stem, "")


def _countries(known: Identifier, digits: str) -> str:
    """Return country figures in words."""
    figures = [digits[place : place + 3] for place in range(0, len(digits), 3)]
    if "000" in figures:
        raise BadValue(f"({known.ai}) {digits} names country 000, which is none.")
    return f"country {', '.join(figures)}"
