"""From the door to the slip in any order: every cent that was paid or worked is somewhere."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from fractions import Fraction

from hypothesis import HealthCheck, Phase, settings
from hypothesis.stateful import invariant, run_state_machine_as_test
from test_shop_any_history import History

from collop.measures import Weight, WeightUnit
from collop.shop.cost_reading import all_lots
from collop.shop.costing import known_costs, lot_accounts, lot_costs
from collop.shop.settings import load_settings

POUND = Weight.of(1, WeightUnit.LB).count
# by hand, from the tables alone: invoices and haulage of what has a price
PAID = "SELECT invoiced, price_amount, haulage FROM deliveries WHERE price_amount IS NOT NULL"
# labour of each break with a weighing that stands, of a piece whose delivery has a price
WORKED = """
SELECT sum(minutes) FROM (
  SELECT DISTINCT b.number, s.labour_minutes AS minutes FROM breaks b
  JOIN weighings w ON w.break_number = b.number AND w.takes_back IS NULL
  JOIN cutting_styles s ON s.id = b.style_id
  JOIN lots l ON l.id = b.lot_id
  JOIN deliveries d ON d.number = l.delivery_number AND d.price_amount IS NOT NULL
  WHERE w.seq NOT IN (SELECT takes_back FROM weighings WHERE takes_back IS NOT NULL))
"""


class Costed(History):
    """The whole shop, with its costs added up after each step."""

    seen = {"done": set(), "refused": set(), "checked": 0}  # noqa: RUF012 -- over all histories

    @invariant()
    def every_cent_is_somewhere(self):
        """Compare what all lots carry with what was paid at the door and worked at the block."""
        with self.floor.shop._room.store.read() as conn:
            chosen = load_settings(conn)
            found = lot_accounts(conn, chosen, all_lots(conn))
            told = lot_costs(conn, chosen)
            lines = known_costs(conn, chosen)
        with closing(sqlite3.connect(self.floor.file)) as raw:
            paid = sum(Fraction(count, POUND) * Fraction(price) * 100 + haulage
                       for count, price, haulage in raw.execute(PAID))  # fmt: skip
            minutes = raw.execute(WORKED).fetchone()[0] or 0
        every = [cost for one in found.values() for cost in (*one.by_place.values(), one.lost)]
        assert sum(one.total for one in every) == paid + minutes * 40  # 24.00 an hour
        assert sum(one.credit for one in every) == 0
        assert all(0 <= one.shrink <= one.paid and one.total >= 0 for one in every)
        self.told_to_the_cent(found, told, lines)
        self.seen["checked"] += 1

    def told_to_the_cent(self, found, told, lines):
        """See that what is told is the exact cost, rounded once, and that its parts add up."""
        stock = {key: count for key, count in self.floor.stock().items() if count > 0}
        assert {(one.lot_id, one.place): one.weight.count for one in told} == stock
        for one in told:
            if one.cost is None:
                assert one.unknown
                continue
            exact = found[one.lot_id].by_place[one.place].total
            assert abs(one.cost.minor - exact) <= Fraction(1, 2)
            assert one.invoice + one.haulage + one.labour + one.credit == one.cost
        for_sale = [one for one in told if one.case_id and one.place in {"case", "booked"}]
        known = {one.case_id for one in for_sale if one.cost is not None}
        assert set(lines) == known


def test_any_history_keeps_every_cent(demo_file):
    """Deliveries, breaks, take-backs, counts, bins and sales in any order lose and make no cost."""
    Costed.source = demo_file
    run_state_machine_as_test(
        Costed,
        settings=settings(
            max_examples=4, stateful_step_count=24, deadline=None, derandomize=True,
            phases=[Phase.generate], database=None, suppress_health_check=list(HealthCheck),
        ),
    )  # fmt: skip
    assert Costed.seen["checked"] > 80
