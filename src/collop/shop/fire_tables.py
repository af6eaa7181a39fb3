"""Tables of the fire sheet: customers' fires, addresses of sheets, how lines of the case cook.

They hang on the same acts as the ledger's (`collop.shop.tables`). In each the newest row counts:
of a booking, or of a case line. A plan is never kept: it is worked out from these.
"""

from __future__ import annotations

from sqlalchemy import Boolean, Column, DateTime, ForeignKey, Integer, String, Table

from collop.shop import bench_tables
from collop.shop.tables import act_column as _act
from collop.shop.tables import by_column as _by
from collop.shop.tables import json_type as _json
from collop.shop.tables import metadata, serial_type
from collop.shop.tables import serial_column as _serial

__all__ = ["APPEND_ONLY", "case_cooks", "fire_facts", "fire_sheets"]


def _booking() -> Column[int]:
    rule = ForeignKey("bookings.number")
    return Column("booking_number", serial_type, rule, nullable=False, index=True)


fire_facts = Table(
    "fire_facts",
    metadata,
    _serial("seq"),
    _booking(),
    Column("facts", _json, nullable=False),
    Column("at", DateTime, nullable=False),
    _by(),
    _act(),
    sqlite_autoincrement=True,
)
# a sheet is looked up by the digest of its token, so that no comparison tells how near a guess was
fire_sheets = Table(
    "fire_sheets",
    metadata,
    _serial("seq"),
    _booking(),
    Column("token", String(64), nullable=False),
    Column("digest", String(64), nullable=False, unique=True),
    Column("at", DateTime, nullable=False),
    _by(),
    _act(),
    sqlite_autoincrement=True,
)
case_cooks = Table(
    "case_cooks",
    metadata,
    _serial("seq"),
    Column("case_id", String(40), ForeignKey("case_lines.id"), nullable=False, index=True),
    Column("form", String(20)),
    Column("thickness_mm", String(12)),
    Column("measured", Boolean, nullable=False),
    Column("shape", String(12)),
    Column("method", String(40)),
    Column("fat_rich", Boolean, nullable=False),
    Column("bone", Boolean, nullable=False),
    Column("done_f", Integer),
    Column("treatment", String(20)),
    Column("rest_min", Integer),
    Column("hold_min", Integer),
    Column("carve", String(200), nullable=False),
    Column("at", DateTime, nullable=False),
    _by(),
    _act(),
    sqlite_autoincrement=True,
)

APPEND_ONLY = (*bench_tables.APPEND_ONLY, case_cooks, fire_facts, fire_sheets)
