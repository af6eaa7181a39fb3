"""Check digits of trade item, location and logistic numbers.

References
----------
.. [1] GS1 General Specifications 7.9.1, as restated in the table of bar-code rules (rule BC001):
   weights 3, 1, 3, 1 from the right over the digits before the check digit;
   check = (10 - sum mod 10) mod 10.
.. [2] Storing a shorter trade item number in 14 digits: rule BC019.
"""

from __future__ import annotations

import re

from collop.errors import BadValue

__all__ = ["check_digit", "full", "gtin14", "shown", "verify", "whole_digits"]

_FEWEST, _MOST = 7, 17
#: Lengths of trade item numbers, check digit included.
_TRADE_ITEM = (8, 12, 13, 14)


def shown(text: object) -> str:
    """Return a text cut short for a message, in quotes."""
    return repr(text if not isinstance(text, str) or len(text) <= 40 else f"{text[:37]}...")


def whole_digits(text: object, fewest: int, most: int, what: str) -> str:
    """Return `text` if it is `fewest` to `most` digits 0-9 and nothing else.

    Raises
    ------
    BadValue
        If it is not; `what` names the number in the sentence.
    """
    count = str(fewest) if fewest == most else f"{fewest} to {most}"
    if not isinstance(text, str):
        raise BadValue(f"{what} must be text of {count} digits, in quotes.")
    if not re.fullmatch(r"[0-9]+", text):
        raise BadValue(f"{what} is {shown(text)}; it must be {count} digits and nothing else.")
    if not fewest <= len(text) <= most:
        raise BadValue(f"{what} has {len(text)} digits; it must have {count}.")
    return text


def check_digit(digits: str) -> str:
    """Return the check digit of the 7 to 17 `digits` that stand before it.

    Raises
    ------
    BadValue
        If `digits` are not 7 to 17 digits.

    Examples
    --------
    >>> check_digit("629104150021")
    '3'
    """
    read = whole_digits(digits, _FEWEST, _MOST, "A number without its check digit")
    total = sum(int(one) * (3 if place % 2 == 0 else 1) for place, one in enumerate(read[::-1]))
    return str(-total % 10)


def full(digits: str) -> str:
    """Return `digits` with their check digit.

    Examples
    --------
    >>> full("629104150021")
    '6291041500213'
    """
    return digits + check_digit(digits)


def verify(code: str, what: str = "The number") -> str:
    """Return `code`, 8 to 18 digits, if its last digit is its check digit.

    Raises
    ------
    BadValue
        Naming the digit it should be.
    """
    read = whole_digits(code, _FEWEST + 1, _MOST + 1, what)
    right = check_digit(read[:-1])
    if read[-1] != right:
        raise BadValue(
            f"{what} {read} ends in {read[-1]}, but its check digit must be {right}; "
            "scan or type it again."
        )
    return read


def gtin14(code: str) -> str:
    """Return a trade item number of 8, 12, 13 or 14 digits as 14 digits, zeros first.

    Raises
    ------
    BadValue
        If it has another length or a wrong check digit.

    Examples
    --------
    >>> gtin14("036000291452")
    '00036000291452'
    """
    read = whole_digits(code, _TRADE_ITEM[0], _TRADE_ITEM[-1], "The trade item number")
    if len(read) not in _TRADE_ITEM:
        raise BadValue(
            f"The trade item number has {len(read)} digits; it must have 8, 12, 13 or 14."
        )
    return verify(read, "The trade item number").zfill(14)
