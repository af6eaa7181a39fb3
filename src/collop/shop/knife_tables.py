"""Tables of the rail and the knife: deliveries, lot links, cutting styles, breaks, counts, marks.

They hang on the same ledger as the counter's (`collop.shop.tables`). A lot that was cut from
another is joined to it by a link; what a link carries left the one lot and came into the other.
"""

from __future__ import annotations

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
    UniqueConstraint,
)

from collop.shop import tables
from collop.shop.tables import act_column as _act
from collop.shop.tables import by_column as _by
from collop.shop.tables import json_type as _json
from collop.shop.tables import metadata, serial_type
from collop.shop.tables import serial_column as _serial
from collop.shop.tables import weight_columns as _weight

__all__ = [
    "APPEND_ONLY",
    "break_events",
    "breaks",
    "cutting_styles",
    "deliveries",
    "lot_links",
    "rail_claims",
    "rail_plans",
    "stock_counts",
    "stock_mark_lines",
    "stock_marks",
    "style_parts",
    "weighings",
]

deliveries = Table(
    "deliveries",
    metadata,
    _serial("number"),
    # the animal's row follows in the same transaction: it names this delivery
    Column(
        "lot_id",
        String(60),
        ForeignKey("lots.id", deferrable=True, initially="DEFERRED"),
        nullable=False,
        index=True,
    ),
    Column("farm", String(120), nullable=False),
    Column("species", String(40), nullable=False),
    Column("killed_on", Date),
    *_weight("invoiced"),
    Column("weighed", BigInteger, nullable=False),
    Column("is_hot", Boolean, nullable=False),
    Column("temperature", BigInteger),
    Column("cool_by", DateTime),
    Column("papers", _json, nullable=False),
    Column("papers_missing", _json, nullable=False),
    Column("price_amount", String(24)),
    Column("price_per", String(2)),
    Column("haulage", BigInteger, nullable=False),
    Column("note", String(400), nullable=False),
    Column("at", DateTime, nullable=False),
    _by(),
    _act(),
    # the number on the inspection mark
    Column("establishment", String(40)),
    CheckConstraint("invoiced > 0 AND weighed > 0", name="some_weight"),
    sqlite_autoincrement=True,
)
lot_links = Table(
    "lot_links",
    metadata,
    _serial("seq"),
    Column("move", String(32), nullable=False, index=True),
    Column("parent_id", String(60), ForeignKey("lots.id"), nullable=False, index=True),
    Column("child_id", String(60), ForeignKey("lots.id"), nullable=False, index=True),
    Column("count", BigInteger, nullable=False),
    Column("at", DateTime, nullable=False),
    _by(),
    _act(),
    CheckConstraint("count <> 0", name="some_weight"),
    CheckConstraint("parent_id <> child_id", name="two_lots"),
    sqlite_autoincrement=True,
)
cutting_styles = Table(
    "cutting_styles",
    metadata,
    Column("id", String(40), primary_key=True),
    Column("species", String(40), nullable=False),
    Column("piece", String(60), nullable=False),
    Column("name", String(120), nullable=False),
    Column("labour_minutes", Integer),
    Column("source", String(200), nullable=False),
)
style_parts = Table(
    "style_parts",
    metadata,
    _serial("id"),
    Column("style_id", String(40), ForeignKey("cutting_styles.id"), nullable=False),
    Column("position", Integer, nullable=False),
    Column("name", String(120), nullable=False),
    Column("kind", String(10), nullable=False),
    Column("place", String(10), nullable=False),
    Column("share", String(24), nullable=False),
    Column("case_id", String(40), ForeignKey("case_lines.id")),
    Column("keeps_days", Integer),
    UniqueConstraint("style_id", "position"),
    CheckConstraint(
        "kind IN ('cut', 'trim', 'fat', 'bone', 'fat_bone', 'scrap', 'loss')", name="known_kind"
    ),
)
breaks = Table(
    "breaks",
    metadata,
    _serial("number"),
    Column("lot_id", String(60), ForeignKey("lots.id"), nullable=False, index=True),
    Column("style_id", String(40), ForeignKey("cutting_styles.id"), nullable=False),
    *_weight("start"),
    Column("at", DateTime, nullable=False),
    _by(),
    _act(),
    sqlite_autoincrement=True,
)
break_events = Table(
    "break_events",
    metadata,
    _serial("seq"),
    Column("break_number", serial_type, ForeignKey("breaks.number"), nullable=False, index=True),
    Column("what", String(10), nullable=False),
    Column("gap", BigInteger, nullable=False),
    Column("closes", Boolean, nullable=False),
    Column("why", String(200), nullable=False),
    Column("at", DateTime, nullable=False),
    _by(),
    _act(),
    CheckConstraint("what IN ('closed', 'reopened', 'put back')", name="known_what"),
    sqlite_autoincrement=True,
)
weighings = Table(
    "weighings",
    metadata,
    _serial("seq"),
    Column("break_number", serial_type, ForeignKey("breaks.number"), nullable=False, index=True),
    Column("part_id", serial_type, ForeignKey("style_parts.id")),
    Column("lot_id", String(60), ForeignKey("lots.id"), nullable=False, index=True),
    *_weight("weight"),
    Column("takes_back", serial_type, ForeignKey("weighings.seq"), unique=True),
    Column("why", String(200), nullable=False),
    Column("at", DateTime, nullable=False),
    _by(),
    _act(),
    CheckConstraint("weight > 0", name="some_weight"),
    sqlite_autoincrement=True,
)
rail_plans = Table(
    "rail_plans",
    metadata,
    _serial("seq"),
    Column("lot_id", String(60), ForeignKey("lots.id"), nullable=False, index=True),
    Column("break_on", Date),
    Column("words", String(40), nullable=False),
    Column("at", DateTime, nullable=False),
    _by(),
    _act(),
    sqlite_autoincrement=True,
)
rail_claims = Table(
    "rail_claims",
    metadata,
    _serial("seq"),
    Column("booking_number", serial_type, ForeignKey("bookings.number"), nullable=False),
    Column("lot_id", String(60), ForeignKey("lots.id"), nullable=False, index=True),
    *_weight("weight"),
    Column("note", String(200), nullable=False),
    Column("at", DateTime, nullable=False),
    _by(),
    _act(),
    sqlite_autoincrement=True,
)
stock_counts = Table(
    "stock_counts",
    metadata,
    _serial("number"),
    Column("case_id", String(40), ForeignKey("case_lines.id"), index=True),
    Column("lot_id", String(60), ForeignKey("lots.id"), index=True),
    Column("place", String(10), nullable=False),
    *_weight("expected"),
    Column("counted", BigInteger, nullable=False),
    Column("why", String(200), nullable=False),
    Column("at", DateTime, nullable=False),
    _by(),
    _act(),
    sqlite_autoincrement=True,
)
# what was on hand after a given entry, so that stock is summed from there and not from the start
stock_marks = Table(
    "stock_marks",
    metadata,
    Column("seq", serial_type, primary_key=True, autoincrement=False),
    Column("at", DateTime, nullable=False),
)
stock_mark_lines = Table(
    "stock_mark_lines",
    metadata,
    _serial("id"),
    Column("mark_seq", serial_type, ForeignKey("stock_marks.seq"), nullable=False, index=True),
    Column("lot_id", String(60), ForeignKey("lots.id"), nullable=False),
    Column("place", String(10), nullable=False),
    Column("piece_id", serial_type, ForeignKey("pieces.id")),
    Column("count", BigInteger, nullable=False),
)

APPEND_ONLY = (
    *tables.APPEND_ONLY, break_events, breaks, deliveries, lot_links, rail_claims, rail_plans,
    stock_counts, stock_mark_lines, stock_marks, weighings,
)  # fmt: skip
