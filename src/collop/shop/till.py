"""What a slip comes to: tax by class of its lines, cash to five cents; kept with the slip.

Which class a line is of stands among the facts of its label. The rates, and how cash is rounded,
are settings. What was charged is a row of its own, so a later change of either moves no old slip.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from fractions import Fraction
from typing import Any

from sqlalchemy import func, insert, select
from sqlalchemy.engine import Connection

from collop.measures import Money, sum_money
from collop.rules.taxing import (
    Cash,
    ClassTax,
    Taxes,
    TaxLine,
    cash_total,
    percent_text,
    taxes,
)
from collop.shop.acts import Act
from collop.shop.day_tables import case_labels, slip_totals
from collop.shop.model import Settings
from collop.shop.tables import slip_lines, slips
from collop.shop.till_model import SlipTotals

__all__ = ["class_of", "keep_slip", "kept_totals", "tax_names", "totals_of"]


def tax_names(
    conn: Connection, chosen: Settings, case_ids: Iterable[str], *, until: datetime | None = None
) -> dict[str, str | None]:
    """Return the tax class of lines of the case, None for one that bears no tax.

    Parameters
    ----------
    conn : Connection
        Database.
    chosen : Settings
        Its classes tell how a name is written; one that is none of them stays as it is.
    case_ids : iterable of str
        Lines of the case.
    until : datetime, optional
        What was told of a line later does not count.
    """
    wanted = list(case_ids)
    last = (
        select(func.max(case_labels.c.seq))
        .where(case_labels.c.case_id.in_(wanted))
        .group_by(case_labels.c.case_id)
    )
    if until is not None:
        last = last.where(case_labels.c.at <= until)
    rows = conn.execute(
        select(case_labels.c.case_id, case_labels.c.facts).where(case_labels.c.seq.in_(last))
    )
    written = {one.name.casefold(): one.name for one in chosen.tax_classes}
    found: dict[str, str | None] = dict.fromkeys(wanted)
    for row in rows:
        name = row.facts.get("tax_class")
        found[row.case_id] = written.get(name.casefold(), name) if name else None
    return found


def totals_of(
    conn: Connection,
    chosen: Settings,
    lines: Sequence[tuple[str, Money]],
    *,
    deposit: Money,
    on: date,
) -> SlipTotals:
    """Return what lines come to by the settings of now.

    Parameters
    ----------
    conn : Connection
        Database, for the class of each line.
    chosen : Settings
        Rates, and the rules of the last cent and of cash.
    lines : sequence of (str, Money)
        Line of the case, and its money.
    deposit : Money
        Paid before.
    on : date
        Day of the sale.
    """
    names = tax_names(conn, chosen, {case_id for case_id, _ in lines})
    found = taxes(
        [TaxLine(names[case_id], money) for case_id, money in lines if money.minor],
        chosen.tax_classes, on=on, per=chosen.tax_per, rule=chosen.rounding,
        currency=chosen.currency,
    )  # fmt: skip
    return _totals(found, deposit, chosen.cash_rounding)


def _totals(found: Taxes, deposit: Money, cash_rule: str) -> SlipTotals:
    due = found.total - deposit
    return SlipTotals(
        before=found.before, taxes=found.classes, tax=found.tax, total=found.total, due=due,
        cash_rule=cash_rule, cash=cash_total(due, cash_rule), cautions=found.cautions,
    )  # fmt: skip


def keep_slip(
    act: Act, number: int, rows: Sequence[Mapping[str, Any]], totals: SlipTotals, *, deposit: Money
) -> None:
    """Write the slip of a booking, or of a sale, with its lines and what was charged.

    Parameters
    ----------
    act : Act
        The write in progress.
    number : int
        Of the booking.
    rows : sequence of mapping
        ``booking_line_id``, ``weighed`` (a count), ``unit`` and ``line_total`` (minor units).
    totals : SlipTotals
        What it comes to.
    deposit : Money
        What is taken off.
    """
    values = {
        "booking_number": number, "total": sum(row["line_total"] for row in rows),
        "deposit": deposit.minor, "at": act.at, "by_id": act.by, "key": act.key,
    }  # fmt: skip
    key = act.conn.execute(insert(slips).values(values)).inserted_primary_key
    assert key is not None
    if rows:
        act.conn.execute(insert(slip_lines), [{**row, "slip_number": key[0]} for row in rows])
    _keep_totals(act, int(key[0]), totals)


def _keep_totals(act: Act, slip_number: int, totals: SlipTotals) -> None:
    act.conn.execute(
        insert(slip_totals).values(
            slip_number=slip_number, tax=totals.tax.minor,
            taxes=[_kept(one) for one in totals.taxes], cash_rule=totals.cash_rule,
            cash_total=totals.cash.to_pay.minor, at=act.at, by_id=act.by, key=act.key,
        )
    )  # fmt: skip


def _kept(one: ClassTax) -> dict[str, Any]:
    percent = None if one.percent is None else percent_text(one.percent)
    return {"class": one.name, "percent": percent, "base": str(one.base), "tax": str(one.tax)}


def kept_totals(conn: Connection, slip_number: int, *, before: Money, deposit: Money) -> SlipTotals:
    """Return what was charged on a slip; one that was made without tax has none.

    Parameters
    ----------
    conn : Connection
        Database.
    slip_number : int
        Number of the slip.
    before, deposit : Money
        Sum of its lines, and what was paid before.
    """
    row = conn.execute(select(slip_totals).where(slip_totals.c.slip_number == slip_number)).first()
    if row is None:
        none = Taxes(
            classes=(), before=before, tax=Money(0, before.currency), total=before, cautions=()
        )
        return _totals(none, deposit, "off")
    classes = tuple(class_of(one, before.currency) for one in row.taxes)
    tax = Money(int(row.tax), before.currency)
    assert tax == sum_money([one.tax for one in classes], before.currency)
    due = before + tax - deposit
    to_pay = Money(int(row.cash_total), before.currency)
    return SlipTotals(
        before=before, taxes=classes, tax=tax, total=before + tax, due=due,
        cash_rule=row.cash_rule, cash=Cash(to_pay, to_pay - due),
    )  # fmt: skip


def class_of(kept: Mapping[str, Any], currency: str) -> ClassTax:
    """Return the tax of one class as it was kept with a slip."""
    percent = kept["percent"]
    return ClassTax(
        name=kept["class"],
        percent=None if percent is None else Fraction(percent),
        base=Money.of(kept["base"], currency),
        tax=Money.of(kept["tax"], currency),
    )
