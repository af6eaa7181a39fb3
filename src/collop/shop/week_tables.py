"""Tables of a week of trade: money noted, work on bookings, standing orders, lock-up, learning.

They hang on the same acts as the ledger's (`collop.shop.tables`), and all are append-only: what is
changed gets a further row. Money is whole minor units, weights are whole counts with their unit.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import (
    BigInteger,
    Boolean,
    CheckConstraint,
    Column,
    Date,
    DateTime,
    ForeignKey,
    Integer,
    String,
    Table,
)

from collop.shop import day_tables
from collop.shop.day_tables import lot_column as _lot
from collop.shop.day_tables import written_columns as _written
from collop.shop.tables import json_type as _json
from collop.shop.tables import metadata, serial_type
from collop.shop.tables import serial_column as _serial

__all__ = [
    "APPEND_ONLY", "PAYMENT_KINDS", "PAYMENT_WAYS", "cutting_tests", "farm_orders", "feeds",
    "freezer_orders", "late_acts", "line_ends", "line_weighings", "line_works", "lock_up_lines",
    "lock_ups", "order_feedback", "payments", "returned_lines", "standing_events",
    "standing_orders", "supplier_quotes",
]  # fmt: skip

#: What money that is noted was for. Money given back is noted with its own kind, above zero.
PAYMENT_KINDS = ("deposit", "payment", "given back", "deposit kept")
#: How it was paid; "account" is to be paid later, and no number of a card is ever kept.
PAYMENT_WAYS = ("cash", "card", "other", "account")


def _to(name: str, table: str, *, needed: bool = True) -> Column[Any]:
    """Return a column that points at the numbered row of another table."""
    return Column(name, serial_type, ForeignKey(table), nullable=not needed, index=True)


def _case(name: str = "case_id", *, needed: bool = True) -> Column[str]:
    return Column(name, String(40), ForeignKey("case_lines.id"), nullable=not needed, index=True)


payments = Table(
    "payments",
    metadata,
    _serial("number"),
    _to("booking_number", "bookings.number"),
    Column("what", String(20), nullable=False),
    Column("way", String(10), nullable=False),
    Column("amount", BigInteger, nullable=False),
    Column("note", String(200), nullable=False),
    *_written(),
    CheckConstraint("amount > 0", name="some_money"),
    CheckConstraint(
        "what IN ('deposit', 'payment', 'given back', 'deposit kept')", name="known_kind"
    ),
    CheckConstraint("way IN ('cash', 'card', 'other', 'account')", name="known_way"),
    sqlite_autoincrement=True,
)
# weight that came back over the glass: never sold again, so `place` is the bin
returned_lines = Table(
    "returned_lines",
    metadata,
    _serial("number"),
    _to("booking_line_id", "booking_lines.id"),
    Column("weight", BigInteger, nullable=False),
    Column("unit", String(2), nullable=False),
    Column("money", BigInteger, nullable=False),
    Column("tax", BigInteger, nullable=False),
    Column("why", String(200), nullable=False),
    *_written(),
    CheckConstraint("weight > 0", name="some_weight"),
    sqlite_autoincrement=True,
)
# work on a booked line, or on stock of the case where there is no line: boning, tying, slicing
line_works = Table(
    "line_works",
    metadata,
    _serial("number"),
    _to("booking_line_id", "booking_lines.id", needed=False),
    _case("from_case"),
    _case("into_case"),
    _lot(),
    Column("before", BigInteger, nullable=False),
    Column("after", BigInteger, nullable=False),
    Column("unit", String(2), nullable=False),
    Column("words", String(200), nullable=False),
    Column("takes_back", serial_type, ForeignKey("line_works.number"), unique=True),
    *_written(),
    CheckConstraint("after > 0 AND before >= after", name="some_weight"),
    sqlite_autoincrement=True,
)
# a booked line weighed before its customer comes; the newest row of a line counts
line_weighings = Table(
    "line_weighings",
    metadata,
    _serial("seq"),
    _to("booking_line_id", "booking_lines.id"),
    Column("weighed", BigInteger, nullable=False),
    Column("unit", String(2), nullable=False),
    Column("short", BigInteger, nullable=False),
    Column("reason", String(40), nullable=False),
    Column("why", String(200), nullable=False),
    *_written(),
    CheckConstraint("weighed >= 0", name="no_debt"),
    sqlite_autoincrement=True,
)
# what a customer chose about a line that is short or off; a line that is swapped or left out ends
line_ends = Table(
    "line_ends",
    metadata,
    _serial("seq"),
    _to("booking_line_id", "booking_lines.id"),
    Column("what", String(20), nullable=False),
    _to("new_line_id", "booking_lines.id", needed=False),
    Column("agreed", String(200), nullable=False),
    *_written(),
    CheckConstraint("what IN ('take', 'top up', 'swap', 'left out')", name="known_what"),
    sqlite_autoincrement=True,
)
standing_orders = Table(
    "standing_orders",
    metadata,
    _serial("number"),
    Column("name", String(120), nullable=False),
    Column("phone_end", String(4), nullable=False),
    Column("heads", Integer),
    Column("days", _json, nullable=False),
    Column("every_weeks", Integer, nullable=False),
    Column("hour", String(5), nullable=False),
    Column("first_day", Date, nullable=False),
    Column("last_day", Date),
    Column("lines", _json, nullable=False),
    Column("note", String(2000), nullable=False),
    Column("on_account", Boolean, nullable=False),
    Column("replaces", serial_type, ForeignKey("standing_orders.number"), unique=True),
    *_written(),
    CheckConstraint("every_weeks BETWEEN 1 AND 52", name="known_weeks"),
    sqlite_autoincrement=True,
)
standing_events = Table(
    "standing_events",
    metadata,
    _serial("seq"),
    _to("order_number", "standing_orders.number"),
    Column("what", String(10), nullable=False),
    Column("on_day", Date),
    _to("booking_number", "bookings.number", needed=False),
    Column("facts", _json, nullable=False),
    Column("why", String(200), nullable=False),
    *_written(),
    CheckConstraint("what IN ('begun', 'made', 'skipped', 'paused', 'resumed', 'ended')",
                    name="known_what"),
    sqlite_autoincrement=True,
)  # fmt: skip
freezer_orders = Table(
    "freezer_orders",
    metadata,
    _serial("number"),
    _to("booking_number", "bookings.number"),
    _lot(needed=False),
    Column("problem", _json, nullable=False),
    Column("plan", _json, nullable=False),
    Column("total", BigInteger, nullable=False),
    *_written(),
    sqlite_autoincrement=True,
)
# the count of one line at the end of a day, and what was done with it
lock_up_lines = Table(
    "lock_up_lines",
    metadata,
    _serial("seq"),
    Column("day", Date, nullable=False, index=True),
    _case(),
    Column("what", String(10), nullable=False),
    Column("expected", BigInteger, nullable=False),
    Column("counted", BigInteger),
    Column("weight", BigInteger),
    Column("unit", String(2), nullable=False),
    Column("at_risk", BigInteger, nullable=False),
    _case("into_case", needed=False),
    _lot(needed=False),
    Column("why", String(200), nullable=False),
    *_written(),
    CheckConstraint("what IN ('count', 'skip', 'carry', 'convert', 'freeze', 'bin')",
                    name="known_what"),
    sqlite_autoincrement=True,
)  # fmt: skip
lock_ups = Table(
    "lock_ups",
    metadata,
    _serial("number"),
    Column("day", Date, nullable=False, index=True),
    Column("facts", _json, nullable=False),
    Column("note", String(400), nullable=False),
    *_written(),
    sqlite_autoincrement=True,
)
# how an order ate: `left_over` is the share of the food left, below zero what was missing
order_feedback = Table(
    "order_feedback",
    metadata,
    _serial("seq"),
    _to("booking_number", "bookings.number"),
    Column("left_over", String(12), nullable=False),
    Column("facts", _json, nullable=False),
    Column("words", String(200), nullable=False),
    *_written(),
    sqlite_autoincrement=True,
)
cutting_tests = Table(
    "cutting_tests",
    metadata,
    _serial("number"),
    _case(),
    Column("before", BigInteger, nullable=False),
    Column("after", BigInteger, nullable=False),
    Column("unit", String(2), nullable=False),
    _lot(needed=False),
    _to("work_number", "line_works.number", needed=False),
    Column("words", String(200), nullable=False),
    Column("takes_back", serial_type, ForeignKey("cutting_tests.number"), unique=True),
    *_written(),
    CheckConstraint("after > 0 AND before >= after", name="some_weight"),
    sqlite_autoincrement=True,
)
# an act that was done on paper before: `key` is that act's, `done_at` when it was done as told
late_acts = Table(
    "late_acts",
    metadata,
    _serial("seq"),
    Column("done_at", DateTime, nullable=False, index=True),
    Column("sheet", String(40), nullable=False),
    *_written(),
    sqlite_autoincrement=True,
)
supplier_quotes = Table(
    "supplier_quotes",
    metadata,
    _serial("number"),
    Column("supplier", String(120), nullable=False),
    Column("name", String(120), nullable=False),
    Column("basis", String(10), nullable=False),
    Column("offer", _json, nullable=False),
    Column("good_until", Date),
    Column("taken_off", serial_type, ForeignKey("supplier_quotes.number"), unique=True),
    *_written(),
    CheckConstraint("basis IN ('live', 'hanging', 'box')", name="known_basis"),
    sqlite_autoincrement=True,
)
farm_orders = Table(
    "farm_orders",
    metadata,
    _serial("number"),
    Column("farm", String(120), nullable=False),
    Column("species", String(40), nullable=False),
    Column("what", String(120), nullable=False),
    Column("animals", Integer, nullable=False),
    Column("for_day", Date, nullable=False, index=True),
    Column("words", String(400), nullable=False),
    Column("takes_back", serial_type, ForeignKey("farm_orders.number"), unique=True),
    *_written(),
    CheckConstraint("animals > 0", name="some_animals"),
    sqlite_autoincrement=True,
)
# a feed is found by its token alone; the newest row of a kind counts
feeds = Table(
    "feeds",
    metadata,
    _serial("seq"),
    Column("what", String(20), nullable=False),
    Column("token", String(60), nullable=False, unique=True),
    *_written(),
    sqlite_autoincrement=True,
)

APPEND_ONLY = (
    *day_tables.APPEND_ONLY, cutting_tests, farm_orders, feeds, freezer_orders, late_acts,
    line_ends, line_weighings, line_works, lock_up_lines, lock_ups, order_feedback, payments,
    returned_lines, standing_events, standing_orders, supplier_quotes,
)  # fmt: skip
