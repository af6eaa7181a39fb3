"""What is said to somebody whose post may not do a thing: what it is, who may, and whom to ask."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fastapi import Request
from fastapi.responses import Response
from starlette.concurrency import run_in_threadpool

from collop.shop.access_model import Post
from collop.shop.access_roles import ACTIONS
from collop.web.held import Held, held_of
from collop.web.permissions import NotYours, posts_in_words
from collop.web.rendering import page
from collop.web.room import room_of

if TYPE_CHECKING:
    from collections.abc import Collection

    from collop.shop.access_model import Member

__all__ = ["refuse"]

_MOST_NAMES = 3


async def refuse(request: Request, error: Exception) -> Response:
    """Answer 403 in plain words; what was sent is kept on the page for whoever may do it."""
    assert isinstance(error, NotYours)
    held = await held_of(request)
    return await run_in_threadpool(_page, request, error, held)


def _page(request: Request, error: NotYours, held: Held | None) -> Response:
    action = ACTIONS[error.action] if error.action else None
    posts = action.posts if action else {Post.OWNER}
    return page(
        request, "not_yours.html", status=403, held=held,
        what=f"You may not {action.words if action else 'do this'}",
        who_may=f"That is for {posts_in_words(posts)}.",
        ask=_names(room_of(request).shop.access.members(), posts),
    )  # fmt: skip


def _names(members: Collection[Member], posts: Collection[Post]) -> str:
    """Return whom to ask: the first few who may, highest post first; empty if nobody is there."""
    order = list(Post)
    able = [one for one in members if one.post in posts and one.works_here]
    able.sort(key=lambda one: order.index(one.post))
    names = [one.name for one in able[:_MOST_NAMES]]
    return " or ".join([", ".join(names[:-1]), names[-1]]) if len(names) > 1 else "".join(names)
