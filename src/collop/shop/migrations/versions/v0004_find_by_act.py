"""Rows found by the act they were written in.

Revision 0004, after 0003. An act's own row comes last in its transaction. The database then looks
for the rows that wait for it; without these indexes it reads every table from end to end to find
them, so that each write takes longer as the ledger grows.
"""

from __future__ import annotations

from alembic import op

revision = "0004"
down_revision: str | None = "0003"
branch_labels = None
depends_on = None

_TABLES = (
    "board_prices", "booking_events", "bookings", "break_events", "breaks", "deliveries",
    "ledger_entries", "lot_links", "quotes", "rail_claims", "rail_plans", "slips",
    "stock_counts", "weighings",
)  # fmt: skip


def upgrade() -> None:
    """Make one index for each table that names its act."""
    for table in _TABLES:
        op.create_index(f"ix_{table}_key", table, ["key"])


def downgrade() -> None:
    """Take the indexes away."""
    for table in _TABLES:
        op.drop_index(f"ix_{table}_key", table)
