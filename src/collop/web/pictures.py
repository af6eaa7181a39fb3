"""What a picture draws, what it says to those who hear the page, and the table of its figures.

Every figure comes from the shop's own functions; here it is only put on a scale and into words.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from typing import TYPE_CHECKING, Any

from collop.web.locale_text import day_text
from collop.words import gettext as _

if TYPE_CHECKING:
    from collop.shop import Bar
    from collop.shop.rail_weighings import HungWeights, Weighing
    from collop.web.rendering import Shown

__all__ = ["Picture", "Table", "money_scale", "shrink_picture"]

_WHOLE = 100
#: The scale of the shrink shows at least so much below what came in [per cent].
_LEAST_LOSS = 3


@dataclass(frozen=True, slots=True)
class Table:
    """The figures of a picture as text: a row's first cell names it."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Picture:
    """One picture.

    Parameters
    ----------
    says : str
        What it shows, in one sentence.
    drawn : dict
        What the script draws; its ``kind`` is ``lines``, ``bars`` or ``axis``.
    table : Table
        The same figures.
    """

    says: str
    drawn: dict[str, Any]
    table: Table


def shrink_picture(pieces: Sequence[HungWeights], show: Shown) -> Picture | None:
    """Return how what hangs lost weight day by day; None while nothing was weighed a second time.

    Lines are in per cent of the weight that came in, so that a lamb and a side of beef stand on one
    scale; the table has the weights too.

    Parameters
    ----------
    pieces : sequence of HungWeights
        What hangs, with its weighings.
    show : Shown
        How the device writes weights.
    """
    weighed = [one for one in pieces if len(one.weighings) > 1]
    if not weighed:
        return None
    every = [one for piece in weighed for one in piece.weighings]
    least, most = min(one.kept_pct for one in every), max(one.kept_pct for one in every)
    low = min(Decimal(_WHOLE - _LEAST_LOSS), least.to_integral_value(ROUND_FLOOR))
    high = max(Decimal(_WHOLE), most.to_integral_value(ROUND_CEILING))
    worst = max(weighed, key=lambda piece: piece.weighings[-1].shrink_pct)
    lost = worst.weighings[-1]
    drawn = {
        "kind": "lines",
        "x": _("days on the rail"),
        "y": _("% of what came in"),
        "across": [0, max(1, *(one.days for one in every))],
        "up": [float(low), float(high)],
        "lines": [{"name": one.tag, "points": _points(one.weighings)} for one in weighed],
    }
    says = _(
        "Lines falling over the days on the rail, one for each of %(count)s pieces: %(tag)s lost"
        " most, %(lost)s %% of what came in."
    ) % {"count": len(weighed), "tag": worst.tag, "lost": lost.shrink_pct}
    return Picture(says, drawn, _shrink_table(pieces, show))


def _points(weighings: Sequence[Weighing]) -> list[tuple[int, float]]:
    """Return days and per cent; of two weighings on one day, the later."""
    return list({one.days: (one.days, float(one.kept_pct)) for one in weighings}.values())


def _shrink_table(pieces: Sequence[HungWeights], show: Shown) -> Table:
    rows = [
        (piece.tag, day_text(one.at, "%-d %b %H:%M"), str(one.days), show.weight(one.weight),
         f"{one.shrink_pct} %")
        for piece in pieces
        for one in piece.weighings
    ]  # fmt: skip
    head = (_("Piece"), _("Weighed"), _("Days"), _("Weight"), _("Lost to air"))
    return Table(_("Every weighing of what hangs"), head, tuple(rows))


def money_scale(bars: Sequence[Bar]) -> dict[str, Any] | None:
    """Return the scale of money under the steps of an animal's account; None if it has none.

    It goes from the lowest point the steps reach to the highest, as the steps themselves are drawn.

    Parameters
    ----------
    bars : sequence of Bar
        The steps.
    """
    if not bars:
        return None
    ends = [
        Decimal(0),
        *(one.start.decimal() for one in bars),
        *(one.end.decimal() for one in bars),
    ]
    low, high = min(ends), max(ends)
    return {"kind": "axis", "low": float(low), "high": float(high if high > low else low + 1),
            "label": bars[0].end.currency}  # fmt: skip
