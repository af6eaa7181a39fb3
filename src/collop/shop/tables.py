"""The shop's tables.

Weights are whole counts of 1e-11 kg with the unit they were weighed in; money is whole minor
units of the shop's currency; unit prices are decimal text with their unit. Stock is never stored:
on hand, booked and free are sums of ledger entries. Nothing in `APPEND_ONLY` is ever changed or
deleted; a correction is a further row.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import (
    JSON,
    BigInteger,
    Boolean,
    CheckConstraint,
    Column,
    Date,
    DateTime,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    UniqueConstraint,
)

__all__ = [
    "APPEND_ONLY",
    "PLACES",
    "act_column",
    "acts",
    "board_prices",
    "booking_events",
    "booking_lines",
    "bookings",
    "by_column",
    "case_lines",
    "json_type",
    "ledger_entries",
    "lots",
    "metadata",
    "people",
    "pieces",
    "quote_lines",
    "quotes",
    "serial_column",
    "serial_type",
    "setting_changes",
    "settings",
    "slip_lines",
    "slips",
    "weight_columns",
]

PLACES = ("rail", "block", "case", "booked", "trim", "bone", "fat", "bin", "drip", "sold")

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)

# SQLite counts rows by itself only in a column typed INTEGER
serial_type = BigInteger().with_variant(Integer, "sqlite")
json_type = JSON(none_as_null=True)


def serial_column(name: str) -> Column[int]:
    """Return a column that counts rows by itself."""
    return Column(name, serial_type, primary_key=True, autoincrement=True)


def by_column() -> Column[str]:
    """Return the column of the person who wrote the row."""
    return Column("by_id", String(40), ForeignKey("people.id"))


def act_column() -> Column[str]:
    """Return the column of the act the row was written in."""
    # the act's own row is written last in its transaction, when its answer is known
    rule = ForeignKey("acts.key", deferrable=True, initially="DEFERRED")
    # that row is looked for in every table then: without an index, from end to end
    return Column("key", String(200), rule, nullable=False, index=True)


def weight_columns(name: str) -> tuple[Column[int], Column[str]]:
    """Return the columns of a weight and of the unit it was read in."""
    return Column(name, BigInteger, nullable=False), Column("unit", String(2), nullable=False)


def _priced() -> tuple[Column[Any], ...]:
    return (
        Column("style", String(40)),
        Column("piece_counts", json_type),
        Column("price_amount", String(24), nullable=False),
        Column("price_per", String(2), nullable=False),
        Column("line_total", BigInteger, nullable=False),
    )


people = Table(
    "people",
    metadata,
    Column("id", String(40), primary_key=True),
    Column("name", String(80), nullable=False, unique=True),
    Column("role", String(120), nullable=False),
)
settings = Table(
    "settings",
    metadata,
    Column("name", String(40), primary_key=True),
    Column("value", json_type, nullable=False),
)
setting_changes = Table(
    "setting_changes",
    metadata,
    serial_column("seq"),
    Column("name", String(40), nullable=False),
    Column("before", json_type),
    Column("value", json_type, nullable=False),
    Column("at", DateTime, nullable=False),
    Column("why", String(200), nullable=False),
    by_column(),
    act_column(),
    sqlite_autoincrement=True,
)
acts = Table(
    "acts",
    metadata,
    Column("key", String(200), primary_key=True),
    Column("kind", String(40), nullable=False),
    Column("digest", String(64), nullable=False),
    Column("answer", String(200), nullable=False),
    Column("at", DateTime, nullable=False),
    by_column(),
)
case_lines = Table(
    "case_lines",
    metadata,
    Column("id", String(40), primary_key=True),
    Column("position", Integer, nullable=False),
    Column("name", String(120), nullable=False),
    Column("species", String(40), nullable=False),
    Column("form", String(20), nullable=False),
    Column("by_piece", Boolean, nullable=False),
    Column("boneless_fraction", String(12), nullable=False),
    Column("contains", json_type, nullable=False),
    Column("casing", String(40)),
    Column("grill_sq_in_per_lb", String(12), nullable=False),
    Column("minutes_low", Integer, nullable=False),
    Column("minutes_high", Integer, nullable=False),
    Column("method", String(120), nullable=False),
    Column("cook_as", String(20), nullable=False),
    Column("styles", json_type, nullable=False),
    Column("slots", json_type, nullable=False),
    Column("neighbour", String(40), ForeignKey("case_lines.id")),
    Column("usual_per_day", BigInteger),
    Column("keeps_days", Integer),
)
lots = Table(
    "lots",
    metadata,
    Column("id", String(60), primary_key=True),
    Column("case_id", String(40), ForeignKey("case_lines.id"), index=True),
    Column("species", String(40), nullable=False),
    Column("what", String(120), nullable=False),
    Column("farm", String(120)),
    *weight_columns("weight_in"),
    Column("since", DateTime, nullable=False),
    Column("use_by", Date),
    Column("planned_break", String(40)),
    Column("kind", String(10)),
    Column("piece", String(60)),
    Column("delivery_number", serial_type, index=True),
    CheckConstraint("weight_in > 0", name="some_weight"),
)
pieces = Table(
    "pieces",
    metadata,
    serial_column("id"),
    Column("lot_id", String(60), ForeignKey("lots.id"), nullable=False, index=True),
    *weight_columns("weight"),
    CheckConstraint("weight > 0", name="some_weight"),
)
board_prices = Table(
    "board_prices",
    metadata,
    serial_column("seq"),
    Column("case_id", String(40), ForeignKey("case_lines.id"), nullable=False, index=True),
    Column("amount", String(24), nullable=False),
    Column("per", String(2), nullable=False),
    Column("from_at", DateTime, nullable=False),
    Column("entered_at", DateTime, nullable=False),
    Column("why", String(200), nullable=False),
    by_column(),
    act_column(),
    sqlite_autoincrement=True,
)
quotes = Table(
    "quotes",
    metadata,
    serial_column("number"),
    Column("ask", json_type, nullable=False),
    Column("plan", json_type),
    Column("say", String(400)),
    Column("total", BigInteger, nullable=False),
    Column("made_at", DateTime, nullable=False),
    Column("held_until", DateTime, nullable=False),
    by_column(),
    act_column(),
    sqlite_autoincrement=True,
)
quote_lines = Table(
    "quote_lines",
    metadata,
    serial_column("id"),
    Column("quote_number", serial_type, ForeignKey("quotes.number"), nullable=False),
    Column("position", Integer, nullable=False),
    Column("case_id", String(40), ForeignKey("case_lines.id"), nullable=False),
    *weight_columns("weight"),
    *_priced(),
    UniqueConstraint("quote_number", "position"),
)
bookings = Table(
    "bookings",
    metadata,
    serial_column("number"),
    Column("name", String(120), nullable=False),
    Column("phone_end", String(4), nullable=False),
    Column("collect_at", DateTime, nullable=False, index=True),
    Column("heads", Integer),
    Column("ask", json_type, nullable=False),
    Column("note", String(2000), nullable=False),
    Column("deposit", BigInteger, nullable=False),
    Column("quote_number", serial_type, ForeignKey("quotes.number"), index=True),
    # an order of the hook, a sale at the glass, one of a standing order, meat for a freezer
    Column("kind", String(10), nullable=False, server_default="order", index=True),
    Column("made_at", DateTime, nullable=False),
    by_column(),
    act_column(),
    sqlite_autoincrement=True,
)
booking_lines = Table(
    "booking_lines",
    metadata,
    serial_column("id"),
    Column("booking_number", serial_type, ForeignKey("bookings.number"), nullable=False),
    Column("position", Integer, nullable=False),
    Column("case_id", String(40), ForeignKey("case_lines.id"), nullable=False),
    *weight_columns("weight"),
    *_priced(),
    UniqueConstraint("booking_number", "position"),
    CheckConstraint("weight > 0", name="some_weight"),
)
booking_events = Table(
    "booking_events",
    metadata,
    serial_column("seq"),
    Column(
        "booking_number", serial_type, ForeignKey("bookings.number"), nullable=False, index=True
    ),
    Column("what", String(20), nullable=False),
    Column("state", String(10), nullable=False),
    Column("at", DateTime, nullable=False),
    Column("why", String(200), nullable=False),
    by_column(),
    act_column(),
    CheckConstraint(
        "state IN ('asked', 'booked', 'cut', 'packed', 'gone', 'off')", name="known_state"
    ),
    sqlite_autoincrement=True,
)
slips = Table(
    "slips",
    metadata,
    serial_column("number"),
    Column(
        "booking_number", serial_type, ForeignKey("bookings.number"), nullable=False, unique=True
    ),
    Column("total", BigInteger, nullable=False),
    Column("deposit", BigInteger, nullable=False),
    Column("at", DateTime, nullable=False),
    by_column(),
    act_column(),
    sqlite_autoincrement=True,
)
slip_lines = Table(
    "slip_lines",
    metadata,
    serial_column("id"),
    Column("slip_number", serial_type, ForeignKey("slips.number"), nullable=False, index=True),
    Column(
        "booking_line_id", serial_type, ForeignKey("booking_lines.id"), nullable=False, unique=True
    ),
    *weight_columns("weighed"),
    Column("line_total", BigInteger, nullable=False),
)
ledger_entries = Table(
    "ledger_entries",
    metadata,
    serial_column("seq"),
    Column("move", String(32), nullable=False, index=True),
    Column("lot_id", String(60), ForeignKey("lots.id"), nullable=False),
    Column("piece_id", serial_type, ForeignKey("pieces.id")),
    Column("booking_line_id", serial_type, ForeignKey("booking_lines.id"), index=True),
    Column("place", String(10), nullable=False),
    Column("delta", BigInteger, nullable=False),
    Column("unit", String(2), nullable=False),
    Column("reason", String(40), nullable=False),
    Column("at", DateTime, nullable=False, index=True),
    by_column(),
    act_column(),
    CheckConstraint("delta <> 0", name="some_weight"),
    CheckConstraint(
        "place IN ('rail', 'block', 'case', 'booked', 'trim', 'bone', 'fat', 'bin', 'drip',"
        " 'sold')",
        name="known_place",
    ),
    Index(None, "lot_id", "place", "piece_id", "delta"),
    sqlite_autoincrement=True,
)

APPEND_ONLY = (
    acts, board_prices, booking_events, booking_lines, bookings, ledger_entries, pieces,
    quote_lines, quotes, setting_changes, slip_lines, slips,
)  # fmt: skip
