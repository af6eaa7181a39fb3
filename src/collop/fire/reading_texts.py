"""Texts, weights and areas of a fire: words that can be printed, figures that can be laid."""

from __future__ import annotations

import re
from decimal import Decimal
from fractions import Fraction
from typing import Any

from collop.errors import BadValue
from collop.wire import Reader

__all__ = [
    "LONGEST_TEXT",
    "MOST_ALLERGENS",
    "plain_name",
    "plain_text",
    "plain_texts",
    "printable",
    "read_area",
    "read_mlb",
]

#: Letters of a name, a zone or an allergen; allergens of one item.
LONGEST_TEXT, MOST_ALLERGENS = 120, 20
#: Lightest thing that is laid [0.001 lb]: less is no weight on the sheet.
_LEAST_MLB = 10
# what no page and no picture may hold: halves of a pair, controls, and what XML 1.0 forbids
_FORBIDDEN = re.compile("[\x00-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")


def _checked(text: str, where: str, most: int) -> str:
    bad = _FORBIDDEN.search(text)
    if bad is not None:
        raise BadValue(
            f"{where} holds U+{ord(bad[0]):04X}, which cannot be printed; take it out.", where=where
        )
    if len(text) > most:
        raise BadValue(f"{where} has {len(text)} letters; {most} is the most.", where=where)
    return text


def printable(text: str) -> str:
    """Return a text with a space for each sign that cannot be printed.

    Examples
    --------
    >>> printable(f"Ann{chr(9)}and Bo")
    'Ann and Bo'
    """
    return _FORBIDDEN.sub(" ", text)


def plain_text(row: Reader, key: str, *default: str | None, most: int = LONGEST_TEXT) -> Any:  # noqa: ANN401
    """Return a text without what cannot be printed, or the default.

    Raises
    ------
    BadValue
        With its path, if it holds a control or half a sign, or is longer than `most` letters.
    """
    text = row.text(key, *default)
    return text if text is None else _checked(text, row.where(key), most)


def plain_name(row: Reader, key: str) -> str:
    """Return a text that is not empty, without space around it; errors as `plain_text`."""
    text: str = plain_text(row, key).strip()
    if not text:
        raise row.fail(key, f"must have from 1 to {LONGEST_TEXT} letters.")
    return text


def plain_texts(row: Reader, key: str) -> tuple[str, ...]:
    """Return a list of up to `MOST_ALLERGENS` texts, empty if not given; errors as `plain_text`."""
    found = row.texts(key, [])
    if len(found) > MOST_ALLERGENS:
        raise row.fail(key, f"has {len(found)} lines; {MOST_ALLERGENS} is the most.")
    return tuple(
        _checked(text, f"{row.where(key)}[{index}]", LONGEST_TEXT)
        for index, text in enumerate(found)
    )


def read_mlb(row: Reader, key: str, *default: None) -> int:
    """Return a weight in whole thousandths of a pound, rounded up: area and thaw follow it.

    Raises
    ------
    BadValue
        With its path, if it is no weight, or under 0.01 lb.
    """
    amount: Decimal | None = row.decimal(key, *default, high="20000")
    if amount is None:
        return None  # type: ignore[return-value]  # only where None is the default
    exact = Fraction(amount) * 1000
    if exact < _LEAST_MLB:
        raise row.fail(key, f"is {amount}; it must be 0.01 or more.")
    return -(-exact.numerator // exact.denominator)


def read_area(row: Reader, key: str, *default: None, up: bool) -> Fraction | None:
    """Return an area in thousandths of a square inch; None only where that is the default.

    Parameters
    ----------
    up : bool
        True for what lies there, rounded up; false for where it lies, rounded down.
    """
    area = row.number(key, 0.0, 1e6, *default)
    if area is None:
        return None
    exact = Fraction(str(area)) * 1000
    whole = -(-exact.numerator // exact.denominator) if up else exact.numerator // exact.denominator
    return Fraction(whole, 1000)
