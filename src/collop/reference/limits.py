"""Published limits of food safety, and the least a piece must be cooked to.

The figures are for customers' kitchens (consumer advice), which is never below the retail rule.
Local codes come first.

References
----------
.. [1] USDA FSIS, Safe minimum internal temperatures: whole cuts of beef, pork, lamb and veal
   145 degF and 3 min rest; ground 160 degF; poultry 165 degF. Source id ``FSIS_MIN``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from fractions import Fraction
from functools import cache
from math import ceil, ulp

from collop.errors import BadValue, ReferenceTableError
from collop.measures import Temperature
from collop.reference.figures import Kind
from collop.reference.sources import Row, Status
from collop.reference.tables import Column, Table, read_table

__all__ = [
    "LABELS",
    "MINIMUMS",
    "SAFETY_LIMITS",
    "CookMinimum",
    "LabelRow",
    "LimitRow",
    "MinimumRow",
    "cook_minimum",
    "label_rows",
    "limit_rows",
    "minimum_rows",
]

SAFETY_LIMITS = Table(
    "rules/safety_limits.csv",
    (
        Column("rule_id", required=True),
        Column("topic", required=True),
        Column("limit", required=True),
        Column("value", required=True),
        Column("unit"),
        Column("applies_to"),
        Column("time_or_frequency"),
    ),
    key="rule_id",
)
LABELS = Table(
    "rules/labels.csv",
    (
        Column("rule_id", required=True),
        Column("topic", required=True),
        Column("requirement", required=True),
        Column("value"),
        Column("unit"),
        Column("applies_to"),
        Column("exempt_or_when_not"),
    ),
    key="rule_id",
)
MINIMUMS = Table(
    "cooking/lethality.csv",
    (
        Column("kind", required=True, choices=("min_internal",)),
        Column("product", required=True),
        Column("organism"),
        Column("fat_pct"),
        Column("temp_f", kind=Kind.DECIMAL, required=True, low=130, high=212),
        Column("temp_c", kind=Kind.DECIMAL, required=True, low=54, high=100),
        Column("log_reduction"),
        Column("time_s", kind=Kind.WHOLE, required=True, low=0, high=3600),
        Column("D_min"),
        Column("z_c"),
        Column("value"),
        Column("unit"),
    ),
    key="product",
)
# how a piece is cooked, and the row that rules it
_RULE_OF = {
    "whole": "beef, pork, lamb, veal steaks, chops, roasts",
    "ground": "ground beef, pork, lamb, veal",
    "poultry": "poultry: whole, pieces, ground",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitRow(Row):
    """One published limit; `value` is a figure or words, as in the table."""

    rule_id: str
    topic: str
    limit: str
    value: str
    unit: str
    applies_to: str
    time_or_frequency: str

    @property
    def figure(self) -> Decimal | None:
        """Return `value` as a number, None if it is words."""
        plain = re.fullmatch(r"-?\d+(\.\d+)?", self.value, re.ASCII)
        return Decimal(self.value) if plain else None


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelRow(Row):
    """One published requirement on labels."""

    rule_id: str
    topic: str
    requirement: str
    value: str
    applies_to: str
    exempt: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MinimumRow(Row):
    """One published minimum temperature.

    Parameters
    ----------
    product : str
        What it rules.
    temperature : Temperature
        From the column in degF, in which the rule is written.
    printed_celsius : Decimal
        As the source prints it [degC], rounded to 0.1.
    rest_s : int
        Rest that belongs to the rule [s].
    """

    product: str
    temperature: Temperature
    printed_celsius: Decimal
    rest_s: int


@dataclass(frozen=True, slots=True)
class CookMinimum:
    """The least a piece must be cooked to.

    Parameters
    ----------
    temperature : Temperature
        Published minimum at the coldest point.
    rest_min : int
        Rest before carving that the rule asks for [min].
    rule : str
        What the rule applies to, as published.
    source : str
        Citation.
    status : Status
        How the figure was obtained.
    """

    temperature: Temperature
    rest_min: int
    rule: str
    source: str
    status: Status

    @property
    def whole_celsius(self) -> int:
        """Return the minimum in whole degC, rounded up: 160 degF is 72, not 71."""
        return int(self.temperature.in_celsius(3).to_integral_value(ROUND_CEILING))

    @property
    def whole_fahrenheit(self) -> int:
        """Return the minimum in whole degF, rounded up."""
        return int(self.temperature.in_fahrenheit(3).to_integral_value(ROUND_CEILING))

    def is_missed_by(self, celsius: float) -> bool:
        """Tell whether a core [degC] is under the rule, compared as the rule is written: in degF.

        Nothing is rounded before it is compared. Two steps of a float are left for the sum that
        turns degF into degC, which no thermometer shows: 145 degF typed is at the rule, and
        144.9999 degF is under it.

        Examples
        --------
        >>> rule = cook_minimum("ground")
        >>> [rule.is_missed_by((f - 32) / 1.8) for f in (159.9999, 160, 160.0001)]
        [True, False, False]
        """
        least = float((Fraction(self.temperature.in_fahrenheit(6)) - 32) * Fraction(5, 9))
        return not celsius >= least - 2 * ulp(least)

    def text(self) -> str:
        """Return e.g. ``63 °C (145 °F), then 3 min rest``, never below the rule."""
        rest = f", then {self.rest_min} min rest" if self.rest_min else ""
        return f"{self.whole_celsius} °C ({self.whole_fahrenheit} °F){rest}"


@cache
def _limits() -> dict[str, LimitRow]:
    names = tuple(column.name for column in SAFETY_LIMITS.columns)
    return {
        cells.text("rule_id"): LimitRow(
            **{name: cells.text(name) for name in names},
            source=cells.origin(),
            status=cells.status(),
            note=cells.text("note"),
        )
        for cells in read_table(SAFETY_LIMITS)
    }


@cache
def _labels() -> tuple[LabelRow, ...]:
    names = ("rule_id", "topic", "requirement", "value", "applies_to")
    return tuple(
        LabelRow(
            **{name: cells.text(name) for name in names},
            exempt=cells.text("exempt_or_when_not"),
            source=cells.origin(),
            status=cells.status(),
            note=cells.text("note"),
        )
        for cells in read_table(LABELS)
    )


@cache
def _minimums() -> dict[str, MinimumRow]:
    return {
        cells.text("product"): MinimumRow(
            product=cells.text("product"),
            temperature=Temperature.fahrenheit(cells.decimal("temp_f")),
            printed_celsius=cells.decimal("temp_c"),
            rest_s=cells.whole("time_s"),
            source=cells.origin(),
            status=cells.status(),
            note=cells.text("note"),
        )
        for cells in read_table(MINIMUMS)
    }


def minimum_rows() -> tuple[MinimumRow, ...]:
    """Return the published minimum temperatures."""
    return tuple(_minimums().values())


def limit_rows(topic: str = "", *, cited_only: bool = False) -> tuple[LimitRow, ...]:
    """Return the limits of a topic, e.g. ``home_cooking``; of all topics if empty."""
    return tuple(
        row
        for row in _limits().values()
        if topic in ("", row.topic) and (row.is_cited or not cited_only)
    )


def label_rows(topic: str = "") -> tuple[LabelRow, ...]:
    """Return the label rules of a topic, e.g. ``allergen``; of all topics if empty."""
    return tuple(row for row in _labels() if topic in ("", row.topic))


def cook_minimum(cook_as: str) -> CookMinimum:
    """Return the published minimum for a way a piece is made up.

    Parameters
    ----------
    cook_as : str
        ``whole`` (intact beef, pork, lamb, veal), ``ground`` (mince, links, patties) or
        ``poultry`` (any bird, whole or ground).

    Raises
    ------
    BadValue
        If `cook_as` is another name; there is no default, as it would be a guess on safety.

    Notes
    -----
    Meat that was needled, injected, rolled or stuffed is no intact piece: use ``ground``. The
    sources name beef, pork, lamb and veal; for goat the same figures are common practice, no
    published source.

    Examples
    --------
    >>> cook_minimum("whole").text()
    '63 °C (145 °F), then 3 min rest'
    >>> cook_minimum("ground").text()
    '72 °C (160 °F)'

    References
    ----------
    .. [1] USDA FSIS, Safe minimum internal temperatures. Source id ``FSIS_MIN``.
    """
    if cook_as not in _RULE_OF:
        names = ", ".join(_RULE_OF)
        raise BadValue(f"No minimum temperature is known for {cook_as!r}; use one of {names}.")
    row = _minimums().get(_RULE_OF[cook_as])
    if row is None or not row.is_cited:  # a recalled figure must not rule what people eat
        raise ReferenceTableError(
            f"{MINIMUMS.path} has no cited row for {_RULE_OF[cook_as]!r}; restore it."
        )
    return CookMinimum(
        temperature=row.temperature,
        rest_min=ceil(row.rest_s / 60),
        rule=row.product,
        source=row.citation(),
        status=row.status,
    )
