"""One's own page: password, PIN on this device, and the way out everywhere."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import CollopError, StorageTrouble
from collop.shop.access_roles import ACTIONS, may
from collop.web.cookies import device_token, forget_session, keep_session
from collop.web.first_run import read_twice
from collop.web.forms import Faults
from collop.web.permissions import POST_WORDS
from collop.web.rendering import page
from collop.web.room import Queried, room_of
from collop.web.sign_in import Typed, known_device

if TYPE_CHECKING:
    from collop.shop.access_model import SessionSeen

__all__ = ["router"]

router = APIRouter()
_DONE = {
    "password": "Your password is changed; on every other device you sign in anew.",
    "pin": "Your PIN is set on this device.",
}


def _session(request: Request) -> SessionSeen | None:
    session: SessionSeen | None = request.state.door_pass.session
    return session


def _show(request: Request, *, faults: Faults | None = None, done: str = "") -> Response:
    session = _session(request)
    if session is None:
        return RedirectResponse("/people", status_code=303)
    access = room_of(request).shop.access
    me = access.member(session.member.id)
    device = known_device(request)
    return page(
        request, "people_me.html", status=422 if faults else 200, faults=faults or Faults(),
        done=done, me=me, session=session, device=device,
        has_pin=device is not None and device.number in me.pin_devices, post=POST_WORDS[me.post],
        may_do=[one.words for name, one in ACTIONS.items() if may(me.post, name)],
        sessions=[one for one in access.sessions() if one.member.id == me.id],
        devices={one.number: one.name for one in access.devices()},
    )  # fmt: skip


@router.get("/people/me", response_class=HTMLResponse)
def show_me(request: Request, fields: Queried) -> Response:
    """Show what is one's own."""
    return _show(request, done=_DONE.get(fields.one("done"), ""))


@router.post("/people/me/password", response_class=HTMLResponse)
def change_password(request: Request, typed: Typed) -> Response:
    """Change one's own password, with the old one; stay in here, and nowhere else."""
    session, texts, faults = _session(request), dict(typed), Faults()
    if session is None:
        return RedirectResponse("/people", status_code=303)
    access, me = room_of(request).shop.access, session.member.id
    new = read_twice(texts, faults)
    if not texts.get("old"):
        faults.add("old", "Old password: type the one you have now.")
    if faults:
        return _show(request, faults=faults)
    try:
        access.set_password(me, new, by=me, old=texts["old"])
        signed = access.sign_in(me, new, device_token=device_token(request) or None)
    except StorageTrouble:
        raise
    except CollopError as error:
        faults.add("old" if error.where == "old" else "new", error.message)
        return _show(request, faults=faults)
    answer = RedirectResponse("/people/me?done=password", status_code=303)
    keep_session(request, answer, signed.token)
    return answer


@router.post("/people/me/pin", response_class=HTMLResponse)
def set_pin(request: Request, typed: Typed) -> Response:
    """Set one's PIN on this device, with the password."""
    session, texts, faults = _session(request), dict(typed), Faults()
    if session is None:
        return RedirectResponse("/people", status_code=303)
    pin = texts.get("pin", "").strip()
    if not texts.get("password"):
        faults.add("password", "Password: type it to set a PIN.")
    if not pin:
        faults.add("pin", "PIN: type six to twelve figures.")
    elif pin != texts.get("pin_again", "").strip():
        faults.add("pin_again", "PIN once more: it is not the same; type both again.")
    if not faults:
        try:
            room_of(request).shop.access.set_pin(
                session.member.id, pin, device_token=device_token(request),
                password=texts["password"],
            )  # fmt: skip
        except StorageTrouble:
            raise
        except CollopError as error:
            faults.add("password" if error.where == "password" else "pin", error.message)
    if faults:
        return _show(request, faults=faults)
    return RedirectResponse("/people/me?done=pin", status_code=303)


@router.post("/people/me/out")
def out_everywhere(request: Request) -> Response:
    """End every session of one's own, this one too."""
    session = _session(request)
    answer = RedirectResponse("/sign-in", status_code=303)
    if session is not None:
        me = session.member.id
        room_of(request).shop.access.end_all(me, by=me, why="signed out everywhere")
        forget_session(request, answer)
    return answer
