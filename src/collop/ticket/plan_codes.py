"""What the bar codes of a ticket hold: the shop's number with the price, or an element string.

The kinds and how they are drawn stand in `collop.ticket.symbols`.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from collop.errors import BadValue
from collop.measures import Money, Weight, WeightUnit, minor_places
from collop.ticket.digits import gtin14
from collop.ticket.elements import ElementString, encode
from collop.ticket.elements_making import date_value, price_element, weight_element
from collop.ticket.problem import TicketProblem
from collop.ticket.symbols import GS1_KINDS, check_room
from collop.ticket.variable import structure_of, variable_ean, variable_upc

__all__ = ["CodeText", "codes_of", "element_string_of", "trace_text"]

_MOST_UPC = 9999
_FIVE = "us, 5-digit price"
_MOST_LOT = 20


@dataclass(frozen=True, slots=True)
class CodeText:
    """A bar code's kind, what it holds, and the line under it (empty for matrix codes)."""

    kind: str
    data: str
    text: str


def codes_of(problem: TicketProblem, net: Weight, total: Money) -> tuple[CodeText, ...]:
    """Return the bar codes of a ticket.

    Raises
    ------
    BadValue
        If a number they need is missing or wrong, or the price does not fit; with the alternative.
    """
    return tuple(
        _code(problem, kind, net, total, f"$.codes[{index}]")
        for index, kind in enumerate(problem.codes)
    )


def _code(problem: TicketProblem, kind: str, net: Weight, total: Money, where: str) -> CodeText:
    try:
        if kind == "upc-a":
            digits = _upc(problem, total)
            return CodeText(kind, digits, f"{digits[0]} {digits[1:6]} {digits[6:11]} {digits[11]}")
        if kind == "ean-13":
            digits = _ean(problem, net, total)
            return CodeText(kind, digits, f"{digits[0]} {digits[1:7]} {digits[7:]}")
        if kind in GS1_KINDS:
            made = element_string_of(problem, net, total)
            check_room(kind, made.transmitted)
            data = made.element_string
            matrix = kind in ("gs1-datamatrix", "gs1-qr")
            return CodeText(kind, data, "" if matrix else data)
    except BadValue as error:
        raise BadValue(f"The {kind} code: {error.message}", where=error.where or where) from None
    return CodeText(kind, trace_text(problem), "")


def trace_text(problem: TicketProblem) -> str:
    """Return what the trace code says: number of the ticket and lot, e.g. ``T12 L-208.01``."""
    number = problem.trace or problem.ticket
    return f"{number} {problem.lot}" if number else problem.lot


def _item(problem: TicketProblem) -> str:
    if problem.item is None:
        raise BadValue(
            "it needs the shop's item reference; give $.product.item, such as 00101.",
            where="$.product.item",
        )
    return problem.item


def _upc(problem: TicketProblem, total: Money) -> str:
    item = _item(problem)
    if minor_places(problem.price.currency) != 2:
        raise BadValue(f"its price field has 2 decimals, and {problem.price.currency} has not.")
    if problem.ean.place == _FIVE:
        return variable_upc(item, total.minor, price_digits=5)
    if total.minor > _MOST_UPC:
        raise BadValue(
            f"the price {total} does not fit a field of 4 digits; use databar-expanded-stacked, "
            "which holds the price in (392n), pack it in two, or, where the till reads a field of "
            f"5 digits, set $.ean13.place to {_FIVE!r}."
        )
    return variable_upc(item, total.minor)


def _ean(problem: TicketProblem, net: Weight, total: Money) -> str:
    ean = problem.ean
    if ean.place in ("us", _FIVE):
        return f"0{_upc(problem, total)}"
    how = structure_of(ean.place, ean.prefix)
    if how.measure == "price":
        return variable_ean(
            _item(problem), total.decimal(), place=ean.place, prefix=ean.prefix,
            currency=problem.price.currency,
        )  # fmt: skip
    if net.unit is not WeightUnit.KG:
        raise BadValue("its weight field is in kg, and the scale weighs in lb; use another prefix.")
    exact = net.exact(WeightUnit.KG)
    amount = Decimal(exact.numerator) / Decimal(exact.denominator)  # ends: the scale's own decimals
    return variable_ean(_item(problem), amount, place=ean.place, prefix=ean.prefix)


def element_string_of(problem: TicketProblem, net: Weight, total: Money) -> ElementString:
    """Return the element string in brackets: trade item, weight, price, day, lot.

    Raises
    ------
    BadValue
        If there is no trade item number, or a value does not fit.

    Notes
    -----
    Weight by (320n) in pounds or (310n) in kilograms, price by (392n): rules BC084, BC085, BC087.
    The day is (15) best before, (16) sell by, else (17): rules BC077 to BC079.
    """
    if problem.gtin is None:
        raise BadValue(
            "it needs a trade item number; give $.product.gtin of 14 digits.",
            where="$.product.gtin",
        )
    unit = problem.weighed.unit
    weight = weight_element(net.decimal(unit, problem.weighed.places), unit)
    values = dict([("01", _gtin(problem.gtin)), weight, price_element(total)])
    use_by = problem.product.use_by
    if use_by is not None:
        values[_day_identifier(problem.product.date_words)] = date_value(use_by)
    if len(problem.lot) > _MOST_LOT:
        raise BadValue(f"the lot {problem.lot!r} is longer than the {_MOST_LOT} that fit.",
                       where="$.lot")  # fmt: skip
    values["10"] = problem.lot
    return encode(values)


def _gtin(text: str) -> str:
    try:
        return gtin14(text)
    except BadValue as error:
        raise BadValue(error.message, where="$.product.gtin") from None


def _day_identifier(phrase: str) -> str:
    said = phrase.casefold()
    if "best" in said:
        return "15"
    return "16" if "sell" in said else "17"
