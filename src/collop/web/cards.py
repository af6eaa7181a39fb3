"""Learn the case: one question at a time about what lies in it today."""

from __future__ import annotations

import re
from dataclasses import dataclass
from hashlib import sha256
from typing import TYPE_CHECKING
from urllib.parse import quote

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.shop.cards import cards
from collop.web.animal_drawing import drawing_of
from collop.web.cards_progress import Progress, is_mark, mark_of
from collop.web.cookies import keep_setting
from collop.web.rendering import page
from collop.web.room import Posted, Queried, room_of
from collop.words import gettext as _

if TYPE_CHECKING:
    from collop.carcass.cards import Card, Question
    from collop.web.room import Room

__all__ = ["CARDS_COOKIE", "router"]

router = APIRouter()
#: What this device has learned; nobody's name is in it, and it goes nowhere else.
CARDS_COOKIE = "collop_cards"
_MOST_ANIMAL = 40
_MUSCLES = re.compile(r"Muscles?:")


def _asked(kind: str) -> str:
    """Return what is asked, in the language of the reader."""
    return {
        "what": _("What is it?"),
        "where": _("Where did it sit on the animal?"),
        "cousin": _("What is its cousin?"),
        "carve": _("How is it carved?"),
    }[kind]


@dataclass(frozen=True, slots=True)
class Side:
    """One question with the line it is of, and the mark a device remembers it by."""

    mark: str
    card: Card
    question: Question


@router.get("/cards", response_class=HTMLResponse)
def show_cards(request: Request, fields: Queried) -> HTMLResponse:
    """Show the next question of today's case, its answer under a button."""
    room = room_of(request)
    found = cards(room.shop)
    animals = list(dict.fromkeys(card.species for card in found if card.species != "none"))
    animal = fields.one("animal")
    animal = animal if animal in animals else ""
    sides = _sides(room, [card for card in found if animal in {"", card.species}])
    marks = [side.mark for side in sides]
    progress = Progress.read(request.cookies.get(CARDS_COOKIE, ""))
    now = progress.following(marks)
    side = next((one for one in sides if one.mark == now), None)
    return page(
        request, "cards.html", animals=animals, animal=animal, count=len(sides), side=side,
        right=progress.told_right(marks), begun=bool(progress.known or progress.later),
        asked=_asked(side.question.kind) if side else "", by_muscle=_is_by_muscle(side),
        drawing=drawing_of(side.card.species, side.question.parts) if side else None,
    )  # fmt: skip


@router.post("/cards")
def answer_card(request: Request, fields: Posted) -> Response:
    """Remember on this device whether it was told right, and ask the next."""
    progress = Progress.read(request.cookies.get(CARDS_COOKIE, ""))
    mark, said = fields.one("card"), fields.one("do")
    if said == "anew":
        progress = Progress()
    elif is_mark(mark) and said == "right":
        progress = progress.right(mark)
    elif is_mark(mark) and said == "wrong":
        progress = progress.wrong(mark)
    animal = fields.one("animal")[:_MOST_ANIMAL]
    response = RedirectResponse(f"/cards?animal={quote(animal)}" if animal else "/cards", 303)
    keep_setting(response, CARDS_COOKIE, progress.write())
    return response


def _is_by_muscle(side: Side | None) -> bool:
    """Tell whether the reason of a question is muscles by name: no help to a hand at the glass."""
    return (
        side is not None
        and side.question.kind == "what"
        and bool(_MUSCLES.match(side.question.reason))
    )


def _sides(room: Room, found: list[Card]) -> list[Side]:
    """Return every question, in an order that is mixed anew each day."""
    sides = [
        Side(mark_of(card.case_id, one.kind, one.answer), card, one)
        for card in found
        for one in card.questions
    ]
    today = room.now().date().isoformat()
    return sorted(sides, key=lambda side: sha256(f"{today} {side.mark}".encode()).digest())
