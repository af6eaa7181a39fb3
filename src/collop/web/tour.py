"""A first day: ten steps on the demo week, ticked by what the shop itself knows."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from collop.shop.tour import TOUR_STEPS
from collop.web.rendering import page
from collop.web.room import Room, room_of
from collop.words import gettext as _

__all__ = ["router"]

router = APIRouter()


@dataclass(frozen=True, slots=True)
class Step:
    """One step: what to do, where, and whether it is done."""

    name: str
    title: str
    say: str
    path: str
    button: str
    is_done: bool


@router.get("/tour", response_class=HTMLResponse)
def show_tour(request: Request) -> HTMLResponse:
    """Show the steps of a first day; in a shop that is no demo, how to make one."""
    room = room_of(request)
    done = room.shop.tour.done() if room.demo else frozenset()
    told = _first() | _later(room)
    steps = [Step(name, *told[name], is_done=name in done) for name in TOUR_STEPS]
    return page(
        request, "tour.html", steps=steps, count=len(done),
        following=next((step.name for step in steps if not step.is_done), ""),
    )  # fmt: skip


def _first() -> dict[str, tuple[str, str, str, str]]:
    """Return title, sentence, page and button of the steps up to the bench."""
    return {
        "ask": (
            _("Ask for a party"),
            _("Say 34 people on Friday with 310 to spend, and press Book spread."),
            "/ask",
            _("Open Ask"),
        ),
        "book": (
            _("Book it"),
            _("Give a name and who takes it, and book."),
            "/ask",
            _("Open Ask"),
        ),
        "hook": (
            _("Look at the hook"),
            _("Find the booking by its name, open its slip, and move it on by one step."),
            "/hook",
            _("Open Hook"),
        ),
        "bench": (
            _("Done and weigh"),
            _("Take the first line of the bench, type the weight on the scale, and finish it."),
            "/bench",
            _("Open Bench"),
        ),
    }


def _going(room: Room) -> str:
    """Return the page where a booking of today is handed over: of one that can go, if any can."""
    today = room.now().date()
    found = [one.id for one in room.shop.bookings(today, today) if one.state.holds]
    ready = [one for one in found if room.shop.pickup.pickup(one).hindrance is None]
    return next((f"/hook/{one}/hand-over" for one in (*ready, *found)), "/hook")


def _later(room: Room) -> dict[str, tuple[str, str, str, str]]:
    """Return the same of the steps over the glass and after it."""
    return {
        "sell": (
            _("Sell a cut"),
            _("Choose a line of the case, type its weight, and finish the slip."),
            "/sell", _("Open Sell"),
        ),
        "ticket": (
            _("Print a ticket"),
            _("Choose a line, give the weight on the scale and the tare, and print."),
            "/tickets", _("Open Tickets"),
        ),
        "cold": (
            _("Check the cold"),
            _("Read the walk-in and write what its thermometer says."),
            "/daybook/cold", _("Open cold check"),
        ),
        "hand-over": (
            _("Hand over"),
            _("Go without what is still to come, weigh each line, and hand the booking over."),
            _going(room), _("Open hand-over"),
        ),
        "count": (
            _("Count at lock-up"),
            _("Count the first line of the list and write what the scale says."),
            "/lockup", _("Open Lock-up"),
        ),
        "lock": (
            _("Lock the day"),
            _("Carry, freeze or bin what is left, and lock; what is skipped shows tomorrow."),
            "/lockup", _("Open Lock-up"),
        ),
    }  # fmt: skip
