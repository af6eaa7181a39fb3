"""Amounts of a problem: read exactly, turned from unit to unit, printed plainly."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from collop.errors import BadValue
from collop.measures import Rounding, WeightUnit, decimal_of, minor_places
from collop.wire import Reader, checked_decimal, checked_number

__all__ = [
    "LEAST",
    "UNITS",
    "Frame",
    "UnitFrame",
    "above_zero",
    "amount",
    "exact",
    "maybe",
    "percent",
    "plain",
    "read_frame",
    "read_unit",
    "read_unit_frame",
    "rounded",
    "to_the_cent",
    "units_in",
]

#: Units that a whole problem may be written in; every weight and price of it is in that one.
UNITS = ("lb", "kg")
_PRICE_PLACES = 24
_UNIT_PLACES = 4
_LONGEST_UNIT = 20
#: Finer than any scale or count; what is divided by less has no place on a page.
LEAST = Fraction(1, 1_000_000)

# exact by definition: 1 lb = 0.45359237 kg, 16 oz = 1 lb (NIST Handbook 44, Appendix C)
_POUNDS_PER = {
    WeightUnit.LB.value: Fraction(1),
    WeightUnit.OZ.value: Fraction(1, 16),
    WeightUnit.KG.value: Fraction(100_000_000, 45_359_237),
    WeightUnit.G.value: Fraction(100_000, 45_359_237),
}


@dataclass(frozen=True, slots=True)
class Frame:
    """What a problem says of itself: its name, its currency and the rule of the last digit."""

    name: str
    currency: str
    rounding: Rounding

    @property
    def places(self) -> int:
        """Return how many decimals the currency has."""
        return minor_places(self.currency)

    def minor(self, amount: Fraction) -> int:
        """Return an amount in whole minor units, rounded once."""
        scaled = decimal_of(amount, self.places, self.rounding).scaleb(self.places)
        return int(scaled)

    def money(self, amount: Fraction) -> str:
        """Return an amount with the currency's decimals, rounded once."""
        return f"{decimal_of(amount, self.places, self.rounding):f}"

    def of_minor(self, minor: int) -> str:
        """Return a whole number of minor units as an amount."""
        return f"{Decimal(minor).scaleb(-self.places):f}"

    def unit_money(self, amount: Fraction) -> str:
        """Return money per unit, two places finer than money (four at the least)."""
        return f"{decimal_of(amount, max(_UNIT_PLACES, self.places + 2), self.rounding):f}"


@dataclass(frozen=True, slots=True)
class UnitFrame(Frame):
    """A `Frame` whose weights and prices are all in one `unit`, ``lb`` or ``kg``."""

    unit: str

    def price(self, amount: Fraction) -> str:
        """Return a price that was given, with the currency's decimals or as fine as it is."""
        shown = self.money(amount)
        return shown if Fraction(shown) == amount else plain(amount, _PRICE_PLACES)

    def json(self) -> dict[str, str]:
        """Return the head that every plan repeats."""
        return {"name": self.name, "currency": self.currency, "unit": self.unit}


def read_frame(top: Reader) -> Frame:
    """Read ``name``, ``currency`` and ``rounding``.

    Raises
    ------
    ProblemError
        With the path of the first bad value.
    """
    currency = top.currency()
    return Frame(
        name=top.text("name", ""),
        currency=currency,
        rounding=Rounding(top.choice("rounding", list(Rounding), Rounding.HALF_UP)),
    )


def read_unit_frame(top: Reader) -> UnitFrame:
    """Read ``name``, ``currency``, ``rounding`` and ``unit``; raises as `read_frame` does."""
    head = read_frame(top)
    return UnitFrame(head.name, head.currency, head.rounding, top.choice("unit", UNITS, UNITS[0]))


def exact(number: float | str) -> Fraction:
    """Return the decimal that a JSON number was written as, exactly."""
    return Fraction(Decimal(str(number)))


def read_unit(row: Reader, default: str, key: str = "unit") -> str:
    """Return the unit of a quantity: a weight, or the shop's own word such as ``piece``."""
    unit = str(row.text(key, default)).strip()
    if not unit or len(unit) > _LONGEST_UNIT:
        raise row.fail(key, f"is {unit[:40]!r}; write a unit such as lb, kg or piece.")
    return unit


def maybe(row: Reader, key: str, *, high: str = "1000000") -> Fraction | None:
    """Return a decimal text as an exact fraction; None if it is left out."""
    found = row.decimal(key, None, high=high)
    return None if found is None else Fraction(found)


def above_zero(
    row: Reader, key: str, *, high: str = "1000000", least: Fraction = Fraction(0)
) -> Fraction:
    """Return a decimal text above zero, of `least` or more, exactly, or raise with its path."""
    found = Fraction(row.decimal(key, high=high))
    if not found:
        raise row.fail(key, "is zero; it must be more than zero.")
    if found < least:
        raise row.fail(key, f"is {row.value[key]}; write a millionth at the least.")
    return found


def amount(value: object, where: str) -> Fraction:
    """Return a quantity given as a number or as a decimal text, exactly.

    Raises
    ------
    BadValue
        With its path, if it is neither, or above zero but under a millionth.
    """
    if isinstance(value, str):
        found = Fraction(checked_decimal(value, where))
    else:
        found = Fraction(Decimal(str(checked_number(value, 0.0, 1_000_000.0, where))))
    if 0 < found < LEAST:
        raise BadValue(f"{where} is {value}; write zero, or a millionth at the least.", where=where)
    return found


def units_in(unit: str, to: str) -> Fraction | None:
    """Return how many of `to` make one `unit`; None if one does not turn into the other.

    Examples
    --------
    >>> units_in("oz", "lb"), units_in("piece", "lb")
    (Fraction(1, 16), None)
    """
    if unit == to:
        return Fraction(1)
    if unit in _POUNDS_PER and to in _POUNDS_PER:
        return _POUNDS_PER[unit] / _POUNDS_PER[to]
    return None


def plain(value: Fraction, places: int = 6, at_least: int = 0) -> str:
    """Return a decimal without closing zeros, rounded half up to `places`.

    Parameters
    ----------
    value : Fraction
        Any amount.
    places : int
        Most decimals.
    at_least : int
        Decimals that are kept though they are zeros.

    Examples
    --------
    >>> plain(Fraction(16)), plain(Fraction(1, 8)), plain(Fraction(9), at_least=2)
    ('16', '0.125', '9.00')
    """
    text = f"{decimal_of(value, places):f}"
    whole, _, decimals = text.partition(".")
    decimals = decimals.rstrip("0").ljust(at_least, "0")
    return f"{whole}.{decimals}" if decimals else whole


def rounded(value: Fraction, places: int) -> float:
    """Return a plain number (a share, a count of days) rounded half up to `places`."""
    return float(decimal_of(value, places))


def percent(value: Fraction | None, places: int = 1) -> float | None:
    """Return a share as a percent, rounded half up; None stays None."""
    return None if value is None else float(decimal_of(value * 100, places))


def to_the_cent(parts: Sequence[Fraction], ties: Sequence[tuple[object, ...]]) -> list[int]:
    """Round parts to whole cents so that they sum to the same whole number of cents.

    Each is rounded down; the cents left go one each to the largest remainders. A part below zero
    is rounded down too, away from zero.

    Parameters
    ----------
    parts : sequence of Fraction
        In cents (minor units); their sum is a whole number.
    ties : sequence of tuple
        What decides between equal remainders, the smaller first, so that the order of the lines
        does not.

    Examples
    --------
    >>> to_the_cent([Fraction(1, 3)] * 3, [("wing",), ("back",), ("neck",)])
    [0, 1, 0]
    """
    found = [part.numerator // part.denominator for part in parts]
    left = int(sum(parts, Fraction(0))) - sum(found)
    order = sorted(range(len(parts)), key=lambda at: (found[at] - parts[at], ties[at]))
    for at in order[:left]:
        found[at] += 1
    return found
