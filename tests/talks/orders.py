"""What every order and slip must satisfy, recomputed from what they say; and which rule is where.

The rules of an answer (`invariants`) look at a plan; those here look at the shop after it: at
bookings, slips and the case. `WHERE` names for each of the twenty rules what holds it.
"""

from __future__ import annotations

from collections import Counter
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

import invariants as of_plan

from collop.measures import Weight, WeightUnit
from collop.shop import Shop, State
from collop.spread import answer

CENT = Decimal("0.01")


def _exact(weight: Any, price: Any) -> Decimal:
    """Return weight x price before rounding, in the unit of the price."""
    exact = weight.exact(price.per)
    return Decimal(exact.numerator) / Decimal(exact.denominator) * price.amount


def _half_up(value: Decimal) -> Decimal:
    return value.quantize(CENT, ROUND_HALF_UP)


def nothing_over_free(shop: Shop) -> None:
    """G1: on hand is booked, free and past, nothing below zero; the ledger holds."""
    assert shop.check() == []
    for line in shop.case():
        counts = (line.booked.count, line.free.count, line.past.count)
        assert min(counts) >= 0, line.id
        assert line.on_hand.count == sum(counts), line.id


def held_is_promised(shop: Shop, bookings: Any) -> None:
    """G1: what the case shows as booked of a line is what the bookings hold of it."""
    held: Counter[str] = Counter()
    for booking in bookings:
        for line in booking.lines:
            held[line.case_id] += line.held.count
    for line in shop.case():
        assert held[line.id] <= line.booked.count, line.id


def lines_are_weight_times_price(shop: Shop, bookings: Any) -> None:
    """G6, G7: each line is net weight x its price, rounded once; the total is their sum."""
    assert shop.settings().rounding == "half-up"
    for booking in bookings:
        there = [line for line in booking.lines if not getattr(line, "off", False)]
        for line in there:
            want = _half_up(_exact(line.weight, line.unit_price))
            assert Decimal(str(line.line_total)) == want, line.id
        assert Decimal(str(booking.total)) == sum(Decimal(str(one.line_total)) for one in there)
        if booking.state is State.GONE:
            slip = shop.slip(booking.id)
            for line in slip.lines:
                want = _half_up(_exact(line.weighed, line.unit_price))
                assert Decimal(str(line.line_total)) == want, line.line_id
            assert Decimal(str(slip.total)) == sum(
                Decimal(str(line.line_total)) for line in slip.lines
            )


def every_order_tells_its_way(bookings: Any) -> None:
    """G16: each booking has its events, who and when; one that is off or short says why."""
    for booking in bookings:
        assert booking.events[0].what == "book"
        assert booking.events[-1].state is booking.state
        if booking.state is State.OFF:
            assert any(event.why for event in booking.events if event.state is State.OFF)


def pounds_and_kilograms_agree(shop: Shop) -> None:
    """G17: any unit on the screen and back moves no weight; the label's unit is the legal one."""
    for line in shop.case():
        there = line.on_hand
        for unit in (WeightUnit.KG, WeightUnit.LB) * 3:
            # eleven decimals of a kilogram are every count there is
            there = Weight.of(there.decimal(WeightUnit.KG, 11), WeightUnit.KG)
            there = Weight(there.count, unit)
        assert there.count == line.on_hand.count
    assert shop.settings().legal_unit is WeightUnit.LB


def the_same_again(ask: dict[str, Any], plan: dict[str, Any]) -> None:
    """G18: the same ask, also with its offers in another order, is answered the same."""
    turned = ask | {"offers": list(reversed(ask["offers"]))}
    assert answer(ask) == plan
    assert answer(turned) == plan


def check_shop(shop: Shop, bookings: Any) -> None:
    """Check the shop after a conversation against every rule that is held here."""
    nothing_over_free(shop)
    held_is_promised(shop, bookings)
    lines_are_weight_times_price(shop, bookings)
    every_order_tells_its_way(bookings)
    pounds_and_kilograms_agree(shop)


#: What holds each rule.
WHERE: dict[str, tuple[Any, ...]] = {
    "G1": (of_plan.no_more_than_free, nothing_over_free, held_is_promised),
    "G2": (of_plan.no_more_than_free, of_plan.in_time),
    "G3": (of_plan.nobody_gets_what_they_avoid, of_plan.everybody_is_fed),
    "G4": (of_plan.everybody_is_fed, of_plan.enough_and_not_too_much),
    "G5": (of_plan.within_the_money,),
    "G6": (of_plan.lines_add_up, lines_are_weight_times_price),
    "G7": (of_plan.lines_add_up, lines_are_weight_times_price),
    "G8": (of_plan.three_counts,),
    "G9": (of_plan.cooked_to_the_minimum, of_plan.rested_and_on_time),
    "G10": (of_plan.fits_the_fire, of_plan.rested_and_on_time),
    "G11": (of_plan.meat_free_comes_first,),
    "G12": (of_plan.varied,),
    "G13": (of_plan.reasoned,),
    "G14": (of_plan.slow_cuts_are_marked,),
    "G15": (of_plan.a_no_says_what_it_takes,),
    "G16": (every_order_tells_its_way,),
    "G17": (of_plan.said_in_legal_units, pounds_and_kilograms_agree),
    "G18": (the_same_again, of_plan.in_order),
    "G19": (of_plan.what_is_missing_is_said,),
    "G20": (of_plan.sayable,),
}
