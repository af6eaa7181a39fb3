"""Templates, and how weights, prices and temperatures are written on the screen."""

from __future__ import annotations

import hashlib
import logging
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from fastapi import Request
from fastapi.responses import HTMLResponse, Response
from jinja2 import Environment, FileSystemLoader, StrictUndefined

from collop.measures import Temperature, UnitPrice, Weight, WeightUnit
from collop.shop.access_roles import may
from collop.shop.audit_chain import SIGNED_IN
from collop.web.locale_text import day_text, number_text, soon_text
from collop.web.looks import looks_of
from collop.web.permissions import who_sends
from collop.words import LANGUAGES, SPOKEN, gettext, ngettext, npgettext, pgettext, said

if TYPE_CHECKING:
    from collop.errors import StorageTrouble
    from collop.shop.model import Person

__all__ = [
    "STATIC", "UNITS", "Shown", "asset", "fragment_wanted", "page", "static_digest", "storage_page",
]  # fmt: skip

_log = logging.getLogger(__name__)

_HERE = Path(__file__).parent
STATIC = _HERE / "static"
UNIT_COOKIE = "collop_unit"
#: The ways a device may show weights; stored weights are never touched.
UNITS = {"lb": "lb", "lb-oz": "lb oz", "kg": "kg"}


@dataclass(frozen=True, slots=True)
class Shown:
    """How this device shows measures."""

    unit: str = "lb"

    def weight(self, value: Weight | str | Decimal) -> str:
        """Return a weight in the device's unit; plain text and decimals are pounds."""
        weight = value if isinstance(value, Weight) else Weight.of(value, WeightUnit.LB)
        if self.unit == "kg":
            return weight.text(WeightUnit.KG, 3)
        if self.unit == "lb-oz":
            return _pounds_ounces(weight)
        return weight.text(WeightUnit.LB, 2)

    def price(self, value: UnitPrice | str | Decimal) -> str:
        """Return a unit price per pound or per kilogram."""
        price = value if isinstance(value, UnitPrice) else UnitPrice.of(value, WeightUnit.LB)
        per = WeightUnit.KG if self.unit == "kg" else WeightUnit.LB
        return f"{price.shown_per(per)} /{per}"

    def ounces(self, value: float) -> str:
        """Return a portion given in ounces."""
        weight = Weight.of(str(round(value, 2)), WeightUnit.OZ)
        if self.unit == "kg":
            return f"{weight.decimal(WeightUnit.G, 0)} g"
        return f"{weight.decimal(WeightUnit.OZ, 1).normalize():f} oz"

    def heat(self, fahrenheit: float) -> str:
        """Return a temperature in both scales, the device's first."""
        temperature = Temperature.fahrenheit(str(fahrenheit))
        f, c = f"{temperature.in_fahrenheit(0)} °F", f"{temperature.in_celsius(0)} °C"
        return f"{c} ({f})" if self.unit == "kg" else f"{f} ({c})"


def _pounds_ounces(weight: Weight) -> str:
    tenths = weight.exact(WeightUnit.OZ) * 10
    whole = int(tenths + Fraction(1, 2))
    return f"{whole // 160} lb {Decimal(whole % 160) / 10} oz"


@cache
def static_digest(name: str) -> str:
    """Return the first half of the SHA-256 of a static file."""
    return hashlib.sha256((STATIC / name).read_bytes()).hexdigest()[:16]


def asset(name: str) -> str:
    """Return the address of a static file, with its digest so that it may be kept for ever."""
    return f"/static/{name}?v={static_digest(name)}"


def _hands() -> str:
    """Return the id of the person who is signed in; empty if nobody is."""
    return SIGNED_IN.get().person or ""


def _mine(people: Iterable[Person]) -> list[Person]:
    """Return whom a form may name: whoever is signed in alone, else everybody who works here."""
    return [one for one in people if one.here and one.id == (_hands() or one.id)]


@cache
def _templates() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(_HERE / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        extensions=["jinja2.ext.i18n"],
    )
    environment.install_gettext_callables(  # type: ignore[attr-defined]
        gettext, ngettext, newstyle=True, pgettext=pgettext, npgettext=npgettext
    )
    environment.policies["ext.i18n.trimmed"] = True
    environment.globals.update(asset=asset, UNITS=UNITS, LANGUAGES=LANGUAGES, hands=_hands, may=may)
    environment.filters.update(
        money=number_text, quoted=quote, hour=soon_text, day_text=day_text, mine=_mine,
        said=said,
    )  # fmt: skip
    return environment


def shown_for(request: Request) -> Shown:
    """Return how the asking device shows measures."""
    unit = request.cookies.get(UNIT_COOKIE, "lb")
    return Shown(unit if unit in UNITS else "lb")


def fragment_wanted(request: Request) -> bool:
    """Tell whether the page's own script asks for a part of the page."""
    return request.headers.get("hx-request") == "true"


def page(request: Request, template: str, *, status: int = 200, **context: Any) -> HTMLResponse:  # noqa: ANN401 -- what the template names
    """Render a template with the shop's name, clock and the device's units."""
    room = request.app.state.room
    found = getattr(request.state, "door_pass", None)
    member = found.session.member if found and found.session else None
    html = (
        _templates()
        .get_template(template)
        .render(
            shop_name=room.name,
            demo=room.demo,
            currency=room.currency,
            now=room.now(),
            show=shown_for(request),
            language=SPOKEN.get(),
            looks=looks_of(request.cookies),
            standing=request.app.state.standing,
            here=request.url.path,
            signed_in=member,
            only_look=who_sends(request, member.post if member else None),
            door_open=bool(found and found.is_open),
            back=request.url.path + (f"?{request.url.query}" if request.url.query else ""),
            **context,
        )
    )
    return HTMLResponse(html, status_code=status)


def storage_page(error: StorageTrouble) -> Response:
    """Answer 503 without the shop, which cannot be read."""
    _log.error("storage: %s", error.message)
    text = (
        f"{error.message}\nNothing was written. Paper sheets still work; try again in a minute.\n"
    )
    return Response(text, status_code=503, media_type="text/plain; charset=utf-8")
