"""Sentences of the farm call: numbers in words, names in the plural, what to say on the phone."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from collop.bench.farm_problem import Animal, FarmProblem
from collop.measures import decimal_of, minor_places

__all__ = [
    "Pen", "counted", "date_words", "in_words", "joined", "order_sentence", "plural",
    "usual_sentences",
]  # fmt: skip

_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
            "eleven", "twelve")  # fmt: skip
_PLURALS = {"sheep": "sheep", "calf": "calves", "half": "halves", "ox": "oxen", "goose": "geese",
            "carcass": "carcasses", "cattle": "cattle", "deer": "deer"}  # fmt: skip
_WEIGHT_PLACES = 3


@dataclass(frozen=True, slots=True)
class Pen:
    """Writes weights, money and shares of one problem."""

    problem: FarmProblem

    def money(self, amount: Fraction) -> str:
        """Return money with the currency's decimals, rounded once."""
        places = minor_places(self.problem.currency)
        # + 0 takes the sign off a zero
        return f"{decimal_of(amount, places, self.problem.rounding) + 0:f}"

    def weight(self, weight: Fraction, places: int = _WEIGHT_PLACES) -> str:
        """Return a weight without closing zeros."""
        text = f"{decimal_of(weight, places, self.problem.rounding) + 0:f}"
        return text.rstrip("0").rstrip(".") if "." in text else text

    def said(self, weight: Fraction) -> str:
        """Return a weight with its unit, to a tenth or, if small, a hundredth."""
        return f"{self.weight(weight, 1 if weight >= 1 else 2)} {self.problem.unit}"


def in_words(count: int) -> str:
    """Return a number as it is said: in words up to twelve."""
    return _NUMBERS[count] if 0 <= count < len(_NUMBERS) else str(count)


def plural(name: str) -> str:
    """Return the plural of an animal's name.

    Examples
    --------
    >>> plural("side of beef"), plural("half hog"), plural("sheep")
    ('sides of beef', 'half hogs', 'sheep')
    """
    head, of, rest = name.partition(" of ")
    before, space, word = head.rpartition(" ")
    many = _PLURALS.get(word.lower(), word if word.endswith("s") else f"{word}s")
    return f"{before}{space}{many}{of}{rest}"


def counted(count: int, name: str) -> str:
    """Return ``two lambs``, ``one side of beef``, ``no lambs``."""
    lower = name[:1].lower() + name[1:]
    return f"{in_words(count)} {lower if count == 1 else plural(lower)}"


def joined(parts: Sequence[str]) -> str:
    """Return parts as a list in a sentence."""
    if len(parts) < 2:
        return "".join(parts)
    return f"{', '.join(parts[:-1])} and {parts[-1]}"


def date_words(day: date) -> str:
    """Return ``15 June 2026``, whatever the language of the machine."""
    months = ("January", "February", "March", "April", "May", "June", "July", "August",
              "September", "October", "November", "December")  # fmt: skip
    return f"{day.day} {months[day.month - 1]} {day.year}"


def order_sentence(problem: FarmProblem, counts: Sequence[int]) -> str:
    """Return the order as it is said on the phone."""
    parts = [counted(count, animal.name)
             for count, animal in zip(counts, problem.animals, strict=True) if count]  # fmt: skip
    what = joined(parts) or "no animals"
    return f"{what[:1].upper()}{what[1:]} for the week of {date_words(problem.week_of)}."


def usual_sentences(animals: Iterable[Animal], counts: Sequence[int]) -> list[str]:
    """Return how the order stands to the usual one, for each animal that differs."""
    found = []
    for animal, count in zip(animals, counts, strict=True):
        if animal.usual is not None and animal.usual != count:
            more = "more" if count > animal.usual else "fewer"
            name = counted(abs(count - animal.usual), animal.name)
            found.append(f"{name[:1].upper()}{name[1:]} {more} than usual.")
    return found
