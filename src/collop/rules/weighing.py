"""The price of a weighed sale: net weight, tare, scale division, capacity, and the last cent.

Nothing here weighs: a reading comes in, and a price goes out or one sentence why there is none.
What scales must be like stands in `collop.rules.weighing_scale`.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from collop.errors import BadValue
from collop.measures import Money, Rounding, UnitPrice, Weight, WeightUnit, decimal_of, minor_places
from collop.rules.weighing_scale import (
    LEAST_LOAD_DIVISIONS,
    check_division,
    in_divisions,
    weight_text,
)

__all__ = [
    "PricedWeight",
    "declared",
    "dry_tare_net",
    "net_of",
    "price_of",
    "small_unit_price",
    "tare_in_divisions",
    "tare_was_missed",
]

_UK_PLACES = 3
_UK_UNDER = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class PricedWeight:
    """What a weighed thing costs.

    Parameters
    ----------
    gross, tare, net : Weight
        Reading, tare as it was taken off (whole divisions), and their difference.
    unit_price : UnitPrice
        The price that was used.
    total : Money
        Net weight times unit price, rounded once.
    rule : Rounding
        The rule by which the last cent was found.
    is_tie : bool
        Whether the exact amount ended on half a cent, so that the rule decided.
    cautions : tuple of str
        What the person at the scale should know; nothing in it blocks the sale.
    """

    gross: Weight
    tare: Weight
    net: Weight
    unit_price: UnitPrice
    total: Money
    rule: Rounding
    is_tie: bool
    cautions: tuple[str, ...]


def net_of(gross: Weight, tare: Weight) -> Weight:
    """Return gross less tare.

    Parameters
    ----------
    gross : Weight
        What the scale read with the packaging.
    tare : Weight
        The packaging; zero or more.

    Raises
    ------
    BadValue
        If the tare is below zero, or nothing is left above it.
    """
    if tare < Weight.zero():
        raise BadValue(
            f"The tare is {weight_text(tare)}; packaging weighs zero or more, so weigh it again.",
            where="tare",
        )
    net = gross - tare
    if net <= Weight.zero():
        raise BadValue(
            f"The scale reads {weight_text(gross)} with a tare of {weight_text(tare)}, so nothing "
            "is left to price; put the goods on the scale, or check the tare.",
            where="gross",
        )
    return net


def tare_in_divisions(tare: Weight, division: Weight) -> Weight:
    """Return the tare as a scale of that division holds it: rounded up, for the customer.

    Parameters
    ----------
    tare : Weight
        As it was weighed or typed; zero or more.
    division : Weight
        Smallest step of the scale, above zero.

    Notes
    -----
    A tare is held in whole divisions (NIST Handbook 44, Scales Code S.2.3; the direction of the
    rounding is ours, from memory). Up never makes the customer pay for packaging.

    Examples
    --------
    >>> lb = WeightUnit.LB
    >>> tare_in_divisions(Weight.of("0.017", lb), Weight.of("0.01", lb)).text()
    '0.02 lb'
    """
    steps = in_divisions(tare, division)
    whole = -(-steps.numerator // steps.denominator)
    return Weight(division.count * whole, tare.unit)


def price_of(
    gross: Weight,
    tare: Weight,
    price: UnitPrice,
    rule: Rounding = Rounding.HALF_UP,
    *,
    division: Weight,
    capacity: Weight,
) -> PricedWeight:
    """Return what a weighed thing costs, or refuse with the reason.

    Parameters
    ----------
    gross, tare : Weight
        Reading of the scale, and the packaging in it.
    price : UnitPrice
        In whole minor units of the currency, so that it can be shown.
    rule : Rounding
        What becomes of an exact half of the last cent.
    division, capacity : Weight
        As on the plate of the scale.

    Returns
    -------
    PricedWeight
        The price is `UnitPrice.line` of the net weight.

    Raises
    ------
    BadValue
        If the scale is at or below zero, over its capacity, off its divisions, if its division
        is none a scale may have, or if the price has part of a cent.
    """
    check_division(division)
    _check_reading(gross, division, capacity)
    _check_price(price)
    taken = tare_in_divisions(tare, division)
    net = net_of(gross, taken)
    total = price.line(net, rule)
    exact = net.exact(price.per) * price.minor
    is_tie = (exact * 2).denominator == 1 and exact.denominator == 2
    cautions = []
    if taken != tare:
        cautions.append(
            f"The tare of {weight_text(tare)} is taken as {weight_text(taken)}: a scale of "
            f"{weight_text(division)} steps holds whole steps, rounded up for the customer."
        )
    if gross < division * LEAST_LOAD_DIVISIONS:
        least = weight_text(division * LEAST_LOAD_DIVISIONS)
        cautions.append(
            f"The scale reads {weight_text(gross)}, under {least} ({LEAST_LOAD_DIVISIONS} of its "
            "steps); use a finer scale for so little."
        )
    if total.minor == 0 and price.amount > 0:
        cautions.append("So little costs less than the smallest coin; nothing can be charged.")
    return PricedWeight(
        gross=gross, tare=taken, net=net, unit_price=price, total=total, rule=rule,
        is_tie=is_tie, cautions=tuple(cautions),
    )  # fmt: skip


def _check_reading(gross: Weight, division: Weight, capacity: Weight) -> None:
    if gross > capacity:
        raise BadValue(
            f"The scale reads {weight_text(gross)}, over its capacity of {weight_text(capacity)}; "
            "weigh it in two parts or on a larger scale.",
            where="gross",
        )
    if gross > Weight.zero() and in_divisions(gross, division).denominator != 1:
        raise BadValue(
            f"{weight_text(gross)} is no reading of a scale with steps of "
            f"{weight_text(division)}; read the scale again.",
            where="gross",
        )


def _check_price(price: UnitPrice) -> None:
    """Refuse a price that cannot be shown: the total would not agree with what is read."""
    if price.minor.denominator != 1:
        shown = decimal_of(Fraction(price.amount), minor_places(price.currency))
        raise BadValue(
            f"The price {price.amount} a {price.per} has part of a cent and cannot be shown; "
            f"set it in whole cents, such as {shown}.",
            where="price",
        )


def declared(weight: Weight, unit: WeightUnit, places: int) -> Decimal:
    """Return a weight as it may be declared in `unit`: cut off, never rounded up.

    Parameters
    ----------
    weight : Weight
        Zero or more.
    unit : WeightUnit
        Unit of the declaration.
    places : int
        Decimals shown, zero or more.

    Notes
    -----
    NIST Handbook 130, UPLR conversion rule: rounding must not overstate (from memory).

    Examples
    --------
    >>> declared(Weight.of("1.25", WeightUnit.LB), WeightUnit.KG, 3)
    Decimal('0.566')
    """
    scale: int = 10**places
    scaled = weight.exact(unit) * scale
    return Decimal(scaled.numerator // scaled.denominator).scaleb(-places)


def tare_was_missed(reading: Weight, labelled: Weight) -> bool:
    """Tell whether a package cannot have had its tare taken off.

    Parameters
    ----------
    reading : Weight
        What the scale reads for the whole package.
    labelled : Weight
        The net weight on its label.

    Notes
    -----
    Arizona Department of Agriculture, Weights and Measures, "Tare": with its packaging a package
    weighs more than its labelled net weight, or the tare was not taken off.
    """
    return reading <= labelled


def dry_tare_net(gross: Weight, dry_tare: Weight) -> Weight:
    """Return the net weight of a meat package as it is checked: by the dry packaging alone.

    Liquid that a pad soaked up counts as product, so a soaked pad is never taken as tare.

    Parameters
    ----------
    gross : Weight
        The whole package.
    dry_tare : Weight
        Packaging as it came, or washed and dried.

    Raises
    ------
    BadValue
        If nothing is left above the tare.

    Notes
    -----
    FSIS final rule on net weight, effective 9 October 2008: the wet-tare method is left out.
    """
    return net_of(gross, dry_tare)


def small_unit_price(exact: Fraction) -> Decimal:
    """Return a unit price in pounds sterling as it is shown in Northern Ireland.

    Parameters
    ----------
    exact : Fraction
        Pounds, zero or more.

    Returns
    -------
    Decimal
        Under GBP 1 to the nearest 0.1 p, five or more in the next digit up; else to the penny
        (the penny is from memory).

    Notes
    -----
    Price Marking Order (Northern Ireland) 2004, art. 13.
    """
    return decimal_of(exact, _UK_PLACES if exact < _UK_UNDER else 2)
