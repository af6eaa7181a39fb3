"""Up to 90 days of the Day Book for the inspector, and its lines as a table for a spreadsheet."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime, time, timedelta
from typing import Any

from sqlalchemy.engine import Connection

from collop.errors import BadValue
from collop.shop.day_checks_lines import day_lines
from collop.shop.day_cold import hours_of, load_cold
from collop.shop.day_gaps import all_gaps, checked_day
from collop.shop.day_mince import load_mince
from collop.shop.day_model import InspectorBook
from collop.shop.day_places import load_places, rounds_of
from collop.shop.exporting import csv_text
from collop.shop.model import Settings

__all__ = ["COLUMNS", "MOST_DAYS", "as_csv", "inspector_book"]

#: The most days of one print.
MOST_DAYS = 90
COLUMNS = (
    "tile", "line", "done_at", "written_at", "late_entry", "name", "said", "limit", "source",
    "over", "action", "told", "by", "corrects", "corrected_by", "words",
)  # fmt: skip
_ORDER = ("cold", "clean", "receive", "mince", "scale", "probe", "note")


def inspector_book(
    conn: Connection, span: tuple[date, date], chosen: Settings, now: datetime
) -> InspectorBook:
    """Return the days of `span`, both ends included, by tile with all gaps.

    Raises
    ------
    BadValue
        If they are the wrong way round, over 90, or before any book was kept.
    """
    first, last = span
    checked_day(first)
    if first > last:
        raise BadValue("The first day comes after the last; turn them round.", where="from")
    if (last - first).days >= MOST_DAYS:
        raise BadValue(f"A print holds at most {MOST_DAYS} days; choose fewer.", where="from")
    places, hours = load_places(conn), rounds_of(conn, chosen)
    cold = load_cold(conn, (places, hours), chosen, span, now)
    lines = day_lines(
        conn, datetime.combine(first, time()), datetime.combine(last, time()) + timedelta(days=1)
    )
    gaps = all_gaps(conn, cold, span, load_mince(conn, now, chosen))
    days = (first + timedelta(days=step) for step in range((last - first).days + 1))
    return InspectorBook(
        first=first, last=last, at=now, gaps=gaps, over=tuple(cold.over(first, last)),
        lines={tile: tuple(line for line in lines if line.tile == tile) for tile in _ORDER},
        rounds=hours_of(hours, now.date()), open_days=sum(map(chosen.is_open, days)),
        begun=min((spans[0][0].date() for spans in places.spans.values()), default=None),
    )  # fmt: skip


def as_csv(rows: Iterable[Mapping[str, Any]]) -> str:
    """Return rows as a table of text, with nothing a spreadsheet would take for a formula."""
    return csv_text(COLUMNS, ([row[name] for name in COLUMNS] for row in rows))
