"""Every published rule of selling, labelling, cleaning, tracing and taxing, row by row.

A row is a reference only: the local code and the local authority come first. What the shop does
with a row stands in `collop.rules`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from collop.errors import BadValue
from collop.reference.limits import LABELS, SAFETY_LIMITS
from collop.reference.sources import Row
from collop.reference.tables import Cells, Column, Table, read_table

__all__ = [
    "BARCODES",
    "RULE_TABLES",
    "SAFE_HANDLING",
    "TAX_PRICE",
    "TRACEABILITY",
    "WEIGHTS_MEASURES",
    "HandlingPart",
    "PublishedRule",
    "rule_row",
    "rule_rows",
    "safe_handling_parts",
]


def _table(name: str, *columns: str) -> Table:
    required = {"rule_id", "topic", columns[0]}
    names = ("rule_id", "topic", *columns)
    return Table(
        f"rules/{name}.csv",
        tuple(Column(column, required=column in required) for column in names),
        key="rule_id",
    )


BARCODES = _table("barcodes", "item", "value", "format", "worked_inputs", "worked_result")
TAX_PRICE = _table("tax_price", "rule", "value", "unit", "worked_inputs", "worked_result")
TRACEABILITY = _table("traceability", "item", "value", "unit", "applies_to")
# this table has no topic: the quantity says what a row is of
WEIGHTS_MEASURES = Table(
    "rules/weights_measures.csv",
    (
        Column("rule_id", required=True),
        Column("quantity", required=True),
        *map(Column, ("value", "unit", "applies_to", "worked_inputs", "worked_result")),
    ),
    key="rule_id",
)
SAFE_HANDLING = Table(
    "rules/safe_handling_text.csv",
    (
        Column("part", required=True),
        Column("mandated_words", required=True),
        Column("citation", required=True),
    ),
    key="part",
)
#: The tables of rules by the word they are asked for with.
RULE_TABLES: Mapping[str, Table] = {
    "weights": WEIGHTS_MEASURES,
    "labels": LABELS,
    "safety": SAFETY_LIMITS,
    "trace": TRACEABILITY,
    "tax": TAX_PRICE,
    "barcodes": BARCODES,
}
# the columns in which each table says what a row is
_TEXT = ("quantity", "requirement", "limit", "item", "rule")
_WHEN = ("time_or_frequency", "exempt_or_when_not", "format")


@dataclass(frozen=True, slots=True, kw_only=True)
class PublishedRule(Row):
    """One published rule.

    Parameters
    ----------
    rule_id : str
        Its id in the table, e.g. ``SF006``.
    table : str
        Key of `RULE_TABLES`.
    topic : str
        As in the table; ``weights`` has none.
    text : str
        What it is about.
    value, unit : str
        A figure or words, as in the table.
    applies_to : str
        What it rules.
    when : str
        Its time or frequency, what is exempt, or the format; empty where the table has none.
    worked_inputs, worked_result : str
        A worked example, empty where there is none.
    """

    rule_id: str
    table: str
    topic: str
    text: str
    value: str
    unit: str
    applies_to: str
    when: str
    worked_inputs: str
    worked_result: str

    @property
    def figure(self) -> Decimal | None:
        """Return `value` as a number, None if it is words."""
        plain = re.fullmatch(r"-?\d+(\.\d+)?", self.value, re.ASCII)
        return Decimal(self.value) if plain else None


@dataclass(frozen=True, slots=True, kw_only=True)
class HandlingPart(Row):
    """One part of the safe-handling block, in the words the regulation prescribes.

    Parameters
    ----------
    part : str
        ``heading``, ``rationale``, ``storage``, ``separation``, ``cooking`` or ``holding``.
    words : str
        Printed as they are.
    citation_of_words : str
        Where they are prescribed.
    """

    part: str
    words: str
    citation_of_words: str


def _row(name: str, table: Table, cells: Cells) -> PublishedRule:
    there = {column.name for column in table.columns}

    def of(*names: str) -> str:
        return next((cells.text(one) for one in names if one in there), "")

    return PublishedRule(
        rule_id=cells.text("rule_id"), table=name, topic=of("topic"), text=of(*_TEXT),
        value=of("value"), unit=of("unit"), applies_to=of("applies_to"), when=of(*_WHEN),
        worked_inputs=of("worked_inputs"), worked_result=of("worked_result"),
        source=cells.origin(), status=cells.status(), note=cells.text("note"),
    )  # fmt: skip


@cache
def _rows() -> dict[str, PublishedRule]:
    found = (
        _row(name, table, cells)
        for name, table in RULE_TABLES.items()
        for cells in read_table(table)
    )
    return {row.rule_id: row for row in found}


def rule_rows(
    table: str = "", topic: str = "", *, cited_only: bool = False
) -> tuple[PublishedRule, ...]:
    """Return the rules of a table and a topic, in the order of the tables; all if both are empty.

    Raises
    ------
    BadValue
        If there is no such table.

    Examples
    --------
    >>> [row.value for row in rule_rows("trace", "retail_limit", cited_only=True)][-1]
    'required'
    """
    if table and table not in RULE_TABLES:
        raise BadValue(f"There is no table of rules {table!r}; use {', '.join(RULE_TABLES)}.")
    return tuple(
        row
        for row in _rows().values()
        if table in ("", row.table)
        and topic in ("", row.topic)
        and (row.is_cited or not cited_only)
    )


def rule_row(rule_id: str) -> PublishedRule:
    """Return one rule by its id.

    Raises
    ------
    BadValue
        If no table has it.
    """
    row = _rows().get(rule_id)
    if row is None:
        raise BadValue(f"There is no rule {rule_id[:20]!r}; see the page Rules.", where="rule_id")
    return row


@cache
def safe_handling_parts() -> tuple[HandlingPart, ...]:
    """Return the six parts of the safe-handling block, heading first."""
    return tuple(
        HandlingPart(
            part=cells.text("part"), words=cells.text("mandated_words"),
            citation_of_words=cells.text("citation"), source=cells.origin(),
            status=cells.status(), note=cells.text("note"),
        )
        for cells in read_table(SAFE_HANDLING)
    )  # fmt: skip
