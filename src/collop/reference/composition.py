"""Published standards of what ground meat and fresh sausage may be made of.

Local codes come first; a row from memory is a caution, never the ground of a check.

References
----------
.. [1] Virginia Administrative Code, 2VAC5-590-10: ground beef, fat 30 percent at the most. Source
   id ``VA590``. The other sources are named by their rows.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from collop.reference.limits import LABELS
from collop.reference.sources import Row
from collop.reference.tables import read_table

__all__ = ["CompositionRow", "composition_rows"]

_TOPIC = "composition"
# the rule on stating lean and fat stands with nutrition
_LEAN_AND_FAT = "LB024"


@dataclass(frozen=True, slots=True, kw_only=True)
class CompositionRow(Row):
    """One published requirement; `value` is a figure or words, as in the table.

    Parameters
    ----------
    rule_id, topic, requirement, value, unit : str
        As in the table; `unit` is of `value`.
    applies_to, exempt : str
        Products that it rules, and what else it says of them.
    """

    rule_id: str
    topic: str
    requirement: str
    value: str
    unit: str
    applies_to: str
    exempt: str

    @property
    def percent(self) -> Decimal | None:
        """Return the figure in percent, None if the row is in words."""
        if re.fullmatch(r"\d+(\.\d+)?", self.value, re.ASCII):
            return Decimal(self.value)
        # a row may hold its figure beside words, e.g. "fat still max 30 %"
        beside = re.search(r"\b(\d+(?:\.\d+)?) %", self.exempt, re.ASCII)
        return Decimal(beside[1]) if beside else None


@cache
def _rows() -> tuple[CompositionRow, ...]:
    return tuple(
        CompositionRow(
            rule_id=cells.text("rule_id"),
            topic=cells.text("topic"),
            requirement=cells.text("requirement"),
            value=cells.text("value"),
            unit=cells.text("unit"),
            applies_to=cells.text("applies_to"),
            exempt=cells.text("exempt_or_when_not"),
            source=cells.origin(),
            status=cells.status(),
            note=cells.text("note"),
        )
        for cells in read_table(LABELS)
        if cells.text("topic") == _TOPIC or cells.text("rule_id") == _LEAN_AND_FAT
    )


def composition_rows(*rule_ids: str) -> tuple[CompositionRow, ...]:
    """Return the requirements of these ids, in the table's order; all of them if none is named."""
    return tuple(row for row in _rows() if not rule_ids or row.rule_id in rule_ids)
