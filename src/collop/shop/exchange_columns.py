"""How each column of the shop is written in a table of text, and read back to the same value.

========== ================================================================================
nothing    an empty cell; in a column that must be filled an empty cell is empty text
text       as it is; text that is empty in a column that may be, or begins with a backslash
           or like a formula, gets a backslash before it
weight     exact decimal and unit: ``4.85 lb``; where its own unit has no end, in ``kg``
money      decimal and currency: ``40.74 USD``
warmth     ``41 degF``; each count of a temperature ends in degF
time, day  ISO 8601, shop-local: ``2026-06-09T08:00:00``, ``2026-06-09``
yes or no  ``yes``, ``no``
JSON       as compact text
========== ================================================================================
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from typing import Any

from sqlalchemy import JSON, Boolean, Column, Date, DateTime, Integer, String, Table

from collop.errors import BadValue
from collop.measures import Money, Temperature, Weight, WeightUnit
from collop.shop import access_tables
from collop.shop.exporting import FORMULA_STARTS
from collop.shop.tables import metadata

__all__ = ["MONEY", "TABLES", "WARMTH", "WEIGHTS", "Codec", "codecs_of"]

#: Every table of the shop that may leave it, those that are pointed at first.
TABLES: Mapping[str, Table] = {
    table.name: table for table in metadata.sorted_tables if table not in access_tables.PRIVATE
}
#: Columns that hold weights, as whole counts.
WEIGHTS = frozenset({
    "bench_marks.weight", "booking_lines.weight", "booking_wants.weight", "break_events.gap",
    "breaks.start", "case_lines.usual_per_day", "cutting_tests.after", "cutting_tests.before",
    "deliveries.invoiced", "deliveries.weighed", "ledger_entries.delta", "line_weighings.short",
    "line_weighings.weighed", "line_works.after", "line_works.before", "lock_up_lines.counted",
    "lock_up_lines.expected", "lock_up_lines.weight", "lot_links.count", "lots.weight_in",
    "making_events.weight", "making_parts.weight", "pieces.weight", "quote_lines.weight",
    "rail_claims.weight", "returned_lines.weight", "slip_lines.weighed", "stock_counts.counted",
    "stock_counts.expected", "stock_mark_lines.count", "tares.weight", "tickets.net",
    "tickets.tare", "weighings.weight",
})  # fmt: skip
#: Columns that hold money, in minor units.
MONEY = frozenset({
    "booking_lines.line_total", "bookings.deposit", "deliveries.haulage", "freezer_orders.total",
    "lock_up_lines.at_risk", "payments.amount", "quote_lines.line_total", "quotes.total",
    "returned_lines.money", "returned_lines.tax", "slip_lines.line_total", "slip_totals.cash_total",
    "slip_totals.tax", "slips.deposit", "slips.total", "tickets.total",
})  # fmt: skip
#: Columns that hold temperatures, as counts.
WARMTH = frozenset({
    "clean_downs.room", "cold_places.limit_count", "day_checks.reading", "deliveries.temperature",
})  # fmt: skip

# a spreadsheet works a cell out that begins with one of these; and the guard itself
_GUARDED = (*FORMULA_STARTS, "\\")
_DECIMAL = re.compile(r"-?[0-9]{1,18}(?:\.[0-9]{1,30})?")
_WHOLE = re.compile(r"-?[0-9]{1,19}")
_MOST = 2**63
_LONGEST_TEXT = 100_000
_SHOWN = 40


@dataclass(frozen=True, slots=True)
class Codec:
    """How one column is written and read: `write` gets value and row, `read` text and currency."""

    name: str
    column: Column[Any]
    write: Callable[[Any, Mapping[str, Any]], str]
    read: Callable[[str], Any]


def _shown(text: str) -> str:
    return repr(text if len(text) <= _SHOWN else f"{text[:_SHOWN]}...")


def _ends(value: Fraction) -> str | None:
    """Return an exact value as a decimal, None if it has no end."""
    bottom, places = value.denominator, 0
    while bottom % 10 == 0:
        bottom, places = bottom // 10, places + 1
    for prime in (2, 5):
        while bottom % prime == 0:
            bottom, places = bottom // prime, places + 1
    if bottom != 1:
        return None
    whole = value * 10**places
    return f"{Decimal(int(whole)).scaleb(-places):f}"


def weight_text(count: int, unit: str | None) -> str:
    """Return an exact weight: in its unit if that ends, else in kilograms, which always do.

    Examples
    --------
    >>> weight_text(45359237000, "lb")
    '1 lb'
    >>> weight_text(1, "lb")
    '0.00000000001 kg'
    """
    told = WeightUnit(unit) if unit in {one.value for one in WeightUnit} else WeightUnit.KG
    weight = Weight(count, told)
    own = _ends(weight.exact(told))
    if own is not None and len(own.partition(".")[2]) <= 6:
        return f"{own} {told}"
    return f"{_ends(weight.exact(WeightUnit.KG))} kg"


def _read_weight(text: str) -> int:
    amount, _, unit = text.partition(" ")
    if not _DECIMAL.fullmatch(amount) or unit not in {one.value for one in WeightUnit}:
        raise BadValue(f"{_shown(text)} is no weight; write it like 4.85 lb or 2.2 kg")
    try:
        return _in_range(Weight.of(amount, WeightUnit(unit)).count)
    except BadValue as error:
        raise BadValue(error.message.rstrip(".")) from None


def _in_range(value: int) -> int:
    if not -_MOST <= value < _MOST:
        raise BadValue("the figure is larger than the shop can keep")
    return value


def _money(currency: str) -> tuple[Callable[..., str], Callable[[str], int]]:
    def write(minor: int, _row: object) -> str:
        return f"{Money(minor, currency)} {currency}"

    def read(text: str) -> int:
        amount, _, told = text.partition(" ")
        if not _DECIMAL.fullmatch(amount) or told != currency:
            raise BadValue(f"{_shown(text)} is no amount of {currency}; write it like 4.85 "
                           f"{currency}")  # fmt: skip
        try:
            return _in_range(Money.of(amount, currency).minor)
        except BadValue as error:
            raise BadValue(error.message.rstrip(".")) from None

    return write, read


def _write_warmth(count: int, _row: object) -> str:
    start = Temperature.fahrenheit(0).count
    return f"{_ends(Fraction(count - start, Temperature.fahrenheit(1).count - start))} degF"


def _read_warmth(text: str) -> int:
    amount, _, unit = text.partition(" ")
    if not _DECIMAL.fullmatch(amount) or unit != "degF":
        raise BadValue(f"{_shown(text)} is no temperature; write it like 41 degF")
    try:
        return Temperature.fahrenheit(amount).count
    except BadValue as error:
        raise BadValue(error.message.rstrip(".")) from None


def _read_moment(text: str) -> datetime:
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        raise BadValue(f"{_shown(text)} is no time; write it like 2026-06-09T08:00:00") from None
    if found.tzinfo is not None or found.isoformat() != text:
        raise BadValue(f"{_shown(text)} is no shop time; write it like 2026-06-09T08:00:00, "
                       "without a zone")  # fmt: skip
    return found


def _read_day(text: str) -> date:
    try:
        found = date.fromisoformat(text)
    except ValueError:
        raise BadValue(f"{_shown(text)} is no day; write it like 2026-06-09") from None
    if found.isoformat() != text:
        raise BadValue(f"{_shown(text)} is no day; write it like 2026-06-09")
    return found


def _read_yes(text: str) -> bool:
    if text not in {"yes", "no"}:
        raise BadValue(f"{_shown(text)} is neither yes nor no; write one of them")
    return text == "yes"


def _read_whole(text: str) -> int:
    if not _WHOLE.fullmatch(text):
        raise BadValue(f"{_shown(text)} is no whole number; write it in figures alone")
    return _in_range(int(text))


def _no_number(text: str) -> float:
    raise ValueError(text)


def _read_json(text: str) -> Any:  # noqa: ANN401 -- JSON is untyped
    try:
        return json.loads(text, parse_constant=_no_number)
    except (ValueError, RecursionError):
        raise BadValue(f"{_shown(text)} is no JSON; leave this cell as it was exported") from None


def _write_json(value: Any, _row: object) -> str:  # noqa: ANN401 -- JSON is untyped
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))


def _text(column: Column[Any]) -> tuple[Callable[..., str], Callable[[str], str]]:
    length = getattr(column.type, "length", None) or _LONGEST_TEXT

    def write(value: str, _row: object) -> str:
        is_taken = value.startswith(_GUARDED) or (column.nullable and value == "")
        return f"\\{value}" if is_taken else value

    def read(text: str) -> str:
        plain = text.removeprefix("\\")
        if len(plain) > length:
            raise BadValue(f"the text has {len(plain)} characters, and {length} is the most")
        return plain

    return write, read


_PLAIN: tuple[tuple[type, Any, Any], ...] = (
    (JSON, _write_json, _read_json),
    (Boolean, lambda value, _row: "yes" if value else "no", _read_yes),
    (DateTime, lambda value, _row: value.isoformat(), _read_moment),
    (Date, lambda value, _row: value.isoformat(), _read_day),
    (Integer, lambda value, _row: str(value), _read_whole),
)


def _ways(table: Table, column: Column[Any], currency: str) -> tuple[Any, Any]:
    name = f"{table.name}.{column.name}"
    if name in WEIGHTS:
        return (lambda value, row: weight_text(value, row.get("unit"))), _read_weight
    if name in MONEY:
        return _money(currency)
    if name in WARMTH:
        return _write_warmth, _read_warmth
    for kind, write, read in _PLAIN:
        if isinstance(column.type, kind):
            return write, read
    assert isinstance(column.type, String)
    return _text(column)


def codecs_of(table: Table, currency: str) -> tuple[Codec, ...]:
    """Return how each column of a table is written and read, in the order of the table."""
    return tuple(
        Codec(column.name, column, *_ways(table, column, currency)) for column in table.columns
    )
