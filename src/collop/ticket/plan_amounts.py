"""Weights and money of a ticket: net, total, and what is shown beside them."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from collop.errors import BadValue
from collop.measures import Money, Weight, WeightUnit
from collop.rules.weighing import declared, price_of
from collop.ticket.problem import TicketProblem
from collop.ticket.words import net_words, price_words, tare_words

__all__ = ["Amounts", "amounts_of"]

#: Decimals of the weight that is shown beside, cut off and never rounded up (WM059).
OTHER_PLACES = {WeightUnit.KG: 3, WeightUnit.LB: 2}


@dataclass(frozen=True, slots=True, kw_only=True)
class Amounts:
    """What is weighed and charged.

    Parameters
    ----------
    weight : Weight
        Net, exact.
    net, tare : Decimal
        In the unit that was weighed.
    net_other, price_other : Decimal
        For the other unit.
    price : Decimal
        Per the unit it is set in, with the currency's decimals.
    per, per_other : WeightUnit
        Units of the two prices.
    total : Money
        Net times price, rounded once.
    shows_other : bool
        Whether the other unit is printed beside.
    cautions : tuple of str
        What to heed of the weighing.
    net_words, price_words, tare_words : str
        As printed.
    """

    weight: Weight
    net: Decimal
    net_other: Decimal
    tare: Decimal
    price: Decimal
    price_other: Decimal
    per: WeightUnit
    per_other: WeightUnit
    total: Money
    shows_other: bool
    cautions: tuple[str, ...]
    net_words: str
    price_words: str
    tare_words: str


def amounts_of(problem: TicketProblem) -> Amounts:
    """Return the amounts of a ticket.

    Raises
    ------
    BadValue
        If the scale is at or below its tare, over its capacity or off its steps, or the total is
        nothing.
    """
    weighed, price = problem.weighed, problem.price
    try:
        priced = price_of(weighed.gross, weighed.tare, price, problem.rounding,
                          division=weighed.division, capacity=weighed.capacity)  # fmt: skip
    except BadValue as error:
        raise BadValue(error.message, where=_WHERE.get(error.where, "$.weight")) from None
    if not priced.total.minor:
        raise BadValue(
            f"{priced.net.text(places=weighed.places)} costs less than the smallest coin, so no "
            "ticket is printed (BC057); weigh more of it.",
            where="$.weight.gross",
        )
    unit, other = weighed.unit, weighed.other
    per = price.per
    per_other = WeightUnit.KG if per is WeightUnit.LB else WeightUnit.LB
    net = priced.net.decimal(unit, weighed.places)
    net_other = declared(priced.net, other, OTHER_PLACES[other])
    shown = Money(int(price.minor), price.currency).decimal()
    price_other = price.shown_per(per_other)
    # a price per the other unit can only be followed with the weight in it
    both = problem.weight_unit_also or per is not unit
    return Amounts(
        weight=priced.net, net=net, net_other=net_other,
        tare=priced.tare.decimal(unit, weighed.places), price=shown, price_other=price_other,
        per=per, per_other=per_other, total=priced.total, shows_other=both,
        cautions=(*priced.cautions, *_mixed(per, unit)),
        net_words=net_words(net, unit, net_other if both else None, other),
        price_words=price_words(shown, per, price_other if both else None, per_other,
                                price.currency),
        tare_words=tare_words(priced.tare.decimal(unit, weighed.places), unit),
    )  # fmt: skip


_WHERE = {"gross": "$.weight.gross", "tare": "$.weight.tare", "price": "$.price.amount",
          "division": "$.weight.division"}  # fmt: skip


def _mixed(per: WeightUnit, unit: WeightUnit) -> tuple[str, ...]:
    if per is unit:
        return ()
    said = f"The price is per {per} and the scale weighs in {unit}: the total cannot be checked"
    return (f"{said} from the ticket to the last cent; set the price in the unit of the scale.",)
