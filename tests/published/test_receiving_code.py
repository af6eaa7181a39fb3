"""Wisconsin Food Code, 3-501.14(C), as adopted in DHS 196 Appendix, 2024 (source WI501_14)."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

from collop.reference import limit_rows
from collop.shop.receiving import COOL_WITHIN


def test_meat_that_arrives_warm_as_law_allows_is_cooled_within_four_hours():
    """Received above 41 degF as law allows: 41 degF or less within 4 h; the row was seen."""
    (row,) = [one for one in limit_rows("receiving") if one.rule_id == "SF002"]
    assert (row.status, row.figure, row.unit) == ("seen", Decimal(41), "F")
    assert row.time_or_frequency == "within 4 h"
    assert timedelta(hours=4) == COOL_WITHIN
