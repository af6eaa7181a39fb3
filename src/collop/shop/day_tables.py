"""Tables of the Day Book, of makings (mince and batches), tickets and the rules the shop chose.

They hang on the same acts as the ledger's (`collop.shop.tables`), and all are append-only: what is
corrected gets a further row that names the one it corrects. Of choices, tares, cold places and
facts of a label the newest row counts. `done_at` is when a thing was done as somebody told, `at`
when it was written down.
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
    String,
    Table,
)

from collop.shop import fire_tables
from collop.shop.tables import act_column as _act
from collop.shop.tables import by_column as _by
from collop.shop.tables import json_type as _json
from collop.shop.tables import metadata, serial_type
from collop.shop.tables import serial_column as _serial

__all__ = [
    "APPEND_ONLY", "case_labels", "cold_places", "day_checks", "drills", "making_events",
    "making_parts", "makings", "rule_choices", "slip_totals", "tares", "ticket_events", "tickets",
]  # fmt: skip


def written_columns() -> tuple[Column[Any], ...]:
    """Return the columns that tell when, by whom and in which act a row was written."""
    return Column("at", DateTime, nullable=False, index=True), _by(), _act()


def _to(name: str, table: str, *, needed: bool = True, index: bool = False) -> Column[Any]:
    """Return a column that points at the numbered row of another table."""
    return Column(name, serial_type, ForeignKey(table), nullable=not needed, index=index)


def lot_column(*, needed: bool = True) -> Column[str]:
    """Return the column of a lot."""
    return Column("lot_id", String(60), ForeignKey("lots.id"), nullable=not needed, index=True)


rule_choices = Table(
    "rule_choices",
    metadata,
    _serial("seq"),
    Column("name", String(60), nullable=False, index=True),
    Column("value", _json, nullable=False),
    Column("why", String(200), nullable=False),
    *written_columns(),
    sqlite_autoincrement=True,
)
tares = Table(
    "tares",
    metadata,
    _serial("seq"),
    Column("name", String(80), nullable=False, index=True),
    Column("weight", BigInteger, nullable=False),
    Column("unit", String(2), nullable=False),
    Column("retired", Boolean, nullable=False),
    *written_columns(),
    CheckConstraint("weight >= 0", name="no_debt"),
    sqlite_autoincrement=True,
)
# `limit_count` is a temperature as `collop.measures.Temperature` counts it
cold_places = Table(
    "cold_places",
    metadata,
    _serial("seq"),
    Column("place_id", String(40), nullable=False, index=True),
    Column("name", String(80), nullable=False),
    Column("kind", String(10), nullable=False),
    Column("limit_count", BigInteger, nullable=False),
    Column("retired", Boolean, nullable=False),
    *written_columns(),
    CheckConstraint("kind IN ('chilled', 'frozen', 'room')", name="known_kind"),
    sqlite_autoincrement=True,
)
day_checks = Table(
    "day_checks",
    metadata,
    _serial("seq"),
    Column("kind", String(10), nullable=False, index=True),
    Column("subject", String(80), nullable=False, index=True),
    Column("reading", BigInteger),
    Column("fields", _json, nullable=False),
    Column("is_over", Boolean, nullable=False),
    Column("action", String(400), nullable=False),
    Column("told", String(80), nullable=False),
    Column("done_at", DateTime, nullable=False, index=True),
    Column("corrects", serial_type, ForeignKey("day_checks.seq"), unique=True),
    *written_columns(),
    CheckConstraint("kind IN ('cold', 'scale', 'probe', 'receive', 'note')", name="known_kind"),
    sqlite_autoincrement=True,
)
makings = Table(
    "makings",
    metadata,
    _serial("number"),
    Column("code", String(20), nullable=False, unique=True),
    Column("kind", String(10), nullable=False),
    lot_column(),
    Column("name", String(120), nullable=False),
    Column("species", String(40), nullable=False),
    Column("case_id", String(40), ForeignKey("case_lines.id"), index=True),
    _to("after_clean", "clean_downs.seq", needed=False),
    Column("fields", _json, nullable=False),
    Column("done_at", DateTime, nullable=False, index=True),
    *written_columns(),
    CheckConstraint("kind IN ('mince', 'batch')", name="known_kind"),
    sqlite_autoincrement=True,
)
making_parts = Table(
    "making_parts",
    metadata,
    _serial("seq"),
    _to("making_number", "makings.number", index=True),
    Column("what", String(120), nullable=False),
    lot_column(needed=False),
    _to("carry_over_of", "makings.number", needed=False),
    Column("establishment", String(40), nullable=False),
    Column("supplier_lot", String(60), nullable=False),
    Column("produced_on", Date),
    Column("weight", BigInteger),
    Column("unit", String(2)),
    Column("contains", _json, nullable=False),
    Column("takes_back", serial_type, ForeignKey("making_parts.seq"), unique=True),
    *written_columns(),
    CheckConstraint("weight > 0", name="some_weight"),
    sqlite_autoincrement=True,
)
making_events = Table(
    "making_events",
    metadata,
    _serial("seq"),
    _to("making_number", "makings.number", index=True),
    Column("what", String(10), nullable=False),
    lot_column(needed=False),
    Column("weight", BigInteger),
    Column("unit", String(2)),
    Column("fields", _json, nullable=False),
    Column("note", String(200), nullable=False),
    Column("done_at", DateTime, nullable=False),
    *written_columns(),
    CheckConstraint(
        "what IN ('produced', 'carried', 'lost', 'filled', 'ended', 'taken back')",
        name="known_what",
    ),
    CheckConstraint("weight > 0", name="some_weight"),
    sqlite_autoincrement=True,
)
case_labels = Table(
    "case_labels",
    metadata,
    _serial("seq"),
    Column("case_id", String(40), ForeignKey("case_lines.id"), nullable=False, index=True),
    Column("facts", _json, nullable=False),
    *written_columns(),
    sqlite_autoincrement=True,
)
tickets = Table(
    "tickets",
    metadata,
    _serial("number"),
    Column("case_id", String(40), ForeignKey("case_lines.id"), nullable=False, index=True),
    lot_column(),
    _to("booking_line_id", "booking_lines.id", needed=False, index=True),
    Column("net", BigInteger, nullable=False),
    Column("tare", BigInteger, nullable=False),
    Column("unit", String(2), nullable=False),
    Column("price_amount", String(24), nullable=False),
    Column("price_per", String(2), nullable=False),
    Column("total", BigInteger, nullable=False),
    Column("problem", _json, nullable=False),
    *written_columns(),
    CheckConstraint("net > 0", name="some_weight"),
    CheckConstraint("tare >= 0", name="no_debt"),
    sqlite_autoincrement=True,
)
ticket_events = Table(
    "ticket_events",
    metadata,
    _serial("seq"),
    _to("ticket_number", "tickets.number", index=True),
    Column("what", String(10), nullable=False),
    Column("why", String(200), nullable=False),
    *written_columns(),
    CheckConstraint("what IN ('printed', 'void')", name="known_what"),
    sqlite_autoincrement=True,
)
# a drill is written when it ends: `begun_at` is when its question was asked
drills = Table(
    "drills",
    metadata,
    _serial("number"),
    lot_column(),
    Column("begun_at", DateTime, nullable=False),
    Column("milliseconds", BigInteger, nullable=False),
    Column("found_pct", String(12), nullable=False),
    Column("facts", _json, nullable=False),
    *written_columns(),
    sqlite_autoincrement=True,
)
slip_totals = Table(
    "slip_totals",
    metadata,
    _serial("seq"),
    Column("slip_number", serial_type, ForeignKey("slips.number"), nullable=False, unique=True),
    Column("tax", BigInteger, nullable=False),
    Column("taxes", _json, nullable=False),
    Column("cash_rule", String(20), nullable=False),
    Column("cash_total", BigInteger, nullable=False),
    *written_columns(),
    sqlite_autoincrement=True,
)

APPEND_ONLY = (
    *fire_tables.APPEND_ONLY, case_labels, cold_places, day_checks, drills, making_events,
    making_parts, makings, rule_choices, slip_totals, tares, ticket_events, tickets,
)  # fmt: skip
