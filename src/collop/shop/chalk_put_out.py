"""How much of a line to put out for a day: what it sells, what it cost, what is left is worth."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from fractions import Fraction
from typing import Any

from collop.errors import WrongState
from collop.measures import UnitPrice, decimal_of
from collop.shop.ageing import CaseView, convert_of
from collop.shop.sales import open_days, per_unit, unit_text

__all__ = ["SPREAD", "putout_problem"]

#: Spread of a day's sale over its mean where too few days were seen: a starting figure of ours
#: (common practice, no published source).
SPREAD = Fraction(35, 100)
#: So many open days of sales are enough to take them as they were.
_ENOUGH_DAYS = 10
_MOST_SEEN = 400
_NO_COST = "What it cost is not known: taken as its price less the margin that is wanted."


def _text(amount: Fraction, places: int = 4) -> str:
    return f"{decimal_of(amount, places):f}"


def _seen(view: CaseView, case_id: str) -> list[int]:
    """Return what sold on each open day before this one, in counts; days without a sale too."""
    sold = {one.day: one.count for one in view.sold.get(case_id, ()) if one.day < view.today}
    if not sold:
        return []
    first = min(sold)
    days = (first + timedelta(days=n) for n in range((view.today - first).days))
    return [sold.get(day, 0) for day in days if day in sold or view.chosen.is_open(day)]


def putout_problem(
    view: CaseView, case_id: str, cost: UnitPrice | None, shrink: Fraction
) -> tuple[dict[str, Any], tuple[str, ...]]:
    """Return the ``collop.putout/1`` problem of a line, for one day, and sentences on it.

    Ten open days of sales are taken as they were; with fewer, a day's sale is spread around the
    usual pace. Where nobody knows what it cost, the cost is the price less the margin wanted. What
    is left is worth what it cost less its shrink if it can be sold on a later open day, or what it
    brings as mince if that is more; on its last day, mince alone.

    Parameters
    ----------
    view : CaseView
        The case.
    case_id : str
        The line.
    cost : UnitPrice or None
        What it cost, None if nobody knows.
    shrink : Fraction
        Share of its weight that it loses in the case.

    Raises
    ------
    WrongState
        If it has no price, or nothing tells what it sells, or nothing is earned by selling it, or
        nothing lost by having too much.
    """
    chosen, line = view.chosen, view.lines[case_id]
    if case_id not in view.board:
        raise WrongState(f"{line.name} has no price; put it on the board first.")
    pace, seen = view.pace(case_id), _seen(view, case_id)
    if not pace:
        raise WrongState(f"Nothing tells what {line.name} sells a day; sell some first.")
    price = Fraction(per_unit(view.board[case_id], chosen))
    paid = price * (1 - Fraction(chosen.target_margin)) if cost is None else (
        Fraction(per_unit(cost, chosen))
    )  # fmt: skip
    left = _left(view, case_id, paid, shrink)
    _checked_money(line.name, price, paid, left)
    demand: dict[str, Any] = {
        "kind": "normal", "mean": unit_text(pace, chosen), "sd": unit_text(pace * SPREAD, chosen),
    }  # fmt: skip
    if len(seen) >= _ENOUGH_DAYS:
        last = seen[-_MOST_SEEN:]
        demand = {"kind": "counts", "seen": [unit_text(count, chosen) for count in last]}
    problem = {
        "schema": "collop.putout/1",
        "name": line.name,
        "currency": chosen.currency,
        "rounding": chosen.rounding.value,
        "unit": chosen.legal_unit.value,
        "price": _text(price),
        "cost": _text(paid),
        "salvage": _text(left.worth),
        "demand": demand,
        "step": "0.1",
    }
    return problem, (*(() if cost else (_NO_COST,)), left.say)


def _checked_money(name: str, price: Fraction, paid: Fraction, left: _Left) -> None:
    if price <= paid:
        raise WrongState(
            f"{name} is on the board at {_text(price, 2)} and costs {_text(paid, 2)}: put none out,"
            " or ask more."
        )
    if paid <= left.worth:
        raise WrongState(
            f"{name} costs {_text(paid, 2)} and what is left {left.how}: nothing is lost by putting"
            " all of it out."
        )


@dataclass(frozen=True, slots=True)
class _Left:
    """What a unit left at the end of the day is worth, how, and one sentence on it."""

    worth: Fraction
    how: str
    say: str


def _left(view: CaseView, case_id: str, paid: Fraction, shrink: Fraction) -> _Left:
    """Return what is left at closing is worth: kept for another day, or ground."""
    found = convert_of(view, view.lines[case_id], 1, 1.0, is_bounded=False)
    ground, to = Fraction(0), ""
    if found is not None:
        brings = Fraction(found["price"]) * Fraction(str(found["yield"]))
        ground = max(Fraction(0), brings - Fraction(found["labour_per_unit"]))
        to = found["to"]
    kept = paid * (1 - shrink)
    if _keeps(view, case_id) and kept >= ground:
        return _Left(
            kept, f"keeps its worth of {_text(kept, 2)} for another day",
            f"What is left is sold on a later day: it is worth its cost less {float(shrink):.2%}"
            " shrink.",
        )  # fmt: skip
    if ground:
        return _Left(
            ground, f"brings {_text(ground, 2)} as {to}",
            f"What is left is ground: as {to} it brings {_text(ground, 2)} after labour.",
        )  # fmt: skip
    return _Left(ground, "brings nothing", "What is left is worth nothing: this is its last day.")


def _keeps(view: CaseView, case_id: str) -> bool:
    """Tell whether what is left of a line can be sold on a later day: the oldest sells first.

    A line of which nothing is there yet, or without a last day, does.
    """
    dated = view.stock.get(case_id, ())
    if not dated or view.undated.get(case_id):
        return True
    tomorrow, last = view.today + timedelta(days=1), max(day for day, _ in dated)
    return open_days(tomorrow, last + timedelta(days=1), view.chosen) > 0
