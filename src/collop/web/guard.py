"""The door: who comes in, as whom, and what a stranger is told.

Once somebody in the shop has a password, every page but the few of `is_public` needs a session.
Before that the demo shop is open to whoever sits at this machine, and any other shop shows its
first run only. The guard sets whose hands the request is (`SIGNED_IN`), so that every act it writes
is theirs; what each may do is decided by `collop.web.permissions`.

A question that cannot be answered because the database cannot be read is answered 503: the door
stays shut.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from ipaddress import ip_address
from typing import TYPE_CHECKING
from urllib.parse import quote

from fastapi import Request
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import MutableHeaders
from starlette.responses import PlainTextResponse, RedirectResponse, Response

from collop.errors import StorageTrouble
from collop.shop.audit_chain import SIGNED_IN, SignedInAs
from collop.web.cookies import session_token
from collop.web.held import held_of, own_path
from collop.web.rendering import storage_page

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

    from collop.shop import Shop
    from collop.shop.access_model import SessionSeen

__all__ = ["HANDS", "Door", "DoorPass", "Guard", "is_public"]

#: Tells the copies kept on a device whose they are, without saying who that is.
HANDS = "X-Collop-Hands"
#: A page's own script asks with "cors"; a navigation handed on with a way to stop it is
#: "same-origin" (Fetch Standard, the Request constructor, step for a mode of "navigate"; from
#: memory).
_FOR_A_PAGE = frozenset({"navigate", "same-origin"})
_READING = frozenset({"GET", "HEAD", "OPTIONS"})
#: For everybody, at any time: files, the board on display, and addresses that hold a token.
_FOR_ALL = ("/sw.js", "/board")
_FOR_ALL_WITHIN = ("/static/", "/fire/", "/calendar/")
#: For somebody who is not in yet.
_DOORSTEP = ("/sign-in", "/first-run")


def is_public(path: str) -> bool:
    """Tell whether a path is answered without a session."""
    return path in _FOR_ALL or path in _DOORSTEP or path.startswith(_FOR_ALL_WITHIN)


@dataclass(slots=True)
class Door:
    """How the door stands: open, shut until the first run, or locked.

    Parameters
    ----------
    shop : Shop
        The shop behind it.
    is_open_without_password : bool
        Whether a shop in which nobody has a password is open to all; the demo shop always is.
    set_up_code : str
        What the first run asks for; empty, and there is no first run on this server.
    """

    shop: Shop
    is_open_without_password: bool = False
    set_up_code: str = ""
    _is_locked: bool = field(default=False, init=False)

    def is_locked(self) -> bool:
        """Tell whether somebody has a password; once it is so it is not asked again."""
        # asked each time while it stands open: a password set by the command counts at once
        if not self._is_locked:
            self._is_locked = self.shop.access.is_locked()
        return self._is_locked

    def is_open(self) -> bool:
        """Tell whether everybody may come in."""
        if self.is_locked():
            return False
        return self.is_open_without_password or self.shop.settings().demo


@dataclass(frozen=True, slots=True)
class DoorPass:
    """What the guard found: how the door stands, and the session of the request."""

    is_locked: bool
    is_open: bool
    session: SessionSeen | None = None

    def hands(self) -> SignedInAs:
        """Return whose the acts of this request are."""
        if self.session is None:
            return SignedInAs()
        return SignedInAs(self.session.member.id, self.session.device)

    def marker(self) -> str:
        """Return the digest that copies on a device are kept by; ``nobody`` without a session."""
        if self.session is None:
            return "nobody"
        told = f"hands {self.session.member.id} {self.session.made_at.isoformat()}"
        return hashlib.sha256(told.encode()).hexdigest()[:16]


class Guard:
    """ASGI middleware: lets in who may come in, and says whose hands they are.

    Parameters
    ----------
    app : callable
        What answers.
    door : Door
        How the door stands.
    """

    def __init__(self, app: ASGIApp, door: Door) -> None:
        self.app = app
        self.door = door

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or say what has to be done first."""
        if scope["type"] != "http":
            if scope["type"] != "websocket":
                await self.app(scope, receive, send)
            return
        request = Request(scope, receive)
        try:
            found = await run_in_threadpool(self._look, request)
            refusal = await self._refusal(request, found)
        except StorageTrouble as error:
            refusal, found = storage_page(error), DoorPass(is_locked=True, is_open=False)
        if found.is_locked and not _is_for_all(request.url.path):
            send = _marked(send, found.marker())
        if refusal is not None:
            await refusal(scope, receive, send)
            return
        token = SIGNED_IN.set(found.hands())
        try:
            await self.app(scope, receive, send)
        finally:
            SIGNED_IN.reset(token)

    def _look(self, request: Request) -> DoorPass:
        path = request.url.path
        found = DoorPass(is_locked=True, is_open=False)
        if not _is_for_all(path):
            is_locked, told = self.door.is_locked(), session_token(request)
            session = None
            if is_locked and told:
                session = self.door.shop.access.who(told, touch=_is_a_person_s(request))
            found = DoorPass(is_locked, self.door.is_open(), session)
        request.state.door_pass = found
        return found

    async def _refusal(self, request: Request, found: DoorPass) -> Response | None:
        """Return what a stranger is answered; None to let the request in."""
        if found.is_open or found.session is not None or is_public(request.url.path):
            return None
        if not found.is_locked:
            return _not_yet(request)
        if request.url.path == "/scale" and _is_this_machine(request):
            return None  # the command that reads the scale; what it sends is looked at before use
        if request.method in _READING:
            return _to_sign_in(request)
        return await _kept(request)


def _is_for_all(path: str) -> bool:
    return path in _FOR_ALL or path.startswith(_FOR_ALL_WITHIN)


def _is_a_person_s(request: Request) -> bool:
    """Tell whether somebody is there: an open page asks by itself too, and keeps nobody in."""
    if request.method not in _READING or request.headers.get("hx-request") == "true":
        return True
    return _is_for_a_page(request)


def _is_for_a_page(request: Request) -> bool:
    """Tell whether a whole page is wanted: by the browser, or for it by the offline script."""
    return request.headers.get("sec-fetch-mode", "navigate") in _FOR_A_PAGE


def _is_this_machine(request: Request) -> bool:
    try:
        return request.client is not None and ip_address(request.client.host).is_loopback
    except ValueError:
        return False


def _not_yet(request: Request) -> Response:
    if request.method in _READING:
        return RedirectResponse("/first-run", status_code=303)
    return PlainTextResponse("Nobody has a password here yet; open /first-run first.\n", 403)


def _to_sign_in(request: Request) -> Response:
    """Send a person to the sign-in page; tell a script that nobody is signed in."""
    if request.headers.get("hx-request") == "true":
        return PlainTextResponse("Sign in first.\n", 401, headers={"HX-Redirect": _way(request)})
    if not _is_for_a_page(request):
        return PlainTextResponse("Sign in first.\n", 401)
    return RedirectResponse(_way(request), status_code=303)


def _way(request: Request) -> str:
    query = f"?{request.url.query}" if request.url.query else ""
    back = own_path(request.url.path + query)
    return f"/sign-in?back={quote(back, safe='/')}"


async def _kept(request: Request) -> Response:
    """Answer 401 with the sign-in page, which carries the form that was sent."""
    from collop.web.sign_in import sign_in_page  # noqa: PLC0415 -- it needs the guard's own words

    if request.headers.get("hx-request") == "true":
        # part of a page: the page itself is sent to the door, and its address brings it back
        here = own_path(_path_of(request.headers.get("hx-current-url", "")))
        headers = {"HX-Redirect": f"/sign-in?back={quote(here, safe='/')}"}
        return PlainTextResponse("Sign in first; nothing was written.\n", 401, headers=headers)
    held = await held_of(request)
    return await run_in_threadpool(sign_in_page, request, status=401, held=held)


def _path_of(address: str) -> str:
    """Return the path and query of an address that the page's own script tells."""
    _, _, rest = address.partition("://")
    _, slash, path = rest.partition("/")
    return slash + path.partition("#")[0]


def _marked(send: Send, marker: str) -> Send:
    async def send_marked(message: Message) -> None:
        if message["type"] == "http.response.start":
            MutableHeaders(scope=message).setdefault(HANDS, marker)
        await send(message)

    return send_marked
