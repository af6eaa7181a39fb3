"""Tables of who may do what: posts, secrets, devices, sessions, and the chained log of every act.

Secrets, sessions and counts of failures are `PRIVATE`: they are rewritten in place, and no export
holds them. Their times are seconds since 1970 by the machine's clock, so that neither the demo week
nor a change of the clock's zone makes a session longer. The log is append-only, and each of its
rows carries a digest over itself and the row before it.
"""

from __future__ import annotations

from sqlalchemy import BigInteger, Boolean, Column, DateTime, ForeignKey, Integer, String, Table

from collop.shop import week_tables
from collop.shop.day_tables import written_columns
from collop.shop.tables import by_column as _by
from collop.shop.tables import metadata, serial_type
from collop.shop.tables import serial_column as _serial

__all__ = [
    "APPEND_ONLY", "PRIVATE", "audit", "devices", "posts", "secrets", "sessions", "sign_in_counts",
]  # fmt: skip


def _person(*, key: bool = False) -> Column[str]:
    rule = ForeignKey("people.id")
    return Column("person_id", String(40), rule, nullable=False, primary_key=key, index=not key)


#: Of the rows of one person the newest counts; `works_here` is false once somebody has left.
posts = Table(
    "posts",
    metadata,
    _serial("seq"),
    _person(),
    Column("post", String(12), nullable=False),
    Column("works_here", Boolean, nullable=False),
    Column("why", String(200), nullable=False),
    *written_columns(),
    sqlite_autoincrement=True,
)
#: Devices that were made known: a counter tablet, the screen of the cutting room.
devices = Table(
    "devices",
    metadata,
    _serial("number"),
    Column("name", String(80), nullable=False),
    Column("token_hash", String(64), nullable=False, unique=True),
    Column("made_at", BigInteger, nullable=False),
    Column("ended_at", BigInteger),
    _by(),
    sqlite_autoincrement=True,
)
#: `kind` is password or pin; a PIN belongs to one device, a password has device 0.
secrets = Table(
    "secrets",
    metadata,
    _person(key=True),
    Column("kind", String(10), primary_key=True),
    Column("device_number", serial_type, primary_key=True),
    Column("hash", String(200), nullable=False),
    Column("set_at", BigInteger, nullable=False),
)
sessions = Table(
    "sessions",
    metadata,
    _serial("number"),
    Column("token_hash", String(64), nullable=False, unique=True),
    _person(),
    Column("device_number", serial_type, ForeignKey("devices.number"), index=True),
    Column("way", String(10), nullable=False),
    Column("made_at", BigInteger, nullable=False),
    Column("seen_at", BigInteger, nullable=False),
    Column("ends_at", BigInteger, nullable=False),
    Column("ended_at", BigInteger),
    Column("ended_why", String(80)),
    sqlite_autoincrement=True,
)
#: Failures one after another; `who` is a person and the way, or "anybody" for unknown names.
sign_in_counts = Table(
    "sign_in_counts",
    metadata,
    Column("who", String(80), primary_key=True),
    Column("failures", Integer, nullable=False),
    Column("last_at", BigInteger, nullable=False),
    Column("hour_failures", Integer, nullable=False),
    Column("hour_from", BigInteger, nullable=False),
)
#: `kind` is act, or what happened at the door: signed in, refused, signed out, ended, secret set...
audit = Table(
    "audit",
    metadata,
    _serial("seq"),
    Column("at", DateTime, nullable=False, index=True),
    Column("utc", BigInteger, nullable=False),
    Column("kind", String(20), nullable=False, index=True),
    Column("what", String(200), nullable=False),
    _by(),
    Column("device_number", serial_type),
    Column("key", String(200), index=True),
    Column("digest", String(64), nullable=False),
    Column("chain", String(64), nullable=False),
    sqlite_autoincrement=True,
)

APPEND_ONLY = (*week_tables.APPEND_ONLY, audit, posts)
#: Never exported, and rewritten in place.
PRIVATE = (devices, secrets, sessions, sign_in_counts)
