"""A mark-down in words: what to do now, what it brings, and what was taken as given."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from collop.chalk.markdown_reading import Stock, Way
from collop.measures import decimal_of

__all__ = ["assumptions", "say"]

_PAST = (
    "Its date is past: bin all {weight} and write it down; food past its date is never sold, "
    "converted or frozen."
)

Rest = Sequence[tuple[Way | None, Fraction, Fraction]]


def say(
    stock: Stock,
    prices: Sequence[Fraction],
    sells: Sequence[Fraction],
    rest: Rest,
    *,
    value: str,
    gain: Fraction,
) -> str:
    """Return what to do in one or two sentences.

    Parameters
    ----------
    stock : Stock
        The problem.
    prices, sells : sequence of Fraction, shape (periods,)
        Money per unit, and weight.
    rest : sequence of (Way or None, weight, money)
        Where the rest goes.
    value : str
        Money of the plan.
    gain : Fraction
        Money more than leaving the price alone.
    """
    if not stock.periods:
        return _PAST.format(weight=_weight(stock, stock.stock))
    first = "; ".join(
        [_price_part(stock, prices, sells), *_rest_part(stock, rest, sold=any(sells))]
    )
    money = stock.frame.money(abs(gain))
    against = f"{money} {'more' if gain > 0 else 'less'} than letting the rest pass its day unsold"
    if not gain:
        against = "as much as leaving the price alone"
    return " ".join([f"{first}: {value} in all, {against}.", *_doubt(stock, rest, gain)])


def _doubt(stock: Stock, rest: Rest, gain: Fraction) -> list[str]:
    """Return why there is no mark-down, or why the plan brings less than doing nothing."""
    low = f"At an elasticity of {float(stock.elasticity):g} a lower price earns less"
    if rest and stock.elasticity <= 1 and stock.aim == "most":
        return [f"{low}, so none is named; one counter's own elasticity is mostly above 1."]
    if gain >= 0:
        return []
    if stock.aim == "clear":
        return [f"{low}; clear it only so that nothing is lost."]
    return ["The floor or the cap keeps it from the present price; look at them again."]


def _price_part(stock: Stock, prices: Sequence[Fraction], sells: Sequence[Fraction]) -> str:
    if not any(sells):
        return f"Sell none of it at {stock.frame.money(stock.cap)} or less"
    now, about = prices[0], "about " if stock.cv else ""
    shown, present = stock.frame.money(now), stock.frame.money(stock.price)
    if shown == present:
        move = f"Keep the price at {present}"
    else:
        verb = "Mark down" if now < stock.price else "Go up"
        move = f"{verb} from {present} to {shown}"
    total = sum(sells, Fraction(0))
    if len(sells) == 1:
        return f"{move} and sell {about}{_weight(stock, total)}"
    return (
        f"{move} and sell {about}{_weight(stock, sells[0])} in this period, "
        f"{about}{_weight(stock, total)} over {len(sells)} periods"
    )


def _rest_part(stock: Stock, rest: Rest, *, sold: bool) -> list[str]:
    # known now, so nothing is gained by waiting; else it is known only at the end
    waits = bool(stock.cv) and sold
    about = "about " if waits else ""
    moved = [_one_rest(way, about + _weight(stock, weight)) for way, weight, _ in rest if way]
    found = []
    if moved:
        when = "by the last period" if waits else "today"
        found.append(f"{when} {' and '.join(moved)}, while it is sound")
    lost = [weight for way, weight, _ in rest if way is None]
    return found + [f"{about}{_weight(stock, weight)} is left for the bin" for weight in lost]


def _one_rest(way: Way, weight: str) -> str:
    if way.way == "convert":
        return f"convert {weight} to {way.to}"
    if way.way == "freeze":
        return f"freeze {weight}"
    return f"put {weight} to its other use"


def _weight(stock: Stock, weight: Fraction) -> str:
    return f"{decimal_of(weight, 2):f} {stock.frame.unit}"


def assumptions(stock: Stock) -> list[str]:
    """Return what was taken as given, one sentence each."""
    unit, usual = stock.frame.unit, _weight(stock, stock.usual)
    if not stock.periods:
        return ["No selling period is left before its date; the date decides, not the money."]
    found = [
        (
            f"{usual} sell in a period at {stock.frame.money(stock.price)}, and one percent off "
            f"it sells {float(stock.elasticity):g} percent more, however far the price moves."
        ),
        "Leaving the price alone: what is left passes its day unsold and is lost.",
        "Every period ends before the use-by date; past it food is only binned.",
    ]
    if stock.ways:
        found.append(
            "Converting and freezing are done while it is sound and in date; money for it is "
            "counted as if it came today."
        )
    if stock.cv:
        found.append(
            f"The weight sold varies by {float(stock.cv) * 100:g} percent around its mean; later "
            "prices and what is moved follow what is left then, and are shown for mean sales."
        )
    if stock.endings is None:
        found.append(f"The price may be any amount per {unit}; it is shown to the last coin.")
    else:
        found.append("One of the allowed endings, or the present price.")
    if stock.aim == "clear":
        found.append(
            "The stock is cleared, but not below what its best other use pays; that may not be "
            "the most money."
        )
    if stock.elasticity <= 1:
        found.append(
            "An elasticity of 1 or less is that of a whole market; one counter's own is higher."
        )
    return found
