"""What the pages of a fire sheet read from its plan, in the units of the device."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from fastapi import Request
from fastapi.responses import Response

from collop.fire.around import SALT_NOTE
from collop.fire.around_after import NUMBER_RULES
from collop.fire.paper import PAPERS, fire_pdf
from collop.fire.paper_sure import eaten, sure_lines, unsure_line
from collop.fire.picture import HATCHED, picture_svg
from collop.fire.picture_rows import best_text, minimum_text, rows_of
from collop.shop.fire_model import FireSheet
from collop.web.forms import Fields
from collop.web.rendering import UNIT_COOKIE, UNITS
from collop.web.room import room_of

__all__ = [
    "HEATS",
    "HEAT_COOKIE",
    "SheetView",
    "chosen_units",
    "public_address",
    "sheet_files",
    "view_of",
]

HEAT_COOKIE = "collop_heat"
HEATS = {"F": "°F", "C": "°C"}
#: What the tool of a step is called on the page.
TOOLS = {"raw": "raw tool", "cooked": "cooked tool", "meat-free": "meat-free tool", "none": ""}
_WIDE, _NARROW = 640, 340


def chosen_units(request: Request, fields: Fields, sheet: FireSheet) -> tuple[str, str]:
    """Return how temperatures and weights are shown: as asked, as kept, or as the sheet has it."""
    heat = fields.one("heat") or request.cookies.get(HEAT_COOKIE, "")
    weight = fields.one("weight") or request.cookies.get(UNIT_COOKIE, "")
    if weight == "lb-oz":
        weight = "lb"
    return (
        heat if heat in HEATS else str(sheet.plan["unit"]),
        weight if weight in {"lb", "kg"} and weight in UNITS else str(sheet.plan["weight_unit"]),
    )


def public_address(request: Request, sheet: FireSheet) -> str:
    """Return the whole address of the customer's page, for the code on the paper.

    It begins as the server was told (``--site``), or as the counter itself reaches the shop.
    """
    site = request.app.state.site or str(request.base_url).rstrip("/")
    return f"{site}/fire/{sheet.token}"


def view_of(request: Request, fields: Fields, sheet: FireSheet) -> SheetView:
    """Return a sheet as its page shows it, its plan told in the units of the device."""
    units = chosen_units(request, fields, sheet)
    return SheetView(room_of(request).shop.fire.in_units(sheet, *units))


class SheetView:
    """A sheet as its page shows it, in the units its plan is told in.

    Parameters
    ----------
    sheet : FireSheet
        The sheet.
    """

    heats = HEATS
    weights = ("lb", "kg")
    tools = TOOLS
    number_rules = NUMBER_RULES
    hatched = HATCHED
    papers = {"letter": "Letter", "a4": "A4"}  # noqa: RUF012 -- read only, by the template

    def __init__(self, sheet: FireSheet) -> None:
        self.sheet = sheet
        self.plan: dict[str, Any] = dict(sheet.plan)
        self.heat, self.weight = str(self.plan["unit"]), str(self.plan["weight_unit"])
        self.rows = rows_of(self.plan, unit=self.heat, weight_unit=self.weight)
        self.units = f"heat={self.heat}&weight={self.weight}"
        self.eaten = eaten(self.plan)
        self.sure = sure_lines(self.plan)
        self.unsure = unsure_line(self.plan)

    @property
    def first(self) -> datetime:
        """Return when the first of it is eaten."""
        return datetime.fromisoformat(self.plan["serve"][0]["at"])

    @property
    def before(self) -> list[dict[str, Any]]:
        """Return what comes before the fire, without the note of where figures come from."""
        return [one for one in self.plan["before"] if one["what"] != SALT_NOTE]

    @property
    def sources(self) -> list[str]:
        """Return where figures come from, once, for the foot of the page."""
        least = dict.fromkeys(
            one["minimum"]["source"] for one in self.plan["items"] if one["minimum"]
        )
        found = [f"Least temperatures: {'; '.join(least)}."] if least else []
        is_salted = any(one["what"] == SALT_NOTE for one in self.plan["before"])
        return [*found, *([SALT_NOTE] if is_salted else [])]

    @property
    def unlaid(self) -> list[tuple[str, str]]:
        """Return name and temperatures of what has no place on the fire."""
        return [
            (item["name"], ", ".join(filter(None, self._degrees(item))))
            for item in self.plan["items"]
            if not item["loads"]
        ]

    @property
    def cautions(self) -> list[str]:
        """Return every caution once, but the rule of the number, which ends them."""
        own = [one for item in self.plan["items"] for one in item["cautions"]]
        told = dict.fromkeys([*self.plan["cautions"], *own])
        return [one for one in told if one != NUMBER_RULES]

    def _degrees(self, item: dict[str, Any]) -> tuple[str, str]:
        return minimum_text(item, self.heat), best_text(item, self.heat)

    def item(self, item_id: str) -> dict[str, Any]:
        """Return an item of the plan."""
        found: dict[str, Any] = next(one for one in self.plan["items"] if one["id"] == item_id)
        return found

    @staticmethod
    def clock(at: str) -> str:
        """Return the hour of a moment."""
        return f"{datetime.fromisoformat(at):%H:%M}"

    def moment(self, at: str) -> str:
        """Return the hour of a moment, with its day if it is another than the meal's."""
        moment = datetime.fromisoformat(at)
        is_same = moment.date() == self.first.date()
        return f"{moment:%H:%M}" if is_same else f"{moment:%a %-d %b} {moment:%H:%M}"


def sheet_files(request: Request, view: SheetView, name: str, fields: Fields) -> Response | None:
    """Return the paper or the picture of a sheet; None if there is no such file.

    Parameters
    ----------
    request : Request
        For the address on the paper.
    view : SheetView
        The sheet in the asked units.
    name : str
        ``sheet.pdf`` or ``picture.svg``.
    fields : Fields
        ``paper``: ``letter`` or ``a4``; ``narrow``: the picture for a telephone.
    """
    if name == "sheet.pdf":
        address = public_address(request, view.sheet)
        paper = fields.one("paper")
        told = {
            "address": address,
            "short": address.partition("://")[2],
            "paper": paper if paper in PAPERS else "letter",
        }
        headers = {"Content-Disposition": 'inline; filename="your-fire.pdf"'}
        return Response(fire_pdf(view.plan, told), media_type="application/pdf", headers=headers)
    if name == "picture.svg":
        width = _NARROW if fields.one("narrow") else _WIDE
        drawn = picture_svg(view.plan, width=width, unit=view.heat, weight_unit=view.weight)
        return None if drawn is None else Response(drawn, media_type="image/svg+xml")
    return None
