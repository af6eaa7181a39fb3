"""A freezer order in few words, for the bench list and the claim on the rail."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.engine import Connection

from collop.shop.week_tables import freezer_orders

__all__ = ["LONGEST", "freezer_line_name", "freezer_words", "is_freezer_line", "shouts"]

#: What a claim's note holds, in characters.
LONGEST = 200


_LINE = re.compile(r"freezer [a-z ]+, cut to list", re.IGNORECASE)


def freezer_line_name(species: str) -> str:
    """Return the name of the case line that freezer packs of a species are booked on."""
    return f"Freezer {species}, cut to list"


def is_freezer_line(name: str) -> bool:
    """Tell whether a case line holds packs of freezer orders: no price for every customer."""
    return _LINE.fullmatch(name) is not None


def shouts(part: Mapping[str, Any]) -> str:
    """Return the bench lines of one part of a plan: number, large cut, what to do."""
    words = "; ".join(f"{one['shout']} {one['large_cut']} {one['say']}" for one in part["bench"])
    return f"freezer card: {words}"[:LONGEST]


def freezer_words(conn: Connection, numbers: Collection[int]) -> dict[tuple[int, str], str]:
    """Return the words of the newest order of each booking, by booking number and tag."""
    newest = (
        select(func.max(freezer_orders.c.number))
        .where(freezer_orders.c.booking_number.in_(list(numbers)))
        .group_by(freezer_orders.c.booking_number)
    )
    rows = conn.execute(select(freezer_orders).where(freezer_orders.c.number.in_(newest)))
    return {
        (row.booking_number, part["tag"]): shouts(part)
        for row in rows
        for part in row.plan["parts"]
    }
