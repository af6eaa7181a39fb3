"""The cookies: the session of a person, the mark of a device, and what a device has chosen.

All are unreadable to scripts and go to this shop only. Over https the names of the first two begin
with ``__Host-``, which a browser takes only with ``Secure``, ``Path=/`` and no domain; over plain
http it would refuse them so, and they have plain names.

``SameSite`` is ``Lax`` and not ``Strict``: a slip opened from the calendar or from a scanned ticket
comes from another place, and with ``Strict`` a person who is signed in would meet the sign-in page.
``Lax`` sends the cookie with such a reading request only. What changes the shop is never a reading
request, and `collop.web.security.OwnRequestsOnly` refuses it from any other site.

References
----------
.. [1] OWASP ASVS 5.0, 3.3.1 to 3.3.4: ``Secure``, ``__Host-``, ``SameSite`` set for its purpose,
   ``HttpOnly``; 7.2.4: a new token at each sign-in.
"""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fastapi import Request
    from starlette.responses import Response

__all__ = [
    "device_token", "forget_session", "is_https", "keep_choice", "keep_device", "keep_session",
    "keep_setting", "session_token",
]  # fmt: skip

_SESSION = ("collop_session", "__Host-collop")
_DEVICE = ("collop_device", "__Host-collop-device")
_A_YEAR_S = 365 * 24 * 3600
_LONGEST = 200


def is_https(request: Request) -> bool:
    """Tell whether the request came over TLS to this very server."""
    return bool(request.url.scheme == "https")


def _read(request: Request, names: tuple[str, str]) -> str:
    told = request.cookies.get(names[is_https(request)], "")
    return told if len(told) <= _LONGEST else ""


def session_token(request: Request) -> str:
    """Return the session's secret token that the browser sent; empty if none."""
    return _read(request, _SESSION)


def device_token(request: Request) -> str:
    """Return the device's secret token that the browser sent; empty if none."""
    return _read(request, _DEVICE)


def keep_session(request: Request, response: Response, token: str) -> None:
    """Give the browser a session's token, until it is closed; the server ends it sooner."""
    secure = is_https(request)
    response.set_cookie(_SESSION[secure], token, path="/", secure=secure, httponly=True,
                        samesite="lax")  # fmt: skip


def forget_session(request: Request, response: Response) -> None:
    """Take the session's token from the browser."""
    secure = is_https(request)
    response.delete_cookie(_SESSION[secure], path="/", secure=secure, httponly=True,
                           samesite="lax")  # fmt: skip


def keep_device(request: Request, response: Response, token: str) -> None:
    """Give the browser a device's token, for a year."""
    secure = is_https(request)
    response.set_cookie(_DEVICE[secure], token, max_age=_A_YEAR_S, path="/", secure=secure,
                        httponly=True, samesite="lax")  # fmt: skip


def keep_setting(response: Response, name: str, value: str) -> None:
    """Give the browser what its device shall remember for itself, for a year."""
    response.set_cookie(name, value, max_age=_A_YEAR_S, samesite="lax", httponly=True)


def keep_choice(response: Response, name: str, known: Collection[str], value: str) -> None:
    """Remember one of the choices that are known; another leaves the device as it was."""
    if value in known:
        keep_setting(response, name, value)
