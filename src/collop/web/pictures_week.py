"""Demand by weekday: what sells on a Monday, a Tuesday, and so on."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import TYPE_CHECKING

from collop.measures import Weight, WeightUnit
from collop.web.locale_text import day_text
from collop.web.pictures import Picture, Table
from collop.words import gettext as _

if TYPE_CHECKING:
    from collop.shop.weekday_sales import WeekdaySales
    from collop.web.rendering import Shown

__all__ = ["weekday_picture"]

# any Monday, to name the days of the week by
_MONDAY = date(2026, 6, 8)
#: Room over the highest bar for its figure.
_OVER = 1.15
#: From here on a bar's figure has one decimal.
_LARGE = 10


def weekday_picture(sales: Sequence[WeekdaySales], name: str, show: Shown) -> Picture | None:
    """Return bars of what an open day sells; None while nothing was sold.

    Parameters
    ----------
    sales : sequence of WeekdaySales
        Monday to Sunday, or nothing.
    name : str
        What is sold, for the words; empty is the whole case.
    show : Shown
        How the device writes weights.
    """
    if not any(one.total for one in sales):
        return None
    unit = WeightUnit.KG if show.unit == "kg" else WeightUnit.LB
    values = [_value(one.mean, unit) for one in sales]
    days = [_MONDAY + timedelta(days=one.weekday) for one in sales]
    best = max(range(len(values)), key=values.__getitem__)
    places = 1 if max(values) >= _LARGE else 2
    drawn = {
        "kind": "bars",
        "names": [day_text(day, "%a") for day in days],
        "y": _("%(unit)s on an open day") % {"unit": unit},
        "values": values,
        "says": [
            _("shut") if one.mean is None else f"{one.mean.decimal(unit, places)}" for one in sales
        ],
        "up": [0, max(values) * _OVER or 1],
    }
    says = _("Bars of what an open day sells of %(name)s: most on %(day)s, %(weight)s.") % {
        "name": name or _("the whole case"), "day": day_text(days[best], "%A"),
        "weight": show.weight(sales[best].mean or Weight.zero()),
    }  # fmt: skip
    rows = tuple(
        (day_text(day, "%A"), str(one.days), show.weight(one.total),
         _("shut") if one.mean is None else show.weight(one.mean))
        for day, one in zip(days, sales, strict=True)
    )  # fmt: skip
    head = (_("Day"), _("Open days"), _("Sold in all"), _("On an open day"))
    return Picture(says, drawn, Table(_("Days of the week in figures"), head, rows))


def _value(mean: Weight | None, unit: WeightUnit) -> float:
    return 0.0 if mean is None else float(mean.decimal(unit, 3))
