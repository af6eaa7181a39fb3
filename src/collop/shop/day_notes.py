"""A word in the Day Book: by itself, or on a line that has no figure to correct."""

from __future__ import annotations

import re
from datetime import datetime

from sqlalchemy import select

from collop.errors import BadValue
from collop.shop.acts import Act
from collop.shop.bench_tables import clean_downs
from collop.shop.day_model import Told
from collop.shop.day_places import words_in
from collop.shop.day_tables import day_checks, makings
from collop.shop.day_writing import NewLine, write_line
from collop.shop.knife_tables import deliveries

__all__ = ["write_note"]

# the letter of a line, and the numbered column it counts
_LINES = {
    "D": day_checks.c.seq, "C": clean_downs.c.seq, "R": deliveries.c.number,
    "M": makings.c.number,
}  # fmt: skip
_LINE = re.compile(r"([DCRM])([1-9][0-9]{0,14})", re.ASCII)


def _line_told(act: Act, text: str) -> str:
    """Return the line a word is on, as it is written; empty if it is on none."""
    name = text.strip().upper()
    if not name:
        return ""
    found = _LINE.fullmatch(name)
    column = _LINES[found[1]] if found else None
    if found is None or column is None or act.conn.scalar(
        select(column).where(column == int(found[2]))
    ) is None:  # fmt: skip
        raise BadValue(
            f"There is no line {name[:20]!r} in the Day Book; a line is called like D12 or C3.",
            where="line",
        )
    return name


def write_note(act: Act, text: str, line: str, *, done_at: datetime | None = None) -> str:
    """Write a word in the book; return its id.

    Parameters
    ----------
    act : Act
        The write.
    text : str
        What is said, in 3 to 400 characters.
    line : str
        The line it is on, such as ``C3``: a clean-down, an animal at the door or a mince lot has no
        figure that a further line could put right. Empty for none.
    done_at : datetime, optional
        When what it tells of was, shop-local.

    Raises
    ------
    BadValue
        If it says nothing, or there is no such line.
    """
    said = words_in(text, "What is said", 400, where="text", least=3)
    name = _line_told(act, line)
    fields = {"said": f"on {name}: {said}" if name else said, "name": "A word"}
    new = NewLine(kind="note", subject=name or "note", fields=fields, is_over=False)
    return write_line(act, new, Told(), done_at=done_at, corrects=None)
