"""Moments and numbers as the reader's language has them; days are `collop.words.day_text`."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from collop.words import LOCALES, SPOKEN, day_text

__all__ = ["day_text", "number_text", "soon_text"]


def soon_text(text: str) -> str:
    """Return an ISO moment as a day and hour to say, e.g. ``Sat 14:10``."""
    return day_text(datetime.fromisoformat(text), "%a %H:%M")


def number_text(value: object, places: int = 2) -> str:
    """Return a number with so many places and its thousands parted; money has two."""
    number = Decimal(str(value))
    locale = LOCALES.get(SPOKEN.get())
    if locale is None:
        return f"{number:,.{places}f}"
    from babel.numbers import format_decimal  # noqa: PLC0415 -- English needs none of it

    return format_decimal(number, "#,##0." + "0" * places, locale=locale)
