"""The takings of a day as plain JSON, and as CSV with named columns."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from collop.rules.taxing import percent_text
from collop.shop.exporting import guarded
from collop.shop.selling_model import OnAccount, Returned, Takings

__all__ = ["TAKINGS_COLUMNS", "accounts_json", "takings_csv", "takings_json"]

#: Columns of the CSV: a row for each slip, each return, and each way of paying.
TAKINGS_COLUMNS = (
    "day", "kind", "id", "name", "at", "lines", "tax", "total", "deposit", "paid", "on_account",
    "due", "came_in", "went_out", "note",
)  # fmt: skip


def takings_json(found: Takings) -> dict[str, Any]:
    """Return takings as plain JSON: money as decimal text."""
    return {
        "day": found.day.isoformat(),
        "currency": found.total.currency,
        "lines": str(found.lines), "tax": str(found.tax), "total": str(found.total),
        "returned": str(found.returned), "returned_tax": str(found.returned_tax),
        "net": str(found.net),
        "taxes": [
            {"tax_class": one.name, "percent": _percent(one.percent), "base": str(one.base),
             "tax": str(one.tax)}
            for one in found.taxes
        ],
        "ways": [
            {"way": way, "in": str(came), "out": str(went)}
            for way, (came, went) in found.ways.items()
        ],
        "deposits": _deposits(found),
        "paid_for_earlier_slips": str(found.earlier),
        "cash_rounding": str(found.rounding),
        "cash_beside_the_float": str(found.drawer),
        "slips": [
            {"slip": one.money.booking_id, "name": one.money.name, "kind": one.money.kind,
             "at": f"{one.money.at:%Y-%m-%dT%H:%M:%S}", "lines": str(one.money.lines),
             "tax": str(one.money.tax), "total": str(one.money.total),
             "deposit": str(one.money.deposit), "paid": str(one.money.paid),
             "on_account": str(one.money.on_account), "due": str(one.money.due)}
            for one in found.slips
        ],
        "returns": [
            {"line": one.line_id, "name": one.name, "weight": _weight(one),
             "unit": one.weight.unit.value, "money": str(one.money), "tax": str(one.tax),
             "why": one.why}
            for one in found.returns
        ],
    } | _open(found)  # fmt: skip


def _deposits(found: Takings) -> dict[str, str]:
    return {
        "taken": str(found.deposits_taken), "used": str(found.deposits_used),
        "given_back": str(found.deposits_back), "kept": str(found.deposits_kept),
        "used_and_not_noted": str(found.deposits_not_noted),
        "given_back_and_not_noted": str(found.deposits_back_not_noted),
    }  # fmt: skip


def _open(found: Takings) -> dict[str, list[str]]:
    """Return the slips of the day on which money is still open, either way."""
    return {
        "unpaid": [one.booking_id for one in found.unpaid],
        "to_give_back": [one.booking_id for one in found.to_give_back],
        "deposit_not_noted": [one.booking_id for one in found.without_deposit],
        "given_back_and_not_noted": [one.booking_id for one in found.back_not_noted],
    }


def _percent(percent: Fraction | None) -> str | None:
    return None if percent is None else percent_text(percent)


def _weight(one: Returned) -> str:
    return f"{one.weight.decimal(one.weight.unit, 3):f}"


def accounts_json(found: tuple[OnAccount, ...]) -> list[dict[str, Any]]:
    """Return who pays later as plain JSON."""
    return [
        {"name": one.name, "due": str(one.due),
         "slips": [{"slip": slip.booking_id, "at": f"{slip.at:%Y-%m-%dT%H:%M:%S}",
                    "total": str(slip.total), "due": str(slip.on_account)} for slip in one.slips]}
        for one in found
    ]  # fmt: skip


def takings_csv(found: Takings) -> str:
    """Return takings as CSV with a line of column names.

    Money of returns is below zero, so that the columns add up to the net of the day.
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(TAKINGS_COLUMNS)
    writer.writerows(_rows(found))
    return text.getvalue()


def _rows(found: Takings) -> Iterator[tuple[str, ...]]:
    day = found.day.isoformat()
    for slip in found.slips:
        one = slip.money
        yield (day, "slip", one.booking_id, guarded(one.name), f"{one.at:%H:%M}", str(one.lines),
               str(one.tax), str(one.total), str(one.deposit), str(one.paid),
               str(one.on_account), str(one.due), "", "", "")  # fmt: skip
    for back in found.returns:
        money = [str(amount * -1) for amount in (back.money, back.tax, back.total)]
        yield (day, "return", back.line_id, guarded(back.name), f"{back.at:%H:%M}", *money, "", "",
               "", "", "", "", guarded(back.why))  # fmt: skip
    for way, (came, went) in found.ways.items():
        yield (day, "way", way, *[""] * 9, str(came), str(went), "")  # fmt: skip
