"""Which action each address is: what a post may do is decided here, on the server.

Every address that changes something, and every one that gives records away, stands in `ACTION_OF`;
the actions and the posts that may do them stand in `collop.shop.access_roles`. An address that
changes something and is not in the list is the owner's alone, so a forgotten line shuts a door and
opens none. Reading needs the action ``read``, which every post has.

References
----------
.. [1] OWASP ASVS 5.0, 8.2.1, 8.2.2 and 8.3.1: permission is checked on the server for each function
   and each record.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import Any

from fastapi import FastAPI, Request
from fastapi.routing import APIRoute

from collop.shop.access_model import Post
from collop.shop.access_roles import ACTIONS, may

__all__ = [
    "ACTION_OF", "POST_WORDS", "NotYours", "action_of", "check_action", "posts_in_words",
    "routes_of", "who_sends",
]  # fmt: skip

#: What each post is called.
POST_WORDS = {
    Post.OWNER: "owner", Post.CUTTER: "cutter", Post.COUNTER: "counter hand",
    Post.APPRENTICE: "apprentice",
}  # fmt: skip

_READING = frozenset({"GET", "HEAD", "OPTIONS"})
_ONE_BY_ONE: Mapping[str, Iterable[str]] = {
    "read": (
        "POST /device", "POST /device/units",
        "POST /chalk/{tag:path}/pulls",
        "POST /people/me/password", "POST /people/me/pin", "POST /people/me/out",
        "POST /sign-in", "POST /sign-out", "POST /first-run", "POST /people/lock",
        "POST /waiting/given-up", "POST /cards",
    ),
    "ask": ("POST /ask/spread", "POST /ask/quote"),
    "book": (
        "POST /ask/book/{quote_id}", "POST /free-by/book", "POST /hook/set-aside",
        "POST /hook/{booking_id}/release", "POST /hook/{booking_id}/undo",
        "POST /hook/{booking_id}/add", "POST /hook/{booking_id}/ate",
        "POST /hook/{booking_id}/pick-up/choose", "POST /hook/{booking_id}/pick-up/renew",
        "POST /hook/{booking_id}/pick-up/without", "POST /hook/{booking_id}/pick-up/stop",
        "POST /hook/{booking_id}/fire", "POST /hook/{booking_id}/fire/address",
        "POST /hook/{booking_id}/fire/renew", "POST /freezer/book",
    ),
    "hand-over": (
        "POST /hook/{booking_id}/hand-over", "POST /hook/{booking_id}/pick-up/weigh",
    ),
    "sell": ("POST /sell", "POST /sell/{name}/money"),
    "take-back": ("POST /sell/{name}/back", "POST /sell/{name}/all-back"),
    "weigh": (
        "POST /hook/{booking_id}/state", "POST /works", "POST /works/take-back",
        "POST /rail/receive", "POST /rail/{tag:path}/weigh", "POST /knife",
        "POST /knife/{number:int}", "POST /daybook/batch/begin", "POST /daybook/mince/begin",
        "POST /daybook/batch/{code}/{act}", "POST /daybook/mince/{code}/{act}",
        "POST /put-away", "POST /put-away/count", "POST /scale",
        "POST /bench/done", "POST /bench/undo", "POST /bench/off", "POST /bench/seen",
        "POST /bench/clean", "POST /bench/clean/back", "POST /lockup/line/{case_id}/count",
        "POST /freezer/{booking_id}/pack", "POST /tickets", "POST /tickets/booking/{booking_id}",
        "POST /tickets/{name}/again", "POST /tickets/{name}/void",
    ),
    "note": (
        "POST /daybook/cold", "POST /daybook/clean", "POST /daybook/clean/back",
        "POST /daybook/receive", "POST /daybook/scale", "POST /daybook/probe",
        "POST /daybook/line/{line_id}/correct", "POST /daybook/cooled", "POST /daybook/note",
    ),
    "mark-down": ("POST /case/mark-down",),
    "price": ("POST /case/new", "POST /chalk/line/{case_id}", "POST /chalk/{tag:path}"),
    "plan": (
        "POST /standing/make", "POST /standing/new", "POST /standing/{order_id}/do",
        "POST /standing/{order_id}/change", "POST /rail/{tag:path}/plan", "POST /styles",
        "POST /bench/plan", "POST /farm-order", "POST /farm-order/{name}/back",
        "POST /learning/test", "POST /learning/test/back", "POST /long-list/day",
        "POST /buying/new", "POST /buying/{name}/off", "POST /freezer/new",
    ),
    "lock-up": (
        "POST /lockup", "POST /lockup/undo", "POST /lockup/line/{case_id}/do",
        "POST /papers/back/{kind}",
    ),
    "recall": (
        "POST /recall/drill", "GET /recall.csv", "GET /recall.json", "GET /daybook/export.csv",
        "GET /daybook/batch/{code}/csv", "GET /daybook/mince/{code}/csv",
    ),
    "settings": (
        "POST /case/{case_id}/cook", "POST /hook/feed", "POST /chalk/choices",
        "POST /rules/{rule_id}", "POST /daybook/places", "POST /tickets/tares",
        "POST /tickets/line/{case_id}", "POST /people/devices",
        "POST /people/devices/{number:int}/forget",
    ),
    "people": (
        "GET /people", "POST /people", "POST /people/{who}/post", "POST /people/{who}/leaves",
        "POST /people/{who}/password", "POST /people/{who}/pin",
        "POST /people/sessions/{number:int}/end",
    ),
    "records": (
        "GET /exchange", "POST /exchange", "GET /exchange/everything.zip",
        "GET /exchange/{name}.csv", "GET /takings.csv", "GET /log",
        "GET /keeping", "POST /keeping",
    ),
}  # fmt: skip
#: Method and address pattern to the id of its action.
ACTION_OF: Mapping[str, str] = {
    address: action for action, addresses in _ONE_BY_ONE.items() for address in addresses
}


class NotYours(Exception):
    """The post of the signed-in person may not do this.

    Parameters
    ----------
    action : str or None
        Id of the action; None for an address that is in no list, which is the owner's alone.
    """

    def __init__(self, action: str | None) -> None:
        super().__init__(action)
        self.action = action


def action_of(method: str, path: str) -> str | None:
    """Return the action of an address pattern; None if only the owner may."""
    method = "GET" if method == "HEAD" else method
    listed = ACTION_OF.get(f"{method} {path}")
    return listed or ("read" if method in _READING else None)


def posts_in_words(posts: Collection[Post]) -> str:
    """Return posts as words, e.g. ``the owner or the cutter``."""
    told = [f"the {POST_WORDS[post]}" for post in Post if post in posts]
    return " or ".join([", ".join(told[:-1]), told[-1]]) if len(told) > 1 else told[0]


def who_sends(request: Request, post: Post | None) -> str:
    """Return who may send the form of this page, if somebody of `post` may only look at it.

    Empty if they may, if nobody is signed in, or if the page has no form of its own address.
    """
    route = request.scope.get("route")
    action = ACTION_OF.get(f"POST {getattr(route, 'path', '')}")
    if post is None or action is None or may(post, action):
        return ""
    return posts_in_words(ACTIONS[action].posts)


async def check_action(request: Request) -> None:
    """Let the request through to its page, or refuse it; a dependency of every page.

    Raises
    ------
    NotYours
        If somebody is signed in whose post may not do this, or nobody looked at the door.
    """
    door_pass: Any = getattr(request.state, "door_pass", None)
    if door_pass is None:
        raise NotYours(None)
    if door_pass.session is None:
        return  # a public page, or a shop that is open to all: the guard has decided
    action = action_of(request.method, request.scope["route"].path)
    post = door_pass.session.member.post
    if not (may(post, action) if action else post is Post.OWNER):
        raise NotYours(action)


def routes_of(app: FastAPI) -> Iterator[tuple[str, APIRoute]]:
    """Yield method and route of every page of an application, however deep its routers stand."""
    yield from _within(app.routes)


def _within(routes: Iterable[Any]) -> Iterator[tuple[str, APIRoute]]:
    for route in routes:
        if isinstance(route, APIRoute):
            for method in sorted(route.methods or ()):
                yield method, route
        elif (router := getattr(route, "original_router", None)) is not None:
            yield from _within(router.routes)
