"""Mark down ageing stock: what to charge now, and what to move while it is still sound.

Three things can be done with a unit of stock before its date: sell it at some price, turn it into
something else, or let it go.  The plan takes the best of them for the whole stock over the selling
periods that are left.  Its date is never argued with: with no period left, all of it goes to the
bin.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from collop.chalk.amounts import plain
from collop.chalk.markdown_curve import worth_of_rest
from collop.chalk.markdown_reading import Stock, Way, read_stock
from collop.chalk.markdown_saying import assumptions, say
from collop.chalk.markdown_settled import as_it_is, clearing, settle
from collop.measures import decimal_of

__all__ = ["PLAN_ID", "Outcome", "markdown"]

PLAN_ID = "collop.markdown.plan/1"
_WEIGHT_PLACES = 24


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What comes of it, before printing.

    Parameters
    ----------
    prices, sells : tuple of Fraction, shape (periods,)
        Money per unit and weight, period by period; means where demand is uncertain.
    rest : tuple of (Way or None, weight, money)
        Where the rest goes; None is the bin.
    value, as_is, clearing_value : Fraction
        Money of the plan, of leaving the price alone, of clearing.
    clearing_price : Fraction or None
        Price that sells all.
    """

    prices: tuple[Fraction, ...]
    sells: tuple[Fraction, ...]
    rest: tuple[tuple[Way | None, Fraction, Fraction], ...]
    value: Fraction
    as_is: Fraction
    clearing_price: Fraction | None
    clearing_value: Fraction


def markdown(problem: object) -> dict[str, Any]:
    """Work out one mark-down given as parsed JSON; see `docs/markdown.md`.

    Parameters
    ----------
    problem : object
        The ``collop.markdown/1`` object.

    Returns
    -------
    dict
        The ``collop.markdown.plan/1`` object: money and weights as decimal texts.  What is sold
        and what is moved sums to the stock exactly.

    Raises
    ------
    ProblemError
        If the problem cannot be read, or no price is allowed.
    """
    stock = read_stock(problem)
    outcome = _shown(stock, _outcome(stock))
    frame = stock.frame
    money = {key: frame.money(getattr(outcome, key)) for key in ("value", "as_is")}
    gain = Fraction(money["value"]) - Fraction(money["as_is"])
    sells = outcome.sells[0] if outcome.sells else Fraction(0)
    cleared = outcome.clearing_price
    return {
        "schema": PLAN_ID,
        **frame.json(),
        "stock": _weight(stock.stock),
        "price": frame.price(stock.price),
        "price_now": frame.money(outcome.prices[0]) if any(outcome.sells) else None,
        "sell_now": _weight(sells),
        "steps": list(_steps(stock, outcome)),
        "rest": [_rest_json(stock, *line) for line in outcome.rest],
        "value": money["value"],
        "clearing": {
            "price": None if cleared is None else frame.money(cleared),
            "value": frame.money(outcome.clearing_value),
        },
        "as_is": {"value": money["as_is"]},
        "gain": frame.money(gain),
        "ways": _ways(stock),
        "aim": stock.aim,
        "say": say(stock, outcome.prices, outcome.sells, outcome.rest,
                   value=money["value"], gain=gain),
        "assumptions": assumptions(stock),
    }  # fmt: skip


def _outcome(stock: Stock) -> Outcome:
    if not stock.periods:
        lost = ((None, stock.stock, Fraction(0)),)
        nothing = Fraction(0)
        return Outcome(prices=(), sells=(), rest=lost, value=nothing, as_is=nothing,
                       clearing_price=None, clearing_value=nothing)  # fmt: skip
    if stock.cv:
        return _uncertain(stock)
    best, cleared = settle(stock), clearing(stock)
    sells = tuple(map(Fraction, best.sells))
    return Outcome(
        prices=tuple(Fraction(best.price) for _ in sells),
        sells=sells,
        rest=_rest(stock, sells),
        value=Fraction(best.value),
        as_is=Fraction(as_it_is(stock)),
        clearing_price=Fraction(cleared.price),
        clearing_value=Fraction(cleared.value),
    )


def _uncertain(stock: Stock) -> Outcome:
    from collop.chalk.markdown_chance import (  # noqa: PLC0415 -- numpy is heavy
        chance,
        fixed_price_value,
    )

    best, cleared = chance(stock), clearing(stock)
    sells = tuple(map(Fraction, best.sells))
    as_is = fixed_price_value(stock, float(stock.price), keeps=False)
    cleared_value = (
        fixed_price_value(stock, cleared.price, keeps=True) if cleared.price else 0.0
    )  # fmt: skip
    return Outcome(
        prices=tuple(map(Fraction, best.prices)),
        sells=sells,
        rest=_rest(stock, sells),
        value=Fraction(best.value),
        as_is=Fraction(as_is),
        clearing_price=Fraction(cleared.price),
        clearing_value=Fraction(cleared_value),
    )


def _rest(
    stock: Stock, sells: Sequence[Fraction]
) -> tuple[tuple[Way | None, Fraction, Fraction], ...]:
    rest = max(Fraction(0), stock.stock - sum(sells, Fraction(0)))
    return tuple(worth_of_rest(stock.ways, rest))


def _shown(stock: Stock, outcome: Outcome) -> Outcome:
    """Round weights for the scale so that sold and moved still sum to the stock exactly.

    Running totals are rounded, and the differences shown: no figure is off by more than one step.
    """
    places = _places(stock)
    total, shown, found = Fraction(0), Fraction(0), []
    lines = [*outcome.sells, *(weight for _, weight, _ in outcome.rest)]
    for index, weight in enumerate(lines):
        total += weight
        last = index == len(lines) - 1
        upto = stock.stock if last else min(stock.stock, Fraction(decimal_of(total, places)))
        found.append(upto - shown)
        shown = upto
    count = len(outcome.sells)
    rest = tuple(
        (way, weight, money)
        for (way, _, money), weight in zip(outcome.rest, found[count:], strict=True)
        if weight
    )
    return Outcome(
        prices=outcome.prices,
        sells=tuple(found[:count]),
        rest=rest,
        value=outcome.value,
        as_is=outcome.as_is,
        clearing_price=outcome.clearing_price,
        clearing_value=outcome.clearing_value,
    )


def _places(stock: Stock) -> int:
    """Return the decimals of weights: a hundredth of a pound, a gram, or as fine as the stock."""
    usual = 2 if stock.frame.unit == "lb" else 3
    finer = range(usual, _WEIGHT_PLACES)
    return next((n for n in finer if (stock.stock * 10**n).denominator == 1), _WEIGHT_PLACES)


def _weight(weight: Fraction) -> str:
    return plain(weight, _WEIGHT_PLACES)


def _steps(stock: Stock, outcome: Outcome) -> Iterator[dict[str, Any]]:
    left = stock.stock
    for index, (price, sells) in enumerate(zip(outcome.prices, outcome.sells, strict=True)):
        left -= sells
        yield {
            "period": index + 1,
            "price": stock.frame.money(price),
            "sells": _weight(sells),
            "left": _weight(left),
        }


def _rest_json(stock: Stock, way: Way | None, weight: Fraction, money: Fraction) -> dict[str, Any]:
    return {
        "way": "bin" if way is None else way.way,
        "to": "bin" if way is None else way.to,
        "weight": _weight(weight),
        "value": stock.frame.money(money),
    }


def _ways(stock: Stock) -> list[dict[str, Any]]:
    """Return what a unit is worth each way, best first; past its date only the bin is left."""
    bins = Way("bin", "bin", Fraction(0), None)
    given = stock.given if stock.periods else ()
    return [
        {
            "way": way.way,
            "to": way.to,
            "value": stock.frame.unit_money(way.value),
            "takes": None if way.takes is None else _weight(way.takes),
        }
        for way in sorted((*given, bins), key=lambda way: -way.value)
    ]
