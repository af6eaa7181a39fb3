"""How orders ate: what was told, and the factor between the shop's eaters and the tables."""

from __future__ import annotations

from collections import defaultdict
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from functools import lru_cache
from typing import Any

from sqlalchemy import func, insert, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, WrongState
from collop.measures import Rounding, decimal_of
from collop.shop.acts import Act
from collop.shop.hook import booking_id, load_booking, load_slip
from collop.shop.learning_cuts import learned_shares
from collop.shop.learning_model import Fed, Feedback, NewFeedback
from collop.shop.model import Settings, State
from collop.shop.returning import returned_of
from collop.shop.sales import lines_of
from collop.shop.store import AnyRow
from collop.shop.tables import bookings
from collop.shop.week_tables import order_feedback
from collop.spread.appetites import appetite
from collop.spread.problem import DISH_STYLES

__all__ = [
    "appetite_problem", "is_one_meal", "learned_appetite", "load_feedback", "meals_of",
    "needed_meals", "note_feedback",
]  # fmt: skip

_APPETITE = {"usual": Fraction(1), "child": Fraction(1, 2), "big": Fraction(13, 10)}
_MOST_HEADS = 2000
#: So many times what is needed is a box for a week or a kitchen's order: a figure of ours.
_MOST_TIMES = 3
_MOST_ORDERS = 400
_LONGEST = 200
_PLATE = DISH_STYLES["plate"][0]
_OUNCES = 16
_LB = 45_359_237_000


def needed_meals(fed: Fed) -> Fraction:
    """Return the meals the tables ask for these eaters."""
    return sum((share * getattr(fed, kind) for kind, share in _APPETITE.items()), Fraction(0))


def meals_of(conn: Connection, number: int, chosen: Settings) -> Fraction:
    """Return the meals that were handed over with an order, by its scale weights.

    Each line counts boneless, by the share its portions are counted with, in the dish style it was
    sold for, by default as a plate. What came back over the glass was not eaten.
    """
    booking = load_booking(conn, number, chosen)
    styles = {line.id: line.style for line in booking.lines}
    lines = lines_of(conn, chosen)
    shares = learned_shares(conn, lines)
    back: dict[str, int] = defaultdict(int)
    for one in returned_of(conn, [number], chosen.currency).get(number, ()):
        back[one.line_id] += one.weight.count
    meals = Fraction(0)
    for line in load_slip(conn, number, chosen).lines:
        share = shares.get(line.case_id, lines[line.case_id].boneless)
        eaten = line.weighed.count - back[line.line_id]
        ounces = Fraction(eaten, _LB) * _OUNCES * Fraction(share)
        meals += ounces / DISH_STYLES.get(styles[line.line_id] or "plate", (_PLATE, _PLATE))[0]
    return meals


def is_one_meal(meals: Fraction, needed: Fraction) -> bool:
    """Tell whether food may have been for one meal: from a third of what is needed to thrice."""
    return bool(meals) and needed / _MOST_TIMES <= meals <= needed * _MOST_TIMES


def note_feedback(act: Act, number: int, new: NewFeedback) -> None:
    """Write how an order ate; the newest such row of an order counts.

    Raises
    ------
    WrongState
        If it has not gone, was no order for a day, or was not food for one meal of these eaters.
    BadValue
        If nobody ate, too many did, or the share left is out of its range.
    """
    booking = load_booking(act.conn, number, act.settings)
    if booking.state is not State.GONE or booking.kind != "order":
        kind = {"counter": "a sale at the glass", "standing": "a standing order",
                "freezer": "a freezer order"}.get(booking.kind, booking.state)  # fmt: skip
        raise WrongState(f"{booking.id} is {kind}; only an order that went can be told.")
    if any(getattr(new.fed, kind) < 0 for kind in _APPETITE) or not (
        1 <= new.fed.heads <= _MOST_HEADS
    ):
        raise BadValue(f"Say who ate: from 1 to {_MOST_HEADS} heads.", where="heads")
    if new.left_over is not None and not Decimal(-2) <= new.left_over <= Decimal("0.95"):
        raise BadValue("What was left is a share from -2 to 0.95 of the food.", where="left_over")
    if len(new.words) > _LONGEST:
        raise BadValue(f"The word is longer than {_LONGEST} characters.", where="words")
    meals = meals_of(act.conn, number, act.settings)
    if not meals:
        raise WrongState(f"Nothing to eat was handed over with {booking.id}.")
    if not is_one_meal(meals, needed_meals(new.fed)):
        raise WrongState(
            f"{booking.id} was food for {_three(meals):.1f} meals and {new.fed.heads} ate: that is"
            " not one meal, and tells nothing of appetites."
        )
    facts = {
        "usual": new.fed.usual,
        "child": new.fed.child,
        "big": new.fed.big,
        "supplied_meals": f"{_three(meals)}",
    }
    act.conn.execute(
        insert(order_feedback).values(
            booking_number=number, facts=facts, words=new.words.strip(), at=act.at, by_id=act.by,
            left_over="" if new.left_over is None else f"{new.left_over:f}", key=act.key,
        )
    )  # fmt: skip


def _read(row: AnyRow) -> Feedback:
    fed = Fed(row.facts["usual"], row.facts["child"], row.facts["big"])
    try:
        left = Decimal(row.left_over) if row.left_over else None
    except InvalidOperation:
        left = None
    return Feedback(
        booking_id=booking_id(row.booking_number), name=row.name, fed=fed, left_over=left,
        needed_meals=_three(needed_meals(fed)), words=row.words,
        supplied_meals=Decimal(row.facts["supplied_meals"]), at=row.at, by=row.by_id,
    )  # fmt: skip


def _three(value: Fraction) -> Decimal:
    return decimal_of(value, 3, Rounding.HALF_UP)


def load_feedback(conn: Connection, number: int | None = None) -> tuple[Feedback, ...]:
    """Return the newest word on each order, newest first; of one order if it is named."""
    last = select(func.max(order_feedback.c.seq)).group_by(order_feedback.c.booking_number)
    if number is not None:
        last = last.where(order_feedback.c.booking_number == number)
    rows = conn.execute(
        select(order_feedback, bookings.c.name)
        .join(bookings, bookings.c.number == order_feedback.c.booking_number)
        .where(order_feedback.c.seq.in_(last))
        .order_by(order_feedback.c.seq.desc())
        .limit(_MOST_ORDERS)
    ).all()
    return tuple(_read(row) for row in rows)


@lru_cache(maxsize=8)
def learned_appetite(found: tuple[Feedback, ...]) -> dict[str, Any]:
    """Return the ``collop.appetite.plan/1`` of what was told; kept, as every Ask looks at it."""
    return appetite(appetite_problem(found))


def appetite_problem(found: tuple[Feedback, ...]) -> dict[str, Any]:
    """Return the ``collop.appetite/1`` problem of what was told, oldest first."""
    return {
        "schema": "collop.appetite/1",
        "orders": [
            {
                "label": f"{one.booking_id} {one.name}",
                "needed_meals": float(one.needed_meals),
                "supplied_meals": float(one.supplied_meals),
                "left_over": None if one.left_over is None else float(one.left_over),
                "ran_out": one.left_over is None or one.left_over < 0,
            }
            for one in reversed(found)
        ],
    }
