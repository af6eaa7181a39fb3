"""Cover: how many days each line of the case lasts at its present pace, and how long it keeps."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from collop.measures import decimal_of
from collop.web.pictures import Table
from collop.words import gettext as _

if TYPE_CHECKING:
    from collop.shop import CaseLine
    from collop.web.rendering import Shown

__all__ = ["MOST_DAYS", "Cover", "CoverBar", "cover_picture"]

#: Bars end here [days]; what lasts longer has its figure, and its bar is broken.
MOST_DAYS = 14
_LEAST_DAYS = 4
_PLACES = 2


@dataclass(frozen=True, slots=True)
class CoverBar:
    """One line of the case; `sold`, `late` and `keeps` are per cent of the picture's width.

    Parameters
    ----------
    line : CaseLine
        The line.
    days : Decimal
        Its cover, one decimal.
    sold : Decimal
        How far the bar goes until the line sells out or its day is over.
    late : Decimal
        How far it goes on past that day.
    keeps : Decimal or None
        Where its day is; None where that is outside, or nobody knows it.
    is_cut : bool
        Whether it lasts longer than the picture is wide.
    """

    line: CaseLine
    days: Decimal
    sold: Decimal
    late: Decimal
    keeps: Decimal | None
    is_cut: bool


@dataclass(frozen=True, slots=True)
class Cover:
    """The bars, thinnest first, their scale for the script, and the table."""

    says: str
    drawn: dict[str, Any]
    bars: tuple[CoverBar, ...]
    table: Table


def cover_picture(lines: Sequence[CaseLine], show: Shown) -> Cover | None:
    """Return the cover of lines; None if nothing is free of any whose pace is known.

    Parameters
    ----------
    lines : sequence of CaseLine
        Of the case, in any order.
    show : Shown
        How the device writes weights.
    """
    found = sorted(
        ((line.cover_days, line.name, line) for line in lines if line.cover_days and line.free),
        key=lambda one: one[:2],
    )
    if not found:
        return None
    longest = int(found[-1][0].to_integral_value(ROUND_CEILING))
    high = min(MOST_DAYS, max(_LEAST_DAYS, longest))
    bars = tuple(_bar(line, days, high) for days, _name, line in found)
    thin = sum(bar.line.cover_days is not None and bar.line.cover_days < 1 for bar in bars)
    slow = sum(bar.late > 0 for bar in bars)
    says = _(
        "Days each line lasts at the present pace: %(lines)s lines, %(thin)s under a day, %(slow)s"
        " longer than they keep."
    ) % {"lines": len(bars), "thin": thin, "slow": slow}
    drawn = {"kind": "axis", "low": 0, "high": high, "label": _("days at the present pace"),
             "incrs": [1, 2, 7, 14]}  # fmt: skip
    return Cover(says, drawn, bars, _table(lines, bars, show))


def _bar(line: CaseLine, days: Decimal, high: int) -> CoverBar:
    def place(at: Decimal | int) -> Decimal:
        return decimal_of(Fraction(100 * Fraction(min(at, high)), high), _PLACES)

    keeps = None if line.days_left is None else max(0, line.days_left)
    end = place(days)
    sold = end if keeps is None else min(end, place(keeps))
    return CoverBar(
        line, decimal_of(Fraction(days), 1), sold, end - sold,
        None if keeps is None or keeps > high else place(keeps), days > high,
    )  # fmt: skip


def _table(lines: Sequence[CaseLine], bars: Sequence[CoverBar], show: Shown) -> Table:
    """Return the bars in figures, then what has none: nothing free, or no pace known."""
    rows = [
        (bar.line.name, show.weight(bar.line.free), f"{bar.days}", _keeps(bar.line)) for bar in bars
    ]
    drawn = {bar.line.id for bar in bars}
    rows += [
        (line.name, show.weight(line.free) if line.free else _("none"),
         _("not known") if line.free else "-", _keeps(line))
        for line in lines
        if line.id not in drawn
    ]  # fmt: skip
    head = (_("Line"), _("Free"), _("Lasts, days"), _("Keeps, days"))
    return Table(_("Cover of the case, thinnest first"), head, tuple(rows))


def _keeps(line: CaseLine) -> str:
    return "-" if line.days_left is None else str(line.days_left)
