"""Published tables of yields as they were printed, with their source, and whether they close."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from urllib.parse import urlencode

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from collop.carcass import Basis, Closing, closes, published_misprints, published_table
from collop.carcass import published_tables as table_ids
from collop.errors import BadValue
from collop.reference import ChickenPart, Span, YieldRow
from collop.web.forms import Faults
from collop.web.rendering import page
from collop.web.room import Queried
from collop.web.yields_carcass import MARKS
from collop.words import gettext as _

__all__ = ["router"]

router = APIRouter()
_MOST_PARTS = 20
_ALIVE_HANGING = re.compile(r"_(?P<alive>[0-9]{3,4})_(?P<hanging>[0-9]{2,3})(?:_|$)")
#: Printed shares may miss the whole by their rounding; the combined yields close them.
_SLACK = Decimal("0.5")


@dataclass(frozen=True, slots=True)
class Line:
    """One printed line: what, of which large cut, weight and share as printed, note and basis."""

    of: str
    what: str
    weight: str
    share: str
    note: str
    basis: Basis


@router.get("/yields/tables", response_class=HTMLResponse)
def show_tables(request: Request, fields: Queried) -> HTMLResponse:
    """Show one published table, or the list of them and of known misprints."""
    asked, faults = fields.one("table"), Faults()
    table = faults.take("table", lambda: published_table(asked), None) if asked else None
    rows: tuple[YieldRow | ChickenPart, ...] = table.rows if table else ()
    return page(
        request, "yields_tables.html", status=422 if faults else 200, faults=faults,
        asked=asked, titles={one: _title(one) for one in table_ids()},
        lines=[_line(row) for row in rows],
        sources=list(dict.fromkeys(row.source.text() for row in rows)),
        closing=_closing(asked) if table else None, combine=_to_combine(asked, rows),
        misprints=[(_named(one.what), one) for one in published_misprints()], marks=MARKS,
    )  # fmt: skip


def _title(table_id: str) -> str:
    """Return animal, number among its tables, and what the table is of: ``beef 2: 1300 lb alive``.

    Who printed it, and under which title, stands with its sources.
    """
    table = published_table(table_id)
    own = [one for one in table_ids() if published_table(one).species == table.species]
    weighed = _ALIVE_HANGING.search(table_id)
    if weighed:
        of = _("%(alive)s lb alive, %(hanging)s lb hanging") % weighed.groupdict()
    elif table.species == "chicken":
        of = _("parts of a bird")
    else:
        of = _("shares of the large cuts") if "PRIMALS" in table_id else _("cuts for the case")
    return f"{_(table.species)} {own.index(table_id) + 1}: {of}"


def _named(what: str) -> str:
    """Return what was summed, a table by its title instead of its id."""
    table_id, comma, rest = what.partition(", ")
    return f"{_title(table_id)}{comma}{rest}" if table_id in table_ids() else what


def _closing(table_id: str) -> Closing | None:
    try:
        return closes(table_id)
    except BadValue:  # it prints no sum
        return None


def _line(row: YieldRow | ChickenPart) -> Line:
    if isinstance(row, ChickenPart):
        weight = "" if row.weight is None else f"{_span(row.weight)} {row.unit}"
        share = "" if row.pct_of_base is None else f"{_span(row.pct_of_base)} % of {row.base}"
        return Line(row.base, row.part, weight, share, row.note, Basis.of(row))
    weight = "" if row.lb is None else f"{row.lb} lb"
    return Line(row.primal, row.item, weight, _share(row), row.note, Basis.of(row))


def _share(row: YieldRow) -> str:
    if row.pct_of_primal is not None:
        return f"{row.pct_of_primal} % of the {row.primal}"
    return "" if row.primal_pct is None else f"{_span(row.primal_pct)} % of the whole"


def _span(span: Span) -> str:
    if span.high is None:
        return f"{span.low} and over"
    return f"{span.low}" if span.low == span.high else f"{span.low} to {span.high}"


def _to_combine(table_id: str, rows: Sequence[YieldRow | ChickenPart]) -> str:
    """Return the address of the combined yields with this table's large cuts filled in.

    Empty where a line is remembered, where the table prints no share for each large cut, or where
    they do not make a whole.
    """
    shares: dict[str, Decimal] = {}
    for row in rows:
        if isinstance(row, ChickenPart) or row.primal_pct is None or not row.is_cited:
            return ""
        if row.primal_pct.low != row.primal_pct.high:
            return ""
        shares[row.primal] = row.primal_pct.low
    if not 2 <= len(shares) <= _MOST_PARTS or abs(sum(shares.values(), Decimal(-100))) > _SLACK:
        return ""
    typed = {"name": _title(table_id)[:80], "source": rows[0].source.text()[:200]}
    for place, (part, share) in enumerate(shares.items(), 1):
        typed |= {f"part{place}": part, f"pub{place}": f"{share}"}
    return f"/yields/combine?{urlencode(typed)}"
