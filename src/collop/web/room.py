"""What every page needs: the open shop and the kernel, kept on the application."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Annotated
from urllib.parse import parse_qsl

from fastapi import Depends, Request

from collop.web.forms import Fields

if TYPE_CHECKING:
    from collop.shop import Shop
    from collop.web.planning import Planner

__all__ = ["Posted", "Queried", "Room", "fields_of_query", "room_of"]


@dataclass(slots=True)
class Room:
    """The open shop and the kernel behind the pages."""

    shop: Shop
    planner: Planner

    @property
    def name(self) -> str:
        """Return the shop's name."""
        return self.shop.settings().name

    @property
    def demo(self) -> bool:
        """Tell whether this is the demo week."""
        return self.shop.settings().demo

    @property
    def currency(self) -> str:
        """Return the shop's currency."""
        return self.shop.settings().currency

    def now(self) -> datetime:
        """Return the shop's clock."""
        return self.shop.now()


def room_of(request: Request) -> Room:
    """Return the room the request stands in."""
    room: Room = request.app.state.room
    return room


def fields_of_query(query: str) -> Fields:
    """Read the query part of an address."""
    return Fields(parse_qsl(query, keep_blank_values=True, max_num_fields=400))


async def _posted(request: Request) -> Fields:
    form = await request.form(max_files=0, max_fields=400)
    return Fields((name, text) for name, text in form.multi_items() if isinstance(text, str))


def _queried(request: Request) -> Fields:
    return Fields(request.query_params.multi_items())


Posted = Annotated[Fields, Depends(_posted)]
Queried = Annotated[Fields, Depends(_queried)]
