"""Sell a piece whole, or cut it: the price at which both earn the same.

Per unit of weight of the piece, with y the share of a cut, p its price and s its shrink:

    separated  = sum y p (1 - s) - labour - packaging - risk
    whole      = price (1 - whole shrink) - whole labour - whole packaging
    break-even = (separated + whole labour + whole packaging) / (1 - whole shrink)

Sell it whole above the break-even, cut it below.  All of it is exact; only printing rounds.
The carcass share of its cost is the same either way and so takes no part.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from collop.chalk.amounts import plain, rounded
from collop.chalk.whole_reading import Cut, Piece, read_piece
from collop.errors import BadValue
from collop.measures import decimal_of

__all__ = ["PLAN_ID", "break_even", "most_loss", "whole"]

PLAN_ID = "collop.whole.plan/1"
#: So many cuts that the case goes without are named.
_MOST_SAID = 3


def most_loss(ratio: Fraction) -> Fraction:
    """Return the largest share that boning or trimming may lose and still pay.

    A buyer pays `ratio` times as much per unit for the boned piece; then 1 - 1/ratio of the weight
    may go before labour and before any value of the bone.

    Parameters
    ----------
    ratio : Fraction
        Price per unit boned over price per unit bone-in; above zero.

    Returns
    -------
    Fraction
        Share of the bone-in weight, 0 where the boned piece sells for no more.

    Raises
    ------
    BadValue
        If the ratio is zero or less.

    Examples
    --------
    >>> most_loss(Fraction(5, 4))
    Fraction(1, 5)
    """
    if ratio <= 0:
        raise BadValue(f"The ratio of the two prices is {ratio}; it must be more than zero.")
    return max(Fraction(0), 1 - 1 / ratio)


def break_even(piece: Piece) -> Fraction:
    """Return the price per unit of the whole piece at which selling it whole earns as much.

    Parameters
    ----------
    piece : Piece
        See `read_piece`.

    Returns
    -------
    Fraction
        Money per unit; negative where cutting costs more than the cuts bring.
    """
    return (_separated(piece) + _whole_costs(piece)) / (1 - piece.whole_shrink)


def whole(problem: object) -> dict[str, Any]:
    """Work out selling a piece whole against its cuts, given as parsed JSON; see `docs/whole.md`.

    Parameters
    ----------
    problem : object
        The ``collop.whole/1`` object.

    Returns
    -------
    dict
        The ``collop.whole.plan/1`` object: money and weights as decimal texts, shares and days as
        numbers.

    Raises
    ------
    ProblemError
        If the problem cannot be read.
    """
    piece = read_piece(problem)
    frame, even = piece.frame, break_even(piece)
    sold = sum((cut.share for cut in piece.cuts), Fraction(0))
    takes = [_takes(piece, cut) for cut in piece.cuts]
    at = None if piece.price is None else _at(piece, piece.price)
    return {
        "schema": PLAN_ID,
        **frame.json(),
        "piece": piece.piece_name,
        "weight": plain(piece.weight),
        "break_even": frame.unit_money(even),
        "gross_per_unit": frame.unit_money(_gross(piece.cuts)),
        "labour_per_unit": frame.unit_money(piece.labour),
        "packaging_per_unit": frame.unit_money(piece.packaging),
        "risk_per_unit": frame.unit_money(piece.risk),
        "separated_per_unit": frame.unit_money(_separated(piece)),
        "separated": frame.money(_separated(piece) * piece.weight),
        "whole_cost_per_unit": frame.unit_money(_whole_costs(piece)),
        "whole_keeps": rounded(1 - piece.whole_shrink, 6),
        "unsold_share": rounded(max(Fraction(0), 1 - sold), 6),
        "unsold_weight": plain(max(Fraction(0), 1 - sold) * piece.weight),
        "terms": [_term(piece, cut) for cut in piece.cuts],
        "at": at,
        "days": rounded(piece.days, 2),
        "takes": takes,
        "say": _say(piece, even, takes),
        "assumptions": _assumptions(piece, sold),
    }


def _earned(cut: Cut) -> Fraction:
    """Return what one cut brings per unit of the piece, after its own shrink."""
    return cut.share * cut.price * (1 - cut.shrink)


def _gross(cuts: Sequence[Cut]) -> Fraction:
    return sum((_earned(cut) for cut in cuts), Fraction(0))


def _separated(piece: Piece) -> Fraction:
    return _gross(piece.cuts) - piece.labour - piece.packaging - piece.risk


def _whole_costs(piece: Piece) -> Fraction:
    return piece.whole_labour + piece.whole_packaging


def _gain(piece: Piece, price: Fraction) -> Fraction:
    """Return what whole earns more than cut, per unit of the piece."""
    return price * (1 - piece.whole_shrink) - _whole_costs(piece) - _separated(piece)


def _term(piece: Piece, cut: Cut) -> dict[str, Any]:
    frame, weight = piece.frame, cut.share * piece.weight
    return {
        "id": cut.id,
        "name": cut.name,
        "share": rounded(cut.share, 6),
        "weight": plain(weight),
        "sells": plain(weight * (1 - cut.shrink)),
        "price": frame.price(cut.price),
        "per_unit": frame.unit_money(_earned(cut)),
        "value": frame.money(_earned(cut) * piece.weight),
    }


def _at(piece: Piece, price: Fraction) -> dict[str, Any]:
    """Return which way earns more at a price of the whole, and what would turn the answer."""
    frame, gain = piece.frame, _gain(piece, price)
    return {
        "price": frame.price(price),
        "whole_per_unit": frame.unit_money(price * (1 - piece.whole_shrink) - _whole_costs(piece)),
        "gain_per_unit": frame.unit_money(gain),
        "gain": frame.money(gain * piece.weight),
        "better": "whole" if gain > 0 else "cut" if gain < 0 else "even",
        "turns": [_turn(piece, cut, gain) for cut in piece.cuts],
    }


def _turn(piece: Piece, cut: Cut, gain: Fraction) -> dict[str, Any]:
    """Return the price of one cut at which both ways earn the same; None if there is none."""
    counts = cut.share * (1 - cut.shrink)
    price = cut.price + gain / counts if counts else None
    reached = price is not None and price >= 0
    return {
        "id": cut.id,
        "name": cut.name,
        "price": piece.frame.unit_money(price) if reached and price is not None else None,
    }


def _takes(piece: Piece, cut: Cut) -> dict[str, Any]:
    """Return what the case goes without when the piece leaves whole."""
    weight = cut.share * (1 - cut.shrink) * piece.weight
    found: dict[str, Any] = {
        "id": cut.id,
        "name": cut.name,
        "weight": plain(weight),
        "days": None,
        "cover_days": None,
        "short": None,
        "short_weight": None,
    }
    if cut.sells_per_day is None:
        return found
    if cut.sells_per_day:
        found["days"] = rounded(weight / cut.sells_per_day, 1)
    if cut.case_free is not None:
        missing = max(Fraction(0), cut.sells_per_day * piece.days - cut.case_free)
        found["short"], found["short_weight"] = missing > 0, plain(missing)
        if cut.sells_per_day:
            found["cover_days"] = rounded(cut.case_free / cut.sells_per_day, 1)
    return found


def _say(piece: Piece, even: Fraction, takes: list[dict[str, Any]]) -> str:
    frame = piece.frame
    if even <= 0:
        first = f"Sell the {piece.piece_name} whole: its cuts bring less than the cutting costs."
    else:
        first = (
            f"Sell the {piece.piece_name} whole above {frame.money(even)} per {frame.unit}, "
            "cut it below that."
        )
    parts = [first, *_say_price(piece)]
    timed = sorted((one for one in takes if one["days"] is not None), key=_hurts, reverse=True)
    if timed:
        parts.append(_say_takes(timed[0], piece))
    if more := [_then(one, piece) for one in timed[1:_MOST_SAID]]:
        parts.append(f"Then {'; '.join(more)}.")
    return " ".join(parts)


def _hurts(one: dict[str, Any]) -> tuple[Fraction, Fraction]:
    """Return what sorts the cuts a case goes without, worst last.

    First the part of the shortfall that this piece would have filled, then the days of trade it
    takes away: a slow seller that is not short comes after.
    """
    short = Fraction(one["short_weight"]) if one["short"] else Fraction(0)
    return min(short, Fraction(one["weight"])), Fraction(str(one["days"]))


def _say_price(piece: Piece) -> list[str]:
    if piece.price is None:
        return []
    frame, gain = piece.frame, _gain(piece, piece.price) * piece.weight
    at = f"At {frame.price(piece.price)} for {plain(piece.weight)} {frame.unit}"
    if gain == 0:
        return [f"{at} both earn the same."]
    way = "whole" if gain > 0 else "cutting it"
    return [f"{at}, {way} earns {frame.money(abs(gain))} more."]


def _say_takes(one: dict[str, Any], piece: Piece) -> str:
    """Return what whole takes from the case, in days of trade."""
    text = f"Whole takes {_taken(one, piece)}"
    if one["short"]:
        within = _days(rounded(piece.days, 1))
        return f"{text}; within {within} the case is short by {_short(one, piece)}."
    return f"{text}."


def _then(one: dict[str, Any], piece: Piece) -> str:
    return _taken(one, piece) + (f", short by {_short(one, piece)}" if one["short"] else "")


def _taken(one: dict[str, Any], piece: Piece) -> str:
    weight = decimal_of(Fraction(one["weight"]), 1)
    return f"{weight} {piece.frame.unit} of {one['name']}, {_days(one['days'])} of trade"


def _short(one: dict[str, Any], piece: Piece) -> str:
    return f"{decimal_of(Fraction(one['short_weight']), 1)} {piece.frame.unit}"


def _days(count: float) -> str:
    return "1 day" if count == 1 else f"{count:,g} days"


def _assumptions(piece: Piece, sold: Fraction) -> list[str]:
    found = ["Every cut sells at its price; what the piece cost is the same either way."]
    if sold > 1:
        found.append(
            f"The shares sum to {plain(sold, 4)}; that is taken as rounding, and nothing is lost."
        )
    elif sold < 1:
        found.append(
            f"{plain((1 - sold) * 100, 2)} % of the piece (bone, fat, kerf and loss) brings "
            "nothing; give it a line with its price if it does."
        )
    if not piece.labour:
        found.append("Cutting takes no labour here; give labour_per_unit or minutes and pay.")
    if not piece.risk:
        found.append("No allowance is made for cuts that do not sell.")
    return found
