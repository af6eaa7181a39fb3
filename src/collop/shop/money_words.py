"""Words that stand beside money and sales: short, printable, and never the number of a card."""

from __future__ import annotations

import re

from collop.errors import BadValue

__all__ = ["checked_words"]

_LONGEST_NOTE = 150
# 12 to 19 digits in a row is how long the number of a card is (ISO/IEC 7812-1, from memory),
# in the digits of any script, parted as people part them
_CARD = re.compile(r"(?:\d[\s._/\u2010-\u2015\u00b7-]{0,3}){12,}")


def checked_words(text: str, where: str, longest: int = _LONGEST_NOTE) -> str:
    """Return words that may be kept.

    Raises
    ------
    BadValue
        If they are too long, cannot be printed, or hold what may be the number of a card.
    """
    plain = text.strip()
    if len(plain) > longest or (plain and not plain.isprintable()):
        raise BadValue(f"{where.capitalize()}: write at most {longest} letters, in one line.",
                       where=where)  # fmt: skip
    if _CARD.search(plain):
        raise BadValue(
            f"{where.capitalize()}: this may be the number of a card, which is never kept; leave"
            " it out.",
            where=where,
        )
    return plain
