"""What every page needs: the open shop and the kernel, kept on the application."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Annotated
from urllib.parse import parse_qsl

from fastapi import Depends, Request

from collop.shop.audit_chain import SIGNED_IN
from collop.web.forms import Fields

if TYPE_CHECKING:
    from collop.shop import Shop
    from collop.web.planning import Planner

__all__ = ["Posted", "Queried", "Room", "SignedFields", "fields_of_query", "room_of", "signed"]

#: The field of a form that says who does it.
_WHO = "by"


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


class SignedFields(Fields):
    """The texts of a form, in which ``by`` is the person who is signed in, whatever was sent.

    Parameters
    ----------
    pairs : iterable of (name, text)
        Texts as they came.
    person : str
        Id of the person.
    """

    def __init__(self, pairs: Iterable[tuple[str, str]], person: str) -> None:
        super().__init__((name, person if name == _WHO else text) for name, text in pairs)
        self._person = person

    def one(self, name: str, default: str = "") -> str:
        """Return the first text of `name`, the person for ``by``; `default` if it is absent."""
        return self._person if name == _WHO else super().one(name, default)


def signed(pairs: Iterable[tuple[str, str]]) -> Fields:
    """Return the texts of a form or query, in the hands of whoever is signed in."""
    person = SIGNED_IN.get().person
    return SignedFields(pairs, person) if person else Fields(pairs)


async def _posted(request: Request) -> Fields:
    form = await request.form(max_files=0, max_fields=400)
    return signed((name, text) for name, text in form.multi_items() if isinstance(text, str))


def _queried(request: Request) -> Fields:
    return signed(request.query_params.multi_items())


Posted = Annotated[Fields, Depends(_posted)]
Queried = Annotated[Fields, Depends(_queried)]
