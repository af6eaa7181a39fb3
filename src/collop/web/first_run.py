"""The first run: the owner's name and password, while nobody has one.

No password is there from the start. Whoever sits at the machine that serves reads the set-up code
off its terminal; somebody who only reaches the page over the network cannot.

References
----------
.. [1] OWASP ASVS 5.0, 6.3.2: no default accounts; 11.5.1: secrets of at least 128 bits.
"""

from __future__ import annotations

import hmac
import secrets
from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import CollopError, StorageTrouble
from collop.shop.access_model import Post
from collop.web.forms import Faults
from collop.web.guard import Door, DoorPass
from collop.web.rendering import page
from collop.web.room import room_of
from collop.web.sign_in import Typed, come_in

if TYPE_CHECKING:
    from collop.shop.access_model import SignedIn

__all__ = ["new_set_up_code", "read_twice", "router"]

router = APIRouter()
# no letter that looks like another: 32 signs, 5 bits each
_SIGNS = "0123456789abcdefghjkmnpqrstvwxyz"
_GROUPS, _IN_GROUP = 7, 4
_LOOKS_LIKE = str.maketrans("oil", "011")


def new_set_up_code() -> str:
    """Return a fresh code of 140 random bits, in groups that are easy to type."""
    groups = ("".join(secrets.choice(_SIGNS) for _ in range(_IN_GROUP)) for _ in range(_GROUPS))
    return "-".join(groups)


def _plain(code: str) -> bytes:
    kept = "".join(one for one in code.casefold() if one.isalnum())
    return kept.translate(_LOOKS_LIKE).encode()


def _is_code(typed: str, wanted: str) -> bool:
    return bool(wanted) and hmac.compare_digest(_plain(typed), _plain(wanted))


def read_twice(texts: dict[str, str], faults: Faults) -> str:
    """Return a new password that was typed twice alike; note a fault otherwise."""
    first, again = texts.get("new", ""), texts.get("again", "")
    if not first:
        faults.add("new", "Password: type one of at least 8 characters; 15 or more are better.")
    elif first != again:
        faults.add("again", "Once more: it is not the same as above; type both again.")
    return first


def _show(
    request: Request, faults: Faults, *, code: str = "", name: str = "", status: int = 200
) -> Response:
    owner = next((one for one in room_of(request).shop.access.members() if one.post is Post.OWNER),
                 None)  # fmt: skip
    door: Door = request.app.state.door
    name = name or (owner.name if owner else "")
    return page(request, "first_run.html", status=status, faults=faults, code=code, name=name,
                has_code=bool(door.set_up_code))  # fmt: skip


@router.get("/first-run", response_class=HTMLResponse)
def show_first_run(request: Request) -> Response:
    """Show what the first run asks for; nothing once somebody has a password."""
    found: DoorPass = request.state.door_pass
    if found.is_locked:
        return RedirectResponse("/sign-in", status_code=303)
    if found.is_open:
        return RedirectResponse("/people", status_code=303)
    return _show(request, Faults())


@router.post("/first-run", response_class=HTMLResponse)
def first_run(request: Request, typed: Typed) -> Response:
    """Set the owner's password and let them in, if the code is right."""
    found: DoorPass = request.state.door_pass
    if found.is_locked or found.is_open:
        return show_first_run(request)
    texts, faults = dict(reversed(typed)), Faults()
    name, code = texts.get("name", "").strip(), texts.get("code", "")
    if not _is_code(code, request.app.state.door.set_up_code):
        faults.add("code", "Set-up code: type the one that collop serve shows in its terminal.")
    if not name:
        faults.add("name", "Name: type what the owner is called.")
    password = read_twice(texts, faults)
    if not faults:
        signed = _set_up(request, name, password, faults)
        if signed is not None:
            return come_in(request, signed, back="/people")
    return _show(request, faults, code=code[:100], name=name[:60], status=422)


def _set_up(request: Request, name: str, password: str, faults: Faults) -> SignedIn | None:
    try:
        return room_of(request).shop.access.set_up(name, password)
    except StorageTrouble:
        raise
    except CollopError as error:
        faults.add("name" if error.where == "name" else "new", error.message)
        return None
