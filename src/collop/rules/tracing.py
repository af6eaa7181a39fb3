"""Recall classes, the seven principles of a hazard plan, and lot codes.

References
----------
.. [1] USDA recall classifications. Source id ``RECALLC``, rows TR064 to TR066.
.. [2] HACCP principles (restating NACMCF and Codex). Source id ``HACCP7``, rows TR077 to TR083.
.. [3] GS1 General Specifications, batch or lot number: at most 20 characters of set 82. Source id
   ``GS1GS``; the form of the code is row TR085, from memory, not checked.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

from collop.errors import BadValue
from collop.reference.rulebook import PublishedRule, rule_row, rule_rows

__all__ = ["HARMS", "RecallClass", "haccp_principles", "lot_code", "recall_class"]

#: How likely harm is, and the row of the class.
HARMS = {
    "reasonable probability of serious harm or death": "TR064",
    "remote probability of harm": "TR065",
    "will not cause harm": "TR066",
}
_SHORT = {"reasonable": "TR064", "remote": "TR065", "none": "TR066"}
_LONGEST = 20
# the characters of set 82 that a machine's name may hold: no sign that a reader could mistake
_MACHINE = re.compile(r"[A-Za-z0-9]{1,6}")
_MOST_A_DAY = 99


@dataclass(frozen=True, slots=True)
class RecallClass:
    """How grave a recall is.

    Parameters
    ----------
    name : str
        ``Class I``, ``Class II`` or ``Class III``.
    words : str
        What it means, as published.
    row : PublishedRule
        The published row.
    """

    name: str
    words: str
    row: PublishedRule


def recall_class(words: str) -> RecallClass:
    """Return the class of a recall by how likely harm is.

    Parameters
    ----------
    words : str
        One of `HARMS`, or in short ``reasonable``, ``remote`` or ``none``.

    Raises
    ------
    BadValue
        If it is none of them.

    Examples
    --------
    >>> recall_class("remote").name, recall_class("will not cause harm").name
    ('Class II', 'Class III')
    """
    asked = words.strip().casefold() if isinstance(words, str) else ""
    rule_id = HARMS.get(asked) or _SHORT.get(asked)
    if rule_id is None:
        raise BadValue(f"No class of recall is known for {str(words)[:40]!r}; use one of "
                       f"{', '.join(_SHORT)}.")  # fmt: skip
    row = rule_row(rule_id)
    return RecallClass(row.text, row.value, row)


def haccp_principles() -> tuple[PublishedRule, ...]:
    """Return the seven principles of a hazard plan, in order.

    Examples
    --------
    >>> [row.value for row in haccp_principles()][-1]
    'keep records'
    """
    rows = rule_rows("trace", "haccp", cited_only=True)
    return tuple(sorted(rows, key=lambda row: int(row.text.split()[-1])))


def lot_code(day: date, machine: str, number: int) -> str:
    """Return a lot code: two digits of the year, day of the year, machine, number of the day.

    Parameters
    ----------
    day : date
        Of the lot.
    machine : str
        1 to 6 letters or digits, e.g. ``G1``.
    number : int
        Lot of that machine on that day, 1 to 99.

    Raises
    ------
    BadValue
        If the machine's name or the number cannot be.

    Examples
    --------
    >>> lot_code(date(2026, 11, 25), "G1", 2)
    '26329-G1-02'
    """
    if not isinstance(machine, str) or not _MACHINE.fullmatch(machine):
        raise BadValue(f"The machine {str(machine)[:20]!r} cannot stand in a lot code; use 1 to 6 "
                       "letters or digits.", where="machine")  # fmt: skip
    if isinstance(number, bool) or not isinstance(number, int) or not 1 <= number <= _MOST_A_DAY:
        raise BadValue(f"Lot {str(number)[:20]} of the day cannot be; use 1 to {_MOST_A_DAY}.",
                       where="number")  # fmt: skip
    code = f"{day.year % 100:02d}{day.timetuple().tm_yday:03d}-{machine}-{number:02d}"
    assert len(code) <= _LONGEST
    return code
