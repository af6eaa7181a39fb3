"""PostgreSQL: each row has its shop, shops are kept apart, what is written once is guarded.

Revision 0011, after 0010. Nothing changes in SQLite, where a file is one shop.
"""

from __future__ import annotations

from alembic import context, op
from sqlalchemy import text

from collop.shop.tenancy import (
    FIRST_SHOP,
    begin_shops,
    end_shops,
    guard,
    keep_apart,
    mix_again,
    shop_tables,
)  # fmt: skip

revision = "0011"
down_revision: str | None = "0010"
branch_labels = None
depends_on = None

_GUARDED = (
    "acts", "audit", "bench_marks", "bench_plans", "board_prices", "booking_events",
    "booking_lines", "booking_wants", "bookings", "break_events", "breaks", "case_cooks",
    "case_labels", "clean_downs", "cold_places", "cutting_tests", "day_checks", "deliveries",
    "drills", "farm_orders", "feeds", "fire_facts", "fire_sheets", "freezer_orders", "late_acts",
    "ledger_entries", "line_ends", "line_weighings", "line_works", "lock_up_lines", "lock_ups",
    "lot_links", "making_events", "making_parts", "makings", "order_feedback", "payments",
    "pieces", "posts", "quote_lines", "quotes", "rail_claims", "rail_plans", "returned_lines",
    "rule_choices", "setting_changes", "slip_lines", "slip_totals", "slips", "standing_events",
    "standing_orders", "stock_counts", "stock_mark_lines", "stock_marks", "supplier_quotes",
    "tares", "ticket_events", "tickets", "weighings",
)  # fmt: skip
#: What was worked out from the other tables may be let go of again.
_DERIVED = ("bench_plans",)


def _is_postgres() -> bool:
    return op.get_bind().dialect.name == "postgresql"


def upgrade() -> None:
    """Give the rows that are there to the shop of the address, and put up walls and guards."""
    if not _is_postgres():
        return
    connection = op.get_bind()
    tables = shop_tables(connection)
    is_filled = connection.scalar(text("SELECT EXISTS (SELECT FROM settings)"))
    shop = (context.config.attributes.get("shop") or FIRST_SHOP) if is_filled else None
    begin_shops(connection, shop)
    keep_apart(connection, *tables, shop=shop)
    for table in _GUARDED:
        guard(connection, table, "update", *(() if table in _DERIVED else ("delete",)))


def downgrade() -> None:
    """Take them away again; only where one shop is there."""
    if not _is_postgres():
        return
    connection = op.get_bind()
    tables = [name for name in shop_tables(connection) if name != "shop_counts"]
    mix_again(connection, *tables)
    end_shops(connection)
