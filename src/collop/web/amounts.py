"""The unit of bare numbers typed into a form: that of the form sent, else of the device."""

from __future__ import annotations

from fastapi import Request

from collop.measures import WeightUnit
from collop.web.forms import Fields
from collop.web.rendering import shown_for

__all__ = ["device_unit", "sent_unit"]


def device_unit(request: Request) -> WeightUnit:
    """Return the unit in which the device shows weights: pounds, or kilograms."""
    return WeightUnit.KG if shown_for(request).unit == "kg" else WeightUnit.LB


def sent_unit(request: Request, fields: Fields) -> WeightUnit:
    """Return the unit a form was shown in, so that a change of units in between changes nothing."""
    sent = fields.one("unit")
    return WeightUnit(sent) if sent in {"lb", "kg"} else device_unit(request)
