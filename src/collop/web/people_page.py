"""People: who works here and as what, what each signs in with, devices, and who is in now.

Everything is the owner's to do (`collop.web.permissions`); what is one's own stands on
``/people/me``.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, CollopError, NotFound, StorageTrouble
from collop.shop.access_model import Post
from collop.web.cookies import keep_device
from collop.web.first_run import read_twice
from collop.web.forms import Faults, Fields, read_choice, read_name
from collop.web.guard import DoorPass
from collop.web.permissions import POST_WORDS
from collop.web.rendering import page
from collop.web.room import Posted, Queried, room_of
from collop.web.sign_in import Typed, come_in, known_device

if TYPE_CHECKING:
    from collop.shop.access_model import SignedIn

__all__ = ["router"]

router = APIRouter()
_LONGEST_WHY = 200
_DONE = {
    "added": "Written down. Give them a password below, or let them set none and not sign in.",
    "post": "The post is changed, and their sessions are ended.",
    "left": "They work here no more; their sessions are ended and nothing opens for them.",
    "password": "The password is set, and their sessions are ended.",
    "pin": "The PIN is gone.",
    "device": "This device is known now; a PIN is enough on it.",
    "forgotten": "The device is forgotten: its sessions and PINs are gone.",
    "ended": "The session is ended.",
}


@router.get("/people", response_class=HTMLResponse)
def show_people(request: Request, fields: Queried) -> Response:
    """Show members, devices and sessions; in an open demo shop, the way to lock it."""
    return _show(request, done=_DONE.get(fields.one("done"), ""))


def _show(
    request: Request, *, faults: Faults | None = None, fields: Fields | None = None, at: str = "",
    done: str = "", status: int = 200,
) -> HTMLResponse:  # fmt: skip
    """Return the page; `at` is the part of it whose form has the faults."""
    access, found = room_of(request).shop.access, request.state.door_pass
    me = found.session.member.id if found.session else ""
    return page(
        request, "people.html", status=status, faults=faults or Faults(), at=at,
        fields=fields or Fields([]), done=done, me=me, members=access.members(),
        gone=[one for one in access.members(gone=True) if not one.works_here],
        posts=POST_WORDS, sessions=access.sessions() if me else (),
        devices=[one for one in access.devices() if one.ended_at is None] if me else (),
        names={one.number: one.name for one in access.devices()}, this=known_device(request),
        mine=found.session.number if found.session else 0,
        alarms=access.alarms() if me else (), key=uuid4().hex,
    )  # fmt: skip


def _me(request: Request) -> str:
    """Return the id of whoever is signed in.

    Raises
    ------
    BadValue
        If nobody is: the demo shop is open, and nothing here may be done by nobody.
    """
    found: DoorPass = request.state.door_pass
    if found.session is None:
        raise BadValue("Set the owner's password first, and sign in; then this can be done.")
    return found.session.member.id


def _done(
    request: Request, what: str, act: Callable[[str], object], *, at: str, field: str,
    fields: Fields | None = None,
) -> Response:  # fmt: skip
    """Do `act` with the id of whoever is signed in, and go back; or tell what it refused."""
    faults = Faults()
    try:
        act(_me(request))
    except StorageTrouble:
        raise
    except CollopError as error:
        faults.add(field, error.message)
        return _show(request, faults=faults, fields=fields, at=at, status=422)
    return RedirectResponse(f"/people?done={what}", status_code=303)


def _post(fields: Fields) -> Post:
    return Post(read_choice(fields.one("post"), "Post", [str(one) for one in Post]))


def _why(fields: Fields) -> str:
    if not fields.one("why"):
        raise BadValue("Why: write in a few words why; it stands in the log.")
    return fields.one("why")[:_LONGEST_WHY]


@router.post("/people/lock", response_class=HTMLResponse)
def lock(request: Request, typed: Typed) -> Response:
    """Set the first password of an open demo shop; from then everybody has to sign in."""
    found: DoorPass = request.state.door_pass
    texts, faults = dict(reversed(typed)), Faults()
    name = texts.get("name", "").strip()
    if not found.is_open:
        return RedirectResponse("/people", status_code=303)
    if not name:
        faults.add("name", "Name: type what the owner is called.")
    password = read_twice(texts, faults)
    signed: SignedIn | None = None
    if not faults:
        try:
            signed = room_of(request).shop.access.set_up(name, password)
        except StorageTrouble:
            raise
        except CollopError as error:
            faults.add("name" if error.where == "name" else "new", error.message)
    if signed is not None:
        return come_in(request, signed, back="/people")
    return _show(request, faults=faults, fields=Fields([("name", name)]), at="lock", status=422)


@router.post("/people", response_class=HTMLResponse)
def add(request: Request, fields: Posted) -> Response:
    """Write down somebody who works here from now."""
    access = room_of(request).shop.access

    def act(me: str) -> object:
        name = read_name(fields.one("name"), "Name")
        return access.add_member(name, _post(fields), by=me, key=fields.one("key"))

    return _done(request, "added", act, at="add", field="name", fields=fields)


@router.post("/people/{who}/post", response_class=HTMLResponse)
def change_post(request: Request, who: str, fields: Posted) -> Response:
    """Give somebody another post."""
    access = room_of(request).shop.access

    def act(me: str) -> object:
        return access.change_post(
            who, _post(fields), by=me, why=_why(fields), key=fields.one("key")
        )  # fmt: skip

    return _done(request, "post", act, at=f"post-{who}", field=f"post-{who}", fields=fields)


@router.post("/people/{who}/leaves", response_class=HTMLResponse)
def leaves(request: Request, who: str, fields: Posted) -> Response:
    """Write down that somebody works here no more."""
    access = room_of(request).shop.access
    return _done(
        request, "left",
        lambda me: access.leaves(who, by=me, why=_why(fields), key=fields.one("key")),
        at=f"leaves-{who}", field=f"leaves-{who}", fields=fields,
    )  # fmt: skip


@router.post("/people/{who}/password", response_class=HTMLResponse)
def set_password(request: Request, who: str, typed: Typed) -> Response:
    """Set somebody's password for them; they change it on their own page."""
    access, texts = room_of(request).shop.access, dict(typed)

    def act(me: str) -> None:
        if access.member(who).id == me:
            raise BadValue("Your own password is changed on your own page, with the old one.")
        access.set_password(who, texts.get("new", ""), by=me)

    return _done(request, "password", act, at=f"new-{who}", field=f"new-{who}")


@router.post("/people/{who}/pin", response_class=HTMLResponse)
def drop_pin(request: Request, who: str, fields: Posted) -> Response:
    """Take somebody's PIN of one device away."""
    access, told = room_of(request).shop.access, fields.one("device")

    def act(me: str) -> None:
        if not told.isdecimal() or len(told) > 9:
            raise NotFound("There is no such device; look at the list again.")
        access.drop_pin(who, int(told), by=me)

    return _done(request, "pin", act, at="sessions", field=f"pin-{who}")


@router.post("/people/devices", response_class=HTMLResponse)
def know_device(request: Request, fields: Posted) -> Response:
    """Make the device that asks known, so that a PIN is enough on it."""
    access, told = room_of(request).shop.access, [""]

    def act(me: str) -> None:
        told[0] = access.know_device(read_name(fields.one("device"), "Device"), by=me)[1]

    answer = _done(request, "device", act, at="device", field="device", fields=fields)
    if told[0]:
        keep_device(request, answer, told[0])
    return answer


@router.post("/people/devices/{number:int}/forget", response_class=HTMLResponse)
def forget_device(request: Request, number: int) -> Response:
    """Forget a device: lost, sold, or no longer at the counter."""
    access = room_of(request).shop.access
    return _done(request, "forgotten", lambda me: access.forget_device(number, by=me),
                 at="device", field="device")  # fmt: skip


@router.post("/people/sessions/{number:int}/end", response_class=HTMLResponse)
def end_session(request: Request, number: int) -> Response:
    """End anybody's session at once."""
    access = room_of(request).shop.access
    return _done(request, "ended",
                 lambda me: access.end_session(number, by=me, why="ended by the owner"),
                 at="sessions", field="sessions")  # fmt: skip
