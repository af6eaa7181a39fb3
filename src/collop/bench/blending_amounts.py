"""Amounts of a blend: shares and weights read exactly, money and weights printed plainly."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from collop.measures import Rounding, decimal_of, minor_places
from collop.wire import Reader

__all__ = [
    "PER_UNIT", "UNITS", "BlendFrame", "dealt", "exact_share", "money_of", "plain", "read_frame",
    "share_text", "thousandths", "weight_text",
]  # fmt: skip

UNITS = ("lb", "kg")
#: Weights of a plan are whole thousandths of the unit.
PER_UNIT = 1000
_SHARE_PLACES = 6
_UNIT_PLACES = 4
_MOST_LETTERS = 200


@dataclass(frozen=True, slots=True)
class BlendFrame:
    """Name, currency, rule of the last digit and the one unit of all weights and prices."""

    name: str
    currency: str
    rounding: Rounding
    unit: str

    def minor(self, amount: Fraction) -> int:
        """Return money in whole minor units, rounded once."""
        places = minor_places(self.currency)
        return int(decimal_of(amount, places, self.rounding).scaleb(places))

    def of_minor(self, minor: int) -> str:
        """Return whole minor units as money."""
        return f"{Decimal(minor).scaleb(-minor_places(self.currency)):f}"

    def money(self, amount: Fraction) -> str:
        """Return money with the currency's decimals, rounded once."""
        return self.of_minor(self.minor(amount))

    def unit_money(self, amount: Fraction) -> str:
        """Return money per unit, two places finer than money (four at the least)."""
        places = max(_UNIT_PLACES, minor_places(self.currency) + 2)
        return f"{decimal_of(amount, places, self.rounding):f}"


def read_frame(top: Reader) -> BlendFrame:
    """Read ``name``, ``currency``, ``rounding`` and ``unit``.

    Raises
    ------
    ProblemError
        With the path of the first bad value.
    """
    currency = top.currency()
    return BlendFrame(
        name=top.text("name", "")[:_MOST_LETTERS],
        currency=currency,
        rounding=Rounding(top.choice("rounding", list(Rounding), Rounding.HALF_UP)),
        unit=top.choice("unit", UNITS, UNITS[0]),
    )


def exact_share(
    row: Reader, key: str, default: object = ..., *, high: float = 1.0
) -> Fraction | None:
    """Return a share of weight, a number from 0 to `high`, as the decimal it was written as.

    Raises
    ------
    BadValue
        If it is out of range, or finer than a millionth.
    """
    found = row.number(key, 0.0, high) if default is ... else row.number(key, 0.0, high, default)
    if found is None:
        return None
    share = Fraction(Decimal(str(found)))
    if (share * 10**_SHARE_PLACES).denominator != 1:
        raise row.fail(key, f"is {found}; write it to a millionth at the finest, such as 0.28.")
    return share


def money_of(row: Reader, key: str, default: str | None, *, high: str = "10000") -> Fraction:
    """Return money per unit, exactly; `default` None: it must be given."""
    found = row.decimal(key, high=high) if default is None else row.decimal(key, None, high=high)
    return Fraction(default or 0) if found is None else Fraction(found)


def thousandths(weight: Fraction) -> int:
    """Return the whole thousandths in a weight, rounded down."""
    scaled = weight * PER_UNIT
    return scaled.numerator // scaled.denominator


def plain(value: Fraction, places: int = 6) -> str:
    """Return a decimal without closing zeros, rounded half up to `places`."""
    text = f"{decimal_of(value, places):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def weight_text(count: int) -> str:
    """Return whole thousandths as a weight, such as ``16.2``."""
    return plain(Fraction(count, PER_UNIT))


def share_text(share: Fraction, places: int = 2) -> str:
    """Return a share in words, such as ``27.5 %``."""
    return f"{plain(share * 100, places)} %"


def dealt(totals: Sequence[int], into: int) -> list[list[int]]:
    """Deal whole amounts into equal lots whose sums differ by one at the most.

    Parameters
    ----------
    totals : sequence of int
        Amount of each ingredient.
    into : int
        How many lots.

    Returns
    -------
    list of list of int, shape (into, len(totals))
        Each lot gets an even share of each amount; what is over goes round from lot to lot.

    Examples
    --------
    >>> dealt([7, 4], 3)
    [[3, 1], [2, 2], [2, 1]]
    """
    lots: list[list[int]] = [[] for _ in range(into)]
    turn = 0
    for total in totals:
        even, over = divmod(total, into)
        takers = {(turn + step) % into for step in range(over)}
        turn = (turn + over) % into
        for lot, amounts in enumerate(lots):
            amounts.append(even + (lot in takers))
    return lots
