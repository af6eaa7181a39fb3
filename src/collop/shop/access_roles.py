"""What each post may do: one line for each action, with the reason it is drawn there.

Where the lines lie is common practice, no published source: who is trusted with money that goes
out, with prices, and with what tells of other people. That each function is checked on the server
is OWASP ASVS 5.0, 8.2.1 and 8.3.1 (source id ASVS5).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from collop.shop.access_model import Post

__all__ = ["ACTIONS", "Action", "may"]


@dataclass(frozen=True, slots=True)
class Action:
    """Something a post may do or not.

    Parameters
    ----------
    id : str
        Short name of it, which never changes.
    words : str
        What it is, to end the sentence "you may not ...".
    posts : frozenset of Post
        Who may.
    why : str
        Why the line is drawn there.
    """

    id: str
    words: str
    posts: frozenset[Post]
    why: str


_ALL = frozenset(Post)
_TRAINED = _ALL - {Post.APPRENTICE}
_OWNER = frozenset({Post.OWNER})
_BLOCK = frozenset({Post.OWNER, Post.CUTTER})
_GLASS = frozenset({Post.OWNER, Post.COUNTER})

_LINES = (
    Action("read", "read the pages", _ALL, "everybody who works here needs the day before them"),
    Action("ask", "work out an ask", _ALL, "it writes nothing but a quote"),
    Action("book", "book and change bookings", _ALL, "it holds weight and moves no money out"),
    Action("hand-over", "hand a booking over", _ALL, "weighed at the glass, at the board's price"),
    Action("sell", "sell at the glass", _ALL, "money comes in, at the board's price"),
    Action("take-back", "take meat back and give money back", _GLASS,
           "money goes out; the customer stands at the glass"),
    Action("weigh", "weigh, cut, count and put away", _ALL,
           "the daily work; each weight bears the name of who read it"),
    Action("note", "write in the Day Book", _ALL, "who reads the thermometer writes it down"),
    Action("mark-down", "mark down", _TRAINED, "a lower price, within the guard of the board"),
    Action("price", "put prices on the board", _BLOCK,
           "who cut the animal knows what it must bring; the glass sells at what the board says"),
    Action("plan", "plan the animals and the weeks ahead", _BLOCK,
           "it binds an animal, or the shop to a farm, for weeks"),
    Action("lock-up", "lock up the day", _TRAINED, "whoever closes, closes"),
    Action("recall", "trace and recall", _TRAINED, "it cannot wait until the owner is there"),
    Action("settings", "change what the shop chose", _OWNER,
           "rules, tares, cooking charts and known devices change what all others do"),
    Action("people", "change who works here", _OWNER, "it gives and takes every other right"),
    Action("records", "take records out or put them in", _OWNER,
           "names of customers, money and the log leave the shop, or are written over"),
)  # fmt: skip

#: Every action, by its id.
ACTIONS: Mapping[str, Action] = MappingProxyType({one.id: one for one in _LINES})


def may(post: Post, action: str) -> bool:
    """Tell whether a post may do an action; nobody may do one that is not known.

    Examples
    --------
    >>> may(Post.APPRENTICE, "sell"), may(Post.APPRENTICE, "price"), may(Post.OWNER, "fly")
    (True, False, False)
    """
    known = ACTIONS.get(action)
    return known is not None and post in known.posts
