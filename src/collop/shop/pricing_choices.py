"""The settings that may be changed: how each is read, held to its range, and kept as JSON.

`CHANGEABLE` belong to prices and the till, with the quote's holding time; `OF_THE_BENCH` to the
cutting room; `OF_THE_YEAR` are days that are open or shut beside the usual ones.
What is read is typed: a `Decimal` of a few digits, a time of day, a tuple or a mapping of decimals.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, time
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Any

from collop.errors import BadValue
from collop.measures.rounding import exact_fraction
from collop.rules.taxing_reading import keep_classes, read_classes
from collop.shop.bench_choices import keep_hands, keep_room, read_hands, read_room
from collop.shop.till_choices import read_cash, read_per

__all__ = [
    "ALL_CHOICES", "BY_PRODUCTS", "CHANGEABLE", "OF_THE_BENCH", "OF_THE_YEAR", "Choice",
    "read_choice",
]  # fmt: skip

#: Kinds of parts that are credited at a worth of the shop's, not by their board price.
BY_PRODUCTS = ("trim", "fat", "bone", "fat_bone", "scrap")
_PLACES = 6
_MOST_ENDINGS = 20
_LONGEST_HOLD = 7 * 24 * 60
_MOST_HOURS = 24 * 60
_LONGEST_WORDS = 300
_MOST_DATES = 2000
_TIME = "Moves from: write a time of day like 16:00."


@dataclass(frozen=True, slots=True)
class Choice:
    """How one setting is read from what somebody gives, and how it is kept."""

    read: Callable[[Any], Any]
    keep: Callable[[Any], Any]


def _decimal(value: object, words: str, where: str, low: str, high: str) -> Decimal:
    """Read an amount from `low` to `high`; `words` says what is wanted."""
    if isinstance(value, str):
        return _decimal_text(value, words, where, low, high)
    return _decimal_of(value, words, where, low, high)


def _decimal_of(value: object, words: str, where: str, low: str, high: str) -> Decimal:
    failure = BadValue(words, where=where)
    if isinstance(value, bool) or not isinstance(value, (Decimal, int, str)):
        raise failure
    try:
        exact = exact_fraction(value)
    except ValueError:
        raise failure from None
    if not Fraction(low) <= exact <= Fraction(high) or (exact * 10**_PLACES).denominator != 1:
        raise failure
    read = Decimal(int(exact * 10**_PLACES)).scaleb(-_PLACES)
    return _plain(read)


# the settings are kept as text, and every page reads them several times
_decimal_text = lru_cache(maxsize=512)(_decimal_of)


def _plain(amount: Decimal) -> Decimal:
    """Return the amount without needless zeros, and without an exponent."""
    short = amount.normalize()
    return short if short.as_tuple().exponent < 0 else short.quantize(Decimal(1))  # type: ignore[operator]


def _number(where: str, words: str, low: str, high: str) -> Choice:
    return Choice(
        read=lambda value: _decimal(value, words, where, low, high),
        keep=lambda value: f"{value:f}",
    )


def _endings(value: object) -> tuple[Decimal, ...]:
    words = "Price endings are from 0 to under 1, like 0.29; give up to 20 of them."
    if isinstance(value, str) or not isinstance(value, Sequence) or len(value) > _MOST_ENDINGS:
        raise BadValue(words, where="price_endings")
    read = {_decimal(one, words, "price_endings", "0", "0.999999") for one in value}
    return tuple(sorted(read))


def _worths(value: object) -> dict[str, Decimal]:
    if not isinstance(value, Mapping):
        raise BadValue("Worths: give an amount for each kind, like trim 3.00.", where="worths")
    read = {}
    for kind, amount in value.items():
        if kind not in BY_PRODUCTS:
            names = ", ".join(BY_PRODUCTS)
            raise BadValue(f"Worths: {str(kind)[:40]!r} is none of {names}.", where="worths")
        words = f"Worths: write what {kind} is worth, from 0 to 1000, like 0.30."
        read[kind] = _decimal(amount, words, f"worths.{kind}", "0", "1000")
    return read


def _moves_from(value: object) -> time:
    if isinstance(value, str):
        try:
            value = time.fromisoformat(value)
        except ValueError:
            raise BadValue(_TIME, where="moves_from") from None
    if not isinstance(value, time) or value.tzinfo is not None:
        raise BadValue(_TIME, where="moves_from")
    return value


def _hours(value: object) -> int:
    if isinstance(value, str) and value.strip().isascii() and value.strip().isdigit():
        value = int(value.strip()[:9])
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= _MOST_HOURS:
        raise BadValue(f"Deposit: write how many hours before, from 0 to {_MOST_HOURS}.",
                       where="deposit_hours")  # fmt: skip
    return value


def _words(value: object) -> str:
    plain = value.strip() if isinstance(value, str) else None
    if plain is None or len(plain) > _LONGEST_WORDS or (plain and not plain.isprintable()):
        raise BadValue(f"Deposit rule: write it in at most {_LONGEST_WORDS} letters, in one line.",
                       where="deposit_words")  # fmt: skip
    return plain


def _minutes(value: object) -> int:
    if isinstance(value, str) and value.strip().isascii() and value.strip().isdigit():
        value = int(value.strip()[:9])
    if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= _LONGEST_HOLD:
        raise BadValue("A quote is held from 1 minute to 7 days.", where="quote_hold_minutes")
    return value


def _dates(value: object) -> tuple[date, ...]:
    """Read days as ISO texts or dates, each once, in order."""
    words = f"Days: write dates such as 2026-12-21, up to {_MOST_DATES} of them."
    if isinstance(value, str) or not isinstance(value, Sequence) or len(value) > _MOST_DATES:
        raise BadValue(words, where="dates")
    try:
        found = {date.fromisoformat(str(one)) for one in value}
    except ValueError:
        raise BadValue(words, where="dates") from None
    return tuple(sorted(found))


_DATES = Choice(read=_dates, keep=lambda dates: [day.isoformat() for day in dates])
#: Settings of prices and of the till, by name.
CHANGEABLE: Mapping[str, Choice] = {
    "quote_hold_minutes": Choice(read=_minutes, keep=int),
    "target_margin": _number(
        "target_margin", "Margin: write a share of sales from 0 to 0.9, like 0.35.", "0", "0.9"
    ),
    "labour_per_hour": _number(
        "labour_per_hour", "Labour: write what an hour costs, from 0 to 10000.", "0", "10000"
    ),
    "price_jump": _number(
        "price_jump", "Price jump: write a share from 0 to 10, like 0.15.", "0", "10"
    ),
    "price_endings": Choice(
        read=_endings, keep=lambda endings: [f"{ending:f}" for ending in endings]
    ),
    "price_step": _number(
        "price_step", "Price step: write an amount from 0.001 to 1000, like 0.05.", "0.001", "1000"
    ),
    "worths": Choice(
        read=_worths, keep=lambda worths: {kind: f"{worth:f}" for kind, worth in worths.items()}
    ),
    "moves_from": Choice(read=_moves_from, keep=lambda moment: moment.isoformat()),
    "price_cap": _number(
        "price_cap", "Price cap: write how far a price may rise, from 1 to 10, like 1.25.",
        "1", "10",
    ),
    "tax_classes": Choice(read=read_classes, keep=keep_classes),
    "tax_per": Choice(read=read_per, keep=str),
    "cash_rounding": Choice(read=read_cash, keep=str),
    "over_share": _number(
        "over_share", "Over or under: write a share from 0 to 1, like 0.10.", "0", "1"
    ),
    "deposit_words": Choice(read=_words, keep=str),
    "deposit_hours": Choice(read=_hours, keep=int),
    "deposit_kept": _number(
        "deposit_kept", "Deposit kept: write a share from 0 to 1, like 0.5.", "0", "1"
    ),
}  # fmt: skip
#: Settings of the cutting room, by name.
OF_THE_BENCH: Mapping[str, Choice] = {
    "hands": Choice(read=read_hands, keep=keep_hands),
    "case_room": Choice(read=read_room, keep=keep_room),
    "cut_room_f": _number(
        "cut_room_f", "Cutting room: write how warm it is in degrees F, from 20 to 120, like 50.",
        "20", "120",
    ),
}  # fmt: skip
#: Days of their own, by name.
OF_THE_YEAR: Mapping[str, Choice] = {"closed_dates": _DATES, "opened_dates": _DATES}
ALL_CHOICES: Mapping[str, Choice] = {**CHANGEABLE, **OF_THE_BENCH, **OF_THE_YEAR}


def read_choice(name: str, value: object) -> Any:  # noqa: ANN401 -- the setting's own type
    """Return one setting as its own type.

    Parameters
    ----------
    name : str
        One of `ALL_CHOICES`.
    value : object
        What was given, or what was kept; amounts as text, `Decimal` or whole number, no float.

    Raises
    ------
    BadValue
        If there is no such setting, or the value is out of its range.
    """
    choice = ALL_CHOICES.get(name)
    if choice is None:
        names = ", ".join([*CHANGEABLE, *OF_THE_BENCH])
        raise BadValue(f"{name[:40]!r} cannot be changed here; choose from {names}.", where="name")
    return choice.read(value)
