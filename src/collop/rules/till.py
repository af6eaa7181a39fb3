"""The till's sum from JSON: lines, tax by class, and what is paid in cash.

The sums are those of `collop.rules.taxing`; what is of which class and at which rate is the shop's
own to say, never advice of ours.
"""

from __future__ import annotations

from datetime import date
from typing import Any

from collop.measures import Money, Rounding
from collop.rules.taxing import CASH_RULES, TAX_PER, TaxLine, cash_total, percent_text, taxes
from collop.rules.taxing_reading import MOST_CLASSES, read_classes, read_tax_name
from collop.wire import SCHEMA_DRAFT, Reader, all_of, object_of

__all__ = ["SCHEMAS", "till"]

_SCHEMA, _PLAN_SCHEMA = "collop.till/1", "collop.till.plan/1"
_KEYS = ("schema", "name", "on", "currency", "lines", "tax_classes", "per", "rounding", "cash",
         "paid")  # fmt: skip
_MOST_LINES = 500
_HIGHEST = "10000000"


def _day(top: Reader) -> date:
    text = top.text("on")
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise top.fail("on", "is no day; write it like 2026-06-13.") from None


def _money(row: Reader, key: str, currency: str) -> Money:
    return Money.of(row.decimal(key, high=_HIGHEST), currency)


def _line(value: object, number: int, currency: str) -> TaxLine:
    row = Reader(value, f"$.lines[{number}]", ("what", "amount", "tax_class"))
    row.text("what", "")
    named = row.text("tax_class", None)
    amount = _money(row, "amount", currency)
    return TaxLine(None if named is None else read_tax_name(named), amount)


def till(problem: object) -> dict[str, Any]:
    """Return the sum of a slip: tax by class, total, and the cash to pay.

    Parameters
    ----------
    problem : object
        Parsed JSON of ``collop.till/1``: ``lines`` of ``{"what", "amount", "tax_class"}``,
        ``tax_classes`` as a shop sets them, the day ``on``, ``per`` (``invoice`` or ``item``),
        ``rounding``, ``cash`` (``off``, ``nearest-5``, ``down-5``) and what was ``paid`` before.
        Money is text.

    Returns
    -------
    dict
        ``collop.till.plan/1``; money as text.

    Raises
    ------
    BadValue, ProblemError
        With the path of the first bad value.

    Examples
    --------
    >>> till({"schema": "collop.till/1", "on": "2026-06-13", "cash": "nearest-5",
    ...       "lines": [{"amount": "19.93"}]})["cash"]["to_pay"]
    '19.95'
    """
    top = Reader(problem, "$", _KEYS)
    top.choice("schema", [_SCHEMA])
    currency, on = top.currency(), _day(top)
    rows = top.items("lines")
    if not 1 <= len(rows) <= _MOST_LINES:
        raise top.fail("lines", f"must be 1 to {_MOST_LINES} lines.")
    lines = [_line(value, number, currency) for number, value in enumerate(rows)]
    classes = read_classes(top.items("tax_classes", []))
    rule = Rounding(top.choice("rounding", [one.value for one in Rounding], "half-up"))
    cash = top.choice("cash", CASH_RULES, "off")
    found = taxes(
        lines, classes, on=on, per=top.choice("per", TAX_PER, "invoice"), rule=rule,
        currency=currency,
    )  # fmt: skip
    paid = _money(top, "paid", currency) if top.has("paid") else Money(0, currency)
    due = found.total - paid
    handed = cash_total(due, cash)
    return {
        "schema": _PLAN_SCHEMA, "name": top.text("name", "") or "", "on": on.isoformat(),
        "currency": currency, "rounding": rule.value,
        "before_tax": str(found.before),
        "taxes": [
            {
                "tax_class": one.name,
                "percent": None if one.percent is None else percent_text(one.percent),
                "base": str(one.base), "tax": str(one.tax),
            }
            for one in found.classes
        ],
        "tax": str(found.tax), "total": str(found.total), "paid": str(paid), "due": str(due),
        "cash": {"rule": cash, "to_pay": str(handed.to_pay), "rounding": str(handed.rounding)},
        "cautions": list(found.cautions),
    }  # fmt: skip


_TEXT = {"type": "string"}
_MAYBE_TEXT = {"type": ["string", "null"]}
_SUM = {"type": "string", "pattern": r"^-?[0-9]+(\.[0-9]+)?$"}
_AMOUNT = {"type": "string", "pattern": r"^[0-9]+(\.[0-9]+)?$"}
_CLASS = object_of(
    "name percent",
    {"name": _TEXT, "percent": _AMOUNT, "from": _MAYBE_TEXT, "until": _MAYBE_TEXT},
)
_PROBLEM = {
    "$schema": SCHEMA_DRAFT,
    "title": _SCHEMA,
    **object_of(
        "schema on lines",
        {
            "schema": {"const": _SCHEMA},
            "name": _MAYBE_TEXT,
            "on": _TEXT,
            "currency": _MAYBE_TEXT,
            "lines": {
                "type": "array", "minItems": 1, "maxItems": _MOST_LINES,
                "items": object_of(
                    "amount", {"what": _MAYBE_TEXT, "amount": _AMOUNT, "tax_class": _MAYBE_TEXT}
                ),
            },
            "tax_classes": {"type": "array", "maxItems": MOST_CLASSES, "items": _CLASS},
            "per": {"enum": [*TAX_PER, None]},
            "rounding": {"enum": [*(one.value for one in Rounding), None]},
            "cash": {"enum": [*CASH_RULES, None]},
            "paid": _AMOUNT,
        },
    ),
}  # fmt: skip
_PLAN = {
    "$schema": SCHEMA_DRAFT,
    "title": _PLAN_SCHEMA,
    **all_of(
        {
            "schema": {"const": _PLAN_SCHEMA},
            "name": _TEXT, "on": _TEXT, "currency": _TEXT,
            "rounding": {"enum": [one.value for one in Rounding]},
            "before_tax": _SUM,
            "taxes": {
                "type": "array",
                "items": all_of(
                    {"tax_class": _TEXT, "percent": _MAYBE_TEXT, "base": _SUM, "tax": _SUM}
                ),
            },
            "tax": _SUM, "total": _SUM, "paid": _SUM, "due": _SUM,
            "cash": all_of({"rule": {"enum": list(CASH_RULES)}, "to_pay": _SUM,
                            "rounding": _SUM}),
            "cautions": {"type": "array", "items": _TEXT},
        }
    ),
}  # fmt: skip
#: JSON Schemas of the problem and the plan, by name.
SCHEMAS = {"till": _PROBLEM, "till.plan": _PLAN}
