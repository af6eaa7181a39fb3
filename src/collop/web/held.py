"""A form that met a shut door: carried through the sign-in page and sent again as it was.

Nothing of it is kept on the server. Its fields stand hidden in the sign-in page, its idempotency
key among them, so that it is done once however often it is sent.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from urllib.parse import urlsplit

from fastapi import Request
from starlette.exceptions import HTTPException

from collop.web.bodies import MOST_BYTES

__all__ = ["Held", "held_again", "held_of", "own_path"]

_PREFIX = "held."
_TO = "held-to"
_MOST_FIELDS = 400
#: The sign-in form has to fit into the largest form together with what it carries.
_MOST_HELD = MOST_BYTES * 3 // 4
_LONGEST_PATH = 2000
_DOOR = ("/sign-in", "/sign-out", "/first-run")


def own_path(text: str, default: str = "/ask") -> str:
    r"""Return `text` if it is an address within this shop, else `default`.

    A browser reads ``//host`` and ``/\host`` as another site and drops tabs and line ends while it
    reads, so an address with any of these is not followed; nor is one of the door itself.
    """
    if not text.startswith("/") or text.startswith("//") or len(text) > _LONGEST_PATH:
        return default
    if "\\" in text or not text.isascii() or not text.isprintable():
        return default
    try:
        parts = urlsplit(text)
    except ValueError:
        return default
    if parts.scheme or parts.netloc or parts.path in _DOOR:
        return default
    return text


@dataclass(frozen=True, slots=True)
class Held:
    """A form and where it goes; `is_whole` is false if something of it could not be carried."""

    to: str
    pairs: tuple[tuple[str, str], ...]
    is_whole: bool = True

    def hidden(self) -> tuple[tuple[str, str], ...]:
        """Return names and texts of the hidden fields that carry it through the sign-in page."""
        return ((_TO, self.to), *((_PREFIX + name, text) for name, text in self.pairs))

    def named_person(self) -> str:
        """Return whom the form itself named; empty if nobody."""
        return next((text.strip() for name, text in self.pairs if name == "by"), "")


async def held_of(request: Request) -> Held | None:
    """Return the form of a request that changes something; None for a request that reads.

    A file is left out, and a form too long to carry through a second one is left whole: the person
    is told, and the browser's way back has it still.
    """
    if request.method != "POST" or own_path(request.url.path, "") == "":
        return None
    query = f"?{request.url.query}" if request.url.query else ""
    to = own_path(request.url.path + query, "")
    try:
        form = await request.form(max_files=1, max_fields=_MOST_FIELDS, max_part_size=MOST_BYTES)
    except HTTPException:
        return Held(to, (), is_whole=False)
    texts = [(name, text) for name, text in form.multi_items() if isinstance(text, str)]
    has_file = len(texts) < len(form.multi_items())
    await form.close()
    if sum(len(name) + len(text) for name, text in texts) > _MOST_HELD:
        return Held(to, (), is_whole=False)
    return Held(to, tuple(texts), is_whole=not has_file)


def held_again(pairs: Iterable[tuple[str, str]]) -> Held | None:
    """Return the form that a sign-in form carries; None if it carries none."""
    texts = list(pairs)
    to = next((own_path(text, "") for name, text in texts if name == _TO), "")
    if not to:
        return None
    carried = [(name[len(_PREFIX) :], text) for name, text in texts if name.startswith(_PREFIX)]
    return Held(to, tuple(carried))
