"""The demo shop on Monday at 06:00, the breaking day, with everything still on the rail."""

from __future__ import annotations

import shutil

from collop.measures import Weight, WeightUnit
from collop.shop import DEMO_MONDAY, StillClock, create_shop, open_shop

_MADE = []


def monday_file(tmp_path_factory):
    """Return one such shop; it is copied, never written."""
    if not _MADE:
        path = tmp_path_factory.mktemp("monday") / "shop.db"
        clock = StillClock(DEMO_MONDAY)
        create_shop(f"sqlite:///{path}", demo=True, day="monday", clock=clock).close()
        _MADE.append(path)
    return _MADE[0]


def open_monday(tmp_path_factory, tmp_path):
    """Open a copy of it."""
    path = tmp_path / "monday.db"
    shutil.copy(monday_file(tmp_path_factory), path)
    return open_shop(f"sqlite:///{path}", StillClock(DEMO_MONDAY))


def pounds(text):
    """Return a weight in pounds."""
    return Weight.of(text, WeightUnit.LB)


def hanging(shop, tag):
    """Return the piece with this tag; None if it does not hang."""
    return next((piece for piece in shop.rail() if piece.tag == tag), None)
