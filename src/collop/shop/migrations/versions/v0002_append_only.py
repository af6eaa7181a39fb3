"""Guards in the database itself: what is written once is never changed or deleted.

Revision 0002, after 0001. The guards are SQLite triggers; on other databases the code alone
guards (`collop.shop.store`). A later step that copies a guarded table must make its guards anew.
"""

from __future__ import annotations

from alembic import op

revision = "0002"
down_revision: str | None = "0001"
branch_labels = None
depends_on = None

_TABLES = (
    "acts", "board_prices", "booking_events", "booking_lines", "bookings", "ledger_entries",
    "pieces", "quote_lines", "quotes", "slip_lines", "slips",
)  # fmt: skip
_VERBS = ("update", "delete")


def _has_triggers() -> bool:
    return op.get_bind().dialect.name == "sqlite"


def upgrade() -> None:
    """Make one guard for each table and verb."""
    if not _has_triggers():
        return
    for table in _TABLES:
        for verb in _VERBS:
            op.execute(
                f"CREATE TRIGGER no_{verb}_{table} BEFORE {verb.upper()} ON {table} BEGIN"
                f" SELECT RAISE(ABORT, '{table} is never edited; write a further entry'); END"
            )


def downgrade() -> None:
    """Take the guards away."""
    if not _has_triggers():
        return
    for table in _TABLES:
        for verb in _VERBS:
            op.execute(f"DROP TRIGGER no_{verb}_{table}")
