"""Tables of the bench: kept cutting plans, what bookings want cut, marks on the list, clean-downs.

They hang on the same acts as the ledger's (`collop.shop.tables`). A kept plan is worked out from
what the other tables say: losing one loses no weight and no money.
"""

from __future__ import annotations

from sqlalchemy import (
    BigInteger,
    CheckConstraint,
    Column,
    DateTime,
    ForeignKey,
    Integer,
    String,
    Table,
)

from collop.shop import knife_tables
from collop.shop.tables import act_column as _act
from collop.shop.tables import by_column as _by
from collop.shop.tables import json_type as _json
from collop.shop.tables import metadata, serial_type
from collop.shop.tables import serial_column as _serial
from collop.shop.tables import weight_columns as _weight

__all__ = [
    "APPEND_ONLY", "DERIVED", "MARKS", "bench_marks", "bench_plans", "booking_wants", "clean_downs",
]  # fmt: skip

#: What may be marked on a line of the list.
MARKS = ("seen", "done", "undone", "crossed")

# the newest row is the plan in force; `version` tells what the shop looked like when it was made
bench_plans = Table(
    "bench_plans",
    metadata,
    _serial("number"),
    Column("at", DateTime, nullable=False),
    Column("version", _json, nullable=False),
    Column("problem_digest", String(64), nullable=False),
    Column("problem", _json, nullable=False),
    Column("plan", _json, nullable=False),
    Column("changes", _json, nullable=False),
    _by(),
    _act(),
    sqlite_autoincrement=True,
)
# the newest row of a booking and a case line counts; a weight of 0 takes the want back
booking_wants = Table(
    "booking_wants",
    metadata,
    _serial("seq"),
    Column(
        "booking_number", serial_type, ForeignKey("bookings.number"), nullable=False, index=True
    ),
    Column("case_id", String(40), ForeignKey("case_lines.id"), nullable=False),
    *_weight("weight"),
    Column("note", String(200), nullable=False),
    Column("at", DateTime, nullable=False),
    _by(),
    _act(),
    CheckConstraint("weight >= 0", name="no_debt"),
    sqlite_autoincrement=True,
)
# `number` is what is called out for the line that day; `shown` is the line as it stood then
bench_marks = Table(
    "bench_marks",
    metadata,
    _serial("seq"),
    Column("line_id", String(200), nullable=False, index=True),
    Column("number", Integer),
    Column("what", String(10), nullable=False),
    Column("shown", _json),
    Column("weight", BigInteger),
    Column("unit", String(2)),
    Column("at", DateTime, nullable=False, index=True),
    _by(),
    _act(),
    CheckConstraint("what IN ('seen', 'done', 'undone', 'crossed')", name="known_what"),
    CheckConstraint("weight > 0", name="some_weight"),
    sqlite_autoincrement=True,
)
clean_downs = Table(
    "clean_downs",
    metadata,
    _serial("seq"),
    Column("what", String(120), nullable=False),
    Column("at", DateTime, nullable=False, index=True),
    # when it was done, where that is told later; the room's temperature as it is counted
    Column("done_at", DateTime),
    Column("room", BigInteger),
    Column("words", String(120)),
    _by(),
    _act(),
    sqlite_autoincrement=True,
)

#: Never edited, but the oldest rows may go: they were worked out from the others.
DERIVED = (bench_plans,)
APPEND_ONLY = (
    *knife_tables.APPEND_ONLY, bench_marks, bench_plans, booking_wants, clean_downs,
)  # fmt: skip
