"""Codes of weighed packs: item, price or weight, and the verifier between them.

A weighed pack carries a number that only the shop or its country understands. In the United
States and Canada it is ``2 IIIII V PPPP C``: item, verifier, price in cents, check digit. Other
places have their own; each is a row of `STRUCTURES`.

References
----------
.. [1] GS1 General Specifications 7.9.2 to 7.9.4, price verifier: rules BC020 to BC027.
.. [2] Structure for the United States: rule BC048, from memory, not checked.
.. [3] Structures of other places: rules BC062 to BC070; verify with the local organisation.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from collop.errors import BadValue
from collop.measures import Money
from collop.reference.rulebook import rule_row
from collop.ticket.digits import full, shown, verify, whole_digits

__all__ = [
    "STRUCTURES",
    "Structure",
    "VariableCode",
    "price_verifier",
    "read_variable",
    "structure_of",
    "variable_ean",
    "variable_upc",
]

_TABLES = {"2-": "BC020", "3": "BC021", "5+": "BC022", "5-": "BC023"}
_POSITIONS = {4: "BC024", 5: "BC025"}
_TOO_DEAR = (
    "use a field of 5 digits without verifier if the till reads it, "
    "or a GS1 DataBar Expanded code with the price in (392n)"
)
_WIDTH = 13


@cache
def _products(table: str) -> tuple[int, ...]:
    """Return the ten weighted products of one table, by digit."""
    return tuple(int(one) for one in rule_row(_TABLES[table]).value.split())


def price_verifier(digits: str) -> str:
    """Return the verifier of a field of 4 or 5 digits.

    Raises
    ------
    BadValue
        If `digits` are not 4 or 5 digits.

    Examples
    --------
    >>> price_verifier("2875"), price_verifier("14685")
    ('9', '6')
    """
    read = whole_digits(digits, 4, 5, "The price field")
    tables = rule_row(_POSITIONS[len(read)]).value.split()
    total = sum(_products(table)[int(one)] for table, one in zip(tables, read, strict=True))
    if len(read) == 4:
        return str(total * 3 % 10)
    return str(_products("5-").index(-total % 10))


@dataclass(frozen=True, slots=True, kw_only=True)
class Structure:
    """How one place writes a weighed pack's number, seen as 13 digits.

    Parameters
    ----------
    place : str
        Key of the place.
    prefixes : tuple of str
        What the number may begin with.
    item : int
        Digits of the item reference behind the prefix.
    verifier : bool
        Whether a verifier stands between item and value.
    value : int
        Digits of the value.
    measure : str
        ``price`` or ``weight`` (kg).
    decimals : int
        Decimals of the value.
    rule_id : str
        The row it was read from.
    """

    place: str
    prefixes: tuple[str, ...]
    item: int
    verifier: bool
    value: int
    measure: str
    decimals: int
    rule_id: str

    def __post_init__(self) -> None:
        width = len(self.prefixes[0]) + self.item + self.verifier + self.value + 1
        assert width == _WIDTH, self


def _alike(
    place: str, rule_id: str, measure: str, decimals: dict[str, int]
) -> tuple[Structure, ...]:
    """Return structures of 8 digits with the prefix, and 4 value digits, by prefix."""
    return tuple(
        Structure(place=place, prefixes=(prefix,), item=6, verifier=False, value=4,
                  measure=measure, decimals=count, rule_id=rule_id)
        for prefix, count in decimals.items()
    )  # fmt: skip


_FALLING = {"23": 3, "24": 2, "25": 1}
#: Every structure, as data. ``us`` begins with 02 because a UPC-A is a number of 13 with a zero.
STRUCTURES: tuple[Structure, ...] = (
    Structure(place="us", prefixes=("02",), item=5, verifier=True, value=4,
              measure="price", decimals=2, rule_id="BC048"),
    Structure(place="us, 5-digit price", prefixes=("02",), item=5, verifier=False, value=5,
              measure="price", decimals=2, rule_id="BC056"),
    Structure(place="gb", prefixes=("20", "28"), item=5, verifier=True, value=4,
              measure="price", decimals=2, rule_id="BC064"),
    Structure(place="dk", prefixes=("21", "22", "23", "24"), item=4, verifier=False, value=6,
              measure="price", decimals=2, rule_id="BC065"),
    Structure(place="de", prefixes=("22", "23"), item=4, verifier=True, value=5,
              measure="price", decimals=2, rule_id="BC066"),
    Structure(place="de", prefixes=("28", "29"), item=4, verifier=True, value=5,
              measure="weight", decimals=3, rule_id="BC067"),
    *(one for place in ("fi", "ee", "lv", "lt")
      for one in _alike(place, "BC068", "weight", _FALLING)),
    *(one for place in ("se", "no") for one in (
        *_alike(place, "BC069", "price", {"20": 2, "21": 1, "22": 0}),
        *_alike(place, "BC070", "weight", _FALLING),
    )),
)  # fmt: skip


def structure_of(place: str, code: str) -> Structure:
    """Return how `place` writes a number that begins like `code`, of 13 digits.

    Raises
    ------
    BadValue
        If the place is unknown or writes no weighed pack so.
    """
    here = [one for one in STRUCTURES if one.place == place]
    if not here:
        places = ", ".join(dict.fromkeys(one.place for one in STRUCTURES))
        raise BadValue(f"{shown(place)} is no place known here; use one of {places}.")
    for one in here:
        if code.startswith(one.prefixes):
            return one
    prefixes = ", ".join(prefix for one in here for prefix in one.prefixes)
    raise BadValue(
        f"{code[:2]!r} begins no weighed pack in {place!r}; there it begins with {prefixes}."
    )


@dataclass(frozen=True, slots=True)
class VariableCode:
    """What the number of a weighed pack says.

    Parameters
    ----------
    item : str
        Item reference.
    amount : Decimal
        Price, or weight in kg.
    digits : str
        The field the amount was read from.
    structure : Structure
        How it was read.
    """

    item: str
    amount: Decimal
    digits: str
    structure: Structure


def _build(how: Structure, prefix: str, item: str, value: int) -> str:
    """Return the 13 digits."""
    reference = whole_digits(item, how.item, how.item, "The item reference")
    if value <= 0:
        what = "The price" if how.measure == "price" else "The weight"
        raise BadValue(f"{what} is zero or less; a pack without it gets no ticket.")
    digits = str(value).zfill(how.value)
    if len(digits) > how.value:
        amount = f"{Decimal(value).scaleb(-how.decimals):f}"
        end = f": {_TOO_DEAR}" if how.measure == "price" else "; use a code with (310n) instead"
        raise BadValue(
            f"The {how.measure} {amount} does not fit a field of {how.value} digits{end}."
        )
    check = price_verifier(digits) if how.verifier else ""
    return full(prefix + reference + check + digits)


def variable_upc(item: str, price_minor: int, *, price_digits: int = 4) -> str:
    """Return the 12 digits of a weighed pack for the United States and Canada.

    Parameters
    ----------
    item : str
        Item reference of 5 digits.
    price_minor : int
        Price in cents, above zero.
    price_digits : int
        4 with a verifier, as tills expect, or 5 without one where the till reads it.

    Raises
    ------
    BadValue
        If the price is zero or does not fit, naming what to use instead.

    Examples
    --------
    >>> variable_upc("00101", 499)
    '200101804990'
    """
    if price_digits not in (4, 5):
        raise BadValue(f"A price field has 4 or 5 digits, not {price_digits}.")
    if isinstance(price_minor, bool) or not isinstance(price_minor, int):
        raise BadValue("The price must be a whole number of cents.")
    how = structure_of("us" if price_digits == 4 else "us, 5-digit price", "02")
    return _build(how, "02", item, price_minor)[1:]


def variable_ean(
    item: str, amount: Decimal, *, place: str = "gb", prefix: str = "20", currency: str = ""
) -> str:
    """Return the 13 digits of a weighed pack in a place's own structure.

    Parameters
    ----------
    item : str
        Item reference, as many digits as the place has.
    amount : Decimal
        Price, or weight in kg, as the prefix says.
    place : str
        Place of a row of `STRUCTURES`.
    prefix : str
        Two digits.
    currency : str
        Where given, a price with more decimals than this currency has is refused.

    Raises
    ------
    BadValue
        If the amount does not fit the field exactly.

    Examples
    --------
    >>> variable_ean("11122", Decimal("12.34"), place="gb", prefix="20")
    '2011122912346'
    """
    how = structure_of(place, whole_digits(prefix, 2, 2, "The prefix"))
    if not isinstance(amount, Decimal) or not amount.is_finite() or abs(amount.adjusted()) > 12:
        raise BadValue(f"The {how.measure} must be a decimal such as 12.34.")
    if currency and how.measure == "price":
        Money.of(amount, currency)
    scaled = amount.scaleb(how.decimals)
    if scaled != scaled.to_integral_value():
        raise BadValue(
            f"The {how.measure} {amount} is finer than the {how.decimals} decimals of this code; "
            "choose a prefix with more."
        )
    return _build(how, prefix, item, int(scaled))


def read_variable(code: str, place: str = "us") -> VariableCode:
    """Return what the number of a weighed pack says.

    Parameters
    ----------
    code : str
        12 or 13 digits.
    place : str
        Place of a row of `STRUCTURES`.

    Raises
    ------
    BadValue
        If its check digit or its verifier is wrong, naming the right one.

    Examples
    --------
    >>> str(read_variable("200101804990").amount)
    '4.99'
    """
    digits = whole_digits(code, 12, 13, "The number of the pack")
    how = structure_of(place, digits.zfill(_WIDTH))
    digits = verify(digits, "The number of the pack").zfill(_WIDTH)
    item_end = 2 + how.item
    value = digits[item_end + how.verifier : -1]
    if how.verifier and digits[item_end] != (right := price_verifier(value)):
        raise BadValue(
            f"The verifier is {digits[item_end]}, for {how.measure} {value} it must be {right}; "
            "scan the pack again, or print its ticket again."
        )
    amount = Decimal(int(value)).scaleb(-how.decimals)
    return VariableCode(digits[2:item_end], amount, value, how)
