"""Short ways to say what is wished in these tests."""

from __future__ import annotations

from datetime import datetime

from collop.measures import UnitPrice, Weight, WeightUnit
from collop.shop import NewBooking, NewLine

SATURDAY = datetime(2026, 6, 13, 10, 0)  # noqa: DTZ001 -- shop-local


def lb(amount):
    return Weight.of(amount, WeightUnit.LB)


def per_lb(amount):
    return UnitPrice.of(amount, WeightUnit.LB)


def line(case_id, amount, *, pieces=None, price=None):
    return NewLine(
        case_id,
        lb(amount),
        pieces=None if pieces is None else tuple(lb(piece) for piece in pieces),
        unit_price=None if price is None else per_lb(price),
    )


def order(*lines, name="Walk-in", by="dot", collect_at=SATURDAY, **more):
    return NewBooking(name=name, collect_at=collect_at, by=by, lines=lines, **more)


def case_line(shop, case_id):
    return next(one for one in shop.case() if one.id == case_id)


def free_lb(shop, case_id):
    return str(case_line(shop, case_id).free.decimal(WeightUnit.LB))
