"""What the week of a farm call does to sales, from published figures of season and holidays.

The figures are of United States shops, each with its source; they fit other places less well. They
belong to a line whose usual pace is written down, that of an average week; a pace found from the
shop's own last weeks holds its season already and is left as it is.

The figure of 4 July is published against the summer norm and multiplies the summer figure. That of
Father's Day names nothing it is against, so it is taken as all that name nothing: against an
average week. It stands in place of the summer figure; a pace that holds its season goes without.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from collop.reference import SeasonRow, season_rows
from collop.shop.bench_figures import is_mince
from collop.shop.sales import Line

__all__ = ["fathers_day_note", "holiday_rows", "is_summer", "season_of"]

_SUMMER = "summer week index vs average week"
_STEAK_WORDS = ("steak", "fillet", "rump", "sirloin", "hanger", "skirt")
_LOIN_WORDS = ("fillet", "loin", "strip")
_MAY, _JUNE, _JULY, _SEPTEMBER = 5, 6, 7, 9
_JULY_4TH = 4
_Row = dict[str, Any]


@dataclass(frozen=True, slots=True)
class _Week:
    """A week from its Monday."""

    monday: date

    def holds(self, day: date) -> bool:
        """Tell whether a day falls in it."""
        return self.monday <= day <= self.monday + timedelta(days=6)


def _last_monday(year: int, month: int) -> date:
    day = date(year, month + 1, 1) - timedelta(days=1)
    return day - timedelta(days=day.weekday())


def _first_monday(year: int, month: int) -> date:
    day = date(year, month, 1)
    return day + timedelta(days=-day.weekday() % 7)


def is_summer(day: date) -> bool:
    """Tell whether a day lies from the last Monday of May to the first Monday of September.

    These are Memorial Day and Labor Day, the fifteen weeks the published figures speak of.

    Examples
    --------
    >>> is_summer(date(2026, 6, 15)), is_summer(date(2026, 9, 14))
    (True, False)
    """
    return _last_monday(day.year, _MAY) <= day <= _first_monday(day.year, _SEPTEMBER)


def _fathers_day(year: int) -> date:
    """Return the third Sunday of June."""
    first = date(year, _JUNE, 1)
    return first + timedelta(days=(6 - first.weekday()) % 7 + 14)


def _row_of(item: str, window: str) -> SeasonRow | None:
    found = season_rows("seasonality", item=item, cited_only=True)
    return next((row for row in found if row.window == window and row.index is not None), None)


def _told(what: str, row: SeasonRow, why: str) -> _Row:
    assert row.index is not None
    return {
        "what": what, "index": float(row.index), "why": f"{why}: {row.item}, {row.period}, US",
        "source": row.source.source_id,
    }  # fmt: skip


def _beef_item(line: Line) -> str:
    if is_mince(line):
        return "ground beef"
    name = line.name.casefold()
    return "steaks" if any(word in name for word in _STEAK_WORDS) else "all fresh beef"


def season_of(lines: Mapping[str, Line], monday: date) -> Iterator[_Row]:
    """Yield ``season`` rows for lines whose usual pace is written down.

    Beef in summer by what it is; else beef and pork by the quarter. Nothing is published for lamb
    and goat, and nothing is guessed.

    Parameters
    ----------
    lines : mapping of str to Line
        Lines of the call by id.
    monday : date
        The week.
    """
    quarter = f"Q{(monday.month + 2) // 3}"
    against_average = set(_fathers_lines(lines, monday))
    for key, line in lines.items():
        if line.usual is None or key in against_average:
            continue
        if line.species == "beef" and is_summer(monday):
            row = _row_of(_beef_item(line), _SUMMER)
            why = "summer week"
        else:
            row = _row_of(f"{line.species} per-capita quantity", quarter)
            why = f"quarter {quarter[1]}"
        if row is not None:
            yield _told(key, row, why)


def _fathers_lines(lines: Mapping[str, Line], monday: date) -> list[str]:
    """Return the lines that Father's Day moves in a week, by their ids."""
    if not _Week(monday).holds(_fathers_day(monday.year)):
        return []
    return [
        key for key, line in lines.items()
        if line.species == "beef" and line.usual is not None
        and any(word in line.name.casefold() for word in _LOIN_WORDS)
    ]  # fmt: skip


def fathers_day_note(lines: Mapping[str, Line], monday: date) -> str:
    """Return what is taken for granted of Father's Day; nothing in a week without it."""
    if not _fathers_lines(lines, monday):
        return ""
    return ("The figure of Father's Day does not say what it is above: it is taken as above an"
            " average week, in place of the summer figure, not on top of it.")  # fmt: skip


def holiday_rows(lines: Mapping[str, Line], monday: date) -> Iterator[_Row]:
    """Yield ``holidays`` rows of the weeks of 4 July and of Father's Day; see `season_of`."""
    week = _Week(monday)
    july = _row_of("all beef", "week of July 4 vs summer norm")
    father = _row_of("beef loin steaks", "week of Father's Day")
    fathers = set(_fathers_lines(lines, monday))
    for key, line in lines.items():
        if line.species != "beef":
            continue
        if july is not None and week.holds(date(monday.year, _JULY, _JULY_4TH)):
            yield _told(key, july, "week of 4 July")
        if father is not None and key in fathers:
            yield _told(key, father, "week of Father's Day")
