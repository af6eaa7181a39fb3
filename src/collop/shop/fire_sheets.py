"""Addresses of fire sheets: one live token for each booking, unguessable, never edited."""

from __future__ import annotations

import hashlib
import secrets
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import insert, select
from sqlalchemy.engine import Connection

from collop.shop.acts import Act
from collop.shop.fire_tables import fire_sheets

__all__ = ["LiveToken", "booking_of_token", "live_token", "new_token"]

#: Bytes of chance in a token: 192 bits.
_BYTES = 24
_LONGEST = 64


@dataclass(frozen=True, slots=True)
class LiveToken:
    """The token in force of a booking, and since when."""

    number: int
    token: str
    at: datetime


def _digest(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()


def live_token(conn: Connection, number: int) -> LiveToken | None:
    """Return the newest token of a booking; the older ones open nothing."""
    query = select(fire_sheets).where(fire_sheets.c.booking_number == number)
    row = conn.execute(query.order_by(fire_sheets.c.seq.desc()).limit(1)).first()
    return None if row is None else LiveToken(number, row.token, row.at)


def new_token(act: Act, number: int) -> None:
    """Write a new token of a booking; the one before opens nothing from now on."""
    token = secrets.token_urlsafe(_BYTES)
    act.conn.execute(
        insert(fire_sheets).values(
            booking_number=number, token=token, digest=_digest(token), at=act.at, by_id=act.by,
            key=act.key,
        )
    )  # fmt: skip


def booking_of_token(conn: Connection, token: str) -> LiveToken | None:
    """Return the booking a token in force belongs to; None for any other text.

    Notes
    -----
    The database is asked for the digest, so how long it takes tells nothing of how much of a
    guess was right; the token itself is then compared in constant time.
    """
    asked = token if len(token) <= _LONGEST else ""
    query = select(fire_sheets.c.booking_number).where(fire_sheets.c.digest == _digest(asked))
    number = conn.scalar(query)
    live = live_token(conn, -1 if number is None else int(number))
    kept = "" if live is None else live.token
    same = secrets.compare_digest(
        kept.encode("utf-8", "surrogatepass"), asked.encode("utf-8", "surrogatepass")
    )
    return live if same else None
