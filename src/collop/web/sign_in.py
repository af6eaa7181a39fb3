"""The sign-in page, the way out, and the change of hands at a shared tablet.

On a device the shop knows, the names stand as large keys and a PIN is enough; on any other one
types name and password. A form that met an ended session is carried through and sent again: by
itself if the same person signs in, with one tap if another does.

A password is read as it was typed: no space is cut from it and nothing is shortened.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import CollopError, StorageTrouble, TooSoon
from collop.web.cookies import device_token, forget_session, keep_session, session_token
from collop.web.forms import Faults
from collop.web.guard import HANDS, DoorPass
from collop.web.held import Held, held_again, own_path
from collop.web.rendering import page
from collop.web.room import Queried, room_of

if TYPE_CHECKING:
    from collop.shop.access_model import DeviceSeen, Member, SignedIn

__all__ = ["Typed", "come_in", "known_device", "router", "sign_in_page"]

router = APIRouter()
_MOST_FIELDS = 410
#: Drops what the browser itself kept of pages; what waits to be sent is in another store.
_CLEAR = {"Clear-Site-Data": '"cache"'}


async def _typed(request: Request) -> tuple[tuple[str, str], ...]:
    form = await request.form(max_files=0, max_fields=_MOST_FIELDS)
    return tuple((name, text) for name, text in form.multi_items() if isinstance(text, str))


#: Names and texts of a form exactly as they were typed.
Typed = Annotated[tuple[tuple[str, str], ...], Depends(_typed)]


def known_device(request: Request) -> DeviceSeen | None:
    """Return the device the request comes from, if the shop knows it."""
    told = device_token(request)
    return room_of(request).shop.access.device_of(told) if told else None


def sign_in_page(
    request: Request, *, status: int = 200, held: Held | None = None, back: str = "",
    picked: str = "", way: str = "", faults: Faults | None = None, wait_s: int = 0, why: str = "",
) -> HTMLResponse:  # fmt: skip
    """Return the sign-in page.

    Parameters
    ----------
    request : Request
        What is answered.
    status : int
        401 for something that needs a session, 429 for a try that came too soon.
    held : Held, optional
        A form to be sent once somebody is in.
    back : str
        Where to go then, if no form is held.
    picked : str
        Id of the person whose key was touched, or the name that was typed.
    way : {'', 'password'}
        ``password`` to be asked for it although there is a PIN.
    faults : Faults, optional
        What is wrong with what was typed.
    wait_s : int
        Seconds until the next try is looked at.
    why : str
        One sentence on why the page comes now.
    """
    device = known_device(request)
    members = room_of(request).shop.access.members() if device else ()
    chosen = next((one for one in members if one.id == picked), None)
    return page(
        request, "sign_in.html", status=status, held=held, to=own_path(back), device=device,
        members=[one for one in members if one.has_password], chosen=chosen, typed=picked,
        by_pin=_has_pin(chosen, device) and way != "password", faults=faults or Faults(),
        wait_s=wait_s, why=why,
    )  # fmt: skip


def _has_pin(member: Member | None, device: DeviceSeen | None) -> bool:
    return member is not None and device is not None and device.number in member.pin_devices


@router.get("/sign-in", response_class=HTMLResponse)
def show_sign_in(request: Request, fields: Queried) -> Response:
    """Show who may come in; before anybody has a password, the way to the first one."""
    found: DoorPass = request.state.door_pass
    if not found.is_locked:
        return RedirectResponse("/people" if found.is_open else "/first-run", status_code=303)
    return sign_in_page(request, back=fields.one("back"))


@router.post("/sign-in", response_class=HTMLResponse)
def sign_in(request: Request, typed: Typed) -> Response:
    """Let a person in, and go where they were going; or say what was wrong with the try."""
    texts, held = dict(reversed(typed)), held_again(typed)
    back, who = own_path(texts.get("back", "")), texts.get("who", "")
    if "pick" in texts:
        return sign_in_page(request, held=held, back=back, picked=texts["pick"],
                            way=texts.get("way", ""))  # fmt: skip
    faults, wait_s, by_pin = Faults(), 0, "pin" in texts
    try:
        return come_in(request, _try(request, texts), held=held, back=back)
    except StorageTrouble:
        raise
    except CollopError as error:
        wait_s = error.wait_s if isinstance(error, TooSoon) else 0
        faults.add("pin" if by_pin else "password", error.message)
    answer = sign_in_page(
        request, status=429 if wait_s else 401, held=held, back=back, picked=who,
        way="" if by_pin else "password", faults=faults, wait_s=wait_s,
    )  # fmt: skip
    if wait_s:
        answer.headers["Retry-After"] = str(wait_s)
    return answer


def _try(request: Request, texts: dict[str, str]) -> SignedIn:
    access, old = room_of(request).shop.access, session_token(request) or None
    who, device = texts.get("who", "").strip(), device_token(request)
    if "pin" in texts:
        return access.sign_in_by_pin(who, texts["pin"].strip(), device_token=device, old_token=old)
    return access.sign_in(
        who, texts.get("password", ""), device_token=device or None, old_token=old
    )  # fmt: skip


def come_in(
    request: Request, signed: SignedIn, *, held: Held | None = None, back: str = "/ask"
) -> Response:
    """Answer a person who is in: their cookie, and the way on or the form that was held."""
    answer: Response
    if held is None:
        answer = RedirectResponse(own_path(back), status_code=303)
    else:
        seen = room_of(request).shop.access.who(signed.token)
        request.state.door_pass = DoorPass(is_locked=True, is_open=False, session=seen)
        named = held.named_person().casefold()
        is_same = named in {"", signed.member.id.casefold(), signed.member.name.casefold()}
        answer = page(request, "held.html", held=held, is_same=is_same, member=signed.member)
        answer.headers[HANDS] = request.state.door_pass.marker()
    keep_session(request, answer, signed.token)
    return answer


@router.post("/sign-out")
def sign_out(request: Request) -> Response:
    """End the session here and now, on the server too."""
    told = session_token(request)
    if told:
        room_of(request).shop.access.sign_out(told)
    answer = RedirectResponse("/sign-in", status_code=303, headers=_CLEAR)
    forget_session(request, answer)
    return answer
