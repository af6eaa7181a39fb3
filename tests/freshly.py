"""Fresh stock for tests: a lot that came into the case after the demo began."""

from __future__ import annotations

from datetime import date

from collop.measures import Weight, WeightUnit
from collop.shop.acts import once
from collop.shop.ledger import receive
from collop.shop.lots import NewLot, make_lot

THE_12TH = date(2026, 6, 12)


def pounds(amount):
    """Return a weight in pounds."""
    return Weight.of(amount, WeightUnit.LB)


def fresh(shop, weight, case_id="C11", use_by=THE_12TH, pieces=(), species="beef"):
    """Put a fresh lot of a line in the case."""
    lot_id = f"{case_id}-fresh-{use_by:%d}"

    def work(act):
        make_lot(act, NewLot(lot_id, "stock", species, "fresh", pounds(weight), act.at,
                             case_id=case_id, use_by=use_by))  # fmt: skip
        receive(act, lot_id, pounds(weight), "case", [pounds(one) for one in pieces])
        return lot_id

    return once(shop.pickup._room, "fresh", weight, by="kofi", key=lot_id, work=work)
