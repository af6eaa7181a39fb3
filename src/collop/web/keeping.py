"""Keeping: the copies of the shop, the disk under it, and what to do when it is damaged."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import CollopError
from collop.shop.disk_look import DiskLook, look_at_disk
from collop.web.keeper import Keeper
from collop.web.rendering import page
from collop.web.room import Posted

__all__ = ["router"]

router = APIRouter()
_HOUR_S, _DAY_S = 3600, 24 * 3600


def _keeper(request: Request) -> Keeper | None:
    found: Keeper | None = request.app.state.keeper
    return found


def age_words(then: datetime, now: datetime) -> str:
    """Return how long ago something was, in words.

    Examples
    --------
    >>> from datetime import timedelta
    >>> now = datetime(2026, 6, 9, 8, 0, tzinfo=UTC)
    >>> age_words(now - timedelta(minutes=3), now), age_words(now - timedelta(hours=30), now)
    ('3 minutes ago', '30 hours ago')
    """
    gone = (now - then).total_seconds()
    if gone < 0:
        return "ahead of this machine's clock"
    for most, unit, word in ((_HOUR_S, 60, "minute"), (2 * _DAY_S, _HOUR_S, "hour")):
        if gone < most:
            count = int(gone // unit)
            return f"{count} {word}{'' if count == 1 else 's'} ago"
    return f"{int(gone // _DAY_S)} days ago"


def size_words(count: int) -> str:
    """Return a number of bytes in words.

    Examples
    --------
    >>> size_words(1359872), size_words(70 * 2**30)
    ('1.3 MB', '70.0 GB')
    """
    for unit, word in ((2**30, "GB"), (2**20, "MB")):
        if count >= unit:
            return f"{count / unit:.1f} {word}"
    return f"{count / 1024:.0f} kB"


@router.get("/keeping", response_class=HTMLResponse)
def show_keeping(request: Request) -> HTMLResponse:
    """Show the copies, the disk, and the steps for a bad day."""
    return _shown(request)


@router.post("/keeping", response_class=HTMLResponse)
def back_up_now(request: Request, _fields: Posted) -> Response:
    """Make a copy now; writers go on meanwhile."""
    keeper = _keeper(request)
    if keeper is None:
        return _shown(request, 409)
    try:
        made = keeper.make()
    except CollopError:
        return _shown(request, 503)
    return RedirectResponse(f"/keeping?made={made.path.name}", status_code=303)


def _shown(request: Request, status: int = 200) -> HTMLResponse:
    keeper = _keeper(request)
    now = datetime.now(tz=UTC)
    kept: list[dict[str, Any]] = []
    trouble, look = "", None
    if keeper is not None:
        trouble = keeper.state.trouble
        look, wrong = _look(keeper.path)
        trouble = trouble or wrong
        kept = [_row(one.path, one.note, one.made_at, now) for one in keeper.kept()]
    noted = [one for one in kept if one["note"]]
    return page(
        request, "keeping.html", status=status, keeper=keeper, kept=kept, trouble=trouble,
        look=look, size=size_words, made=request.query_params.get("made", ""),
        newest=noted[0] if noted else None,
    )  # fmt: skip


def _look(path: Path) -> tuple[DiskLook | None, str]:
    try:
        return look_at_disk(path), ""
    except CollopError as error:
        return None, error.message


def _row(path: Path, note: object, made_at: datetime, now: datetime) -> dict[str, Any]:
    return {"name": path.name, "path": str(path), "note": note, "age": age_words(made_at, now),
            "size": size_words(path.stat().st_size),
            "made_at": made_at.astimezone().replace(tzinfo=None)}  # fmt: skip
