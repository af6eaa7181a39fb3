"""docs/people.md and docs/log.md say what the door does."""

from __future__ import annotations

import re
from pathlib import Path

from collop.shop import access_secrets, access_sessions, access_throttle
from collop.shop.access_model import Post
from collop.shop.access_roles import ACTIONS, may

DOCS = Path(__file__).parents[2] / "docs"


def plain(name):
    return " ".join((DOCS / name).read_text(encoding="utf-8").split())


def test_the_table_of_posts_is_that_of_the_program():
    """Each action with its words, who may, and the reason, in order."""
    rows = re.findall(r"^\| `([a-z-]+)` (.*) \|$", (DOCS / "people.md").read_text(), re.MULTILINE)
    assert [action for action, _ in rows] == list(ACTIONS)
    for action, rest in rows:
        words, *cells, why = [cell.strip() for cell in rest.split("|")]
        assert (words, why) == (ACTIONS[action].words, ACTIONS[action].why)
        assert [cell == "yes" for cell in cells] == [may(post, action) for post in Post]


def test_the_figures_are_those_of_the_program():
    """Lengths, parameters, delays and limits."""
    text = plain("people.md")
    assert f"{access_secrets.SHORTEST_PASSWORD} to {access_secrets.LONGEST_PASSWORD} char" in text
    assert f"{access_secrets.SHORTEST_PIN} to {access_secrets.LONGEST_PIN} digits" in text
    assert f"{access_secrets.MEMORY_KIB} KiB, two passes and one lane" in text
    assert (access_secrets.PASSES, access_secrets.LANES) == (2, 1)
    assert f"{len(access_secrets._commonest()):,} that are tried first" in text
    assert f"with a password | {access_sessions.IDLE_S // 60} minutes" in text
    assert f"with a PIN | {access_sessions.PIN_IDLE_S // 60} minutes" in text
    assert f"longest | {access_sessions.ENDS_S // 3600} hours" in text
    assert f"After {access_throttle.FREE_TRIES} failures in a row" in text
    assert f"up to {access_throttle.LONGEST_DELAY_S} seconds" in text
    assert f"{access_throttle.ALARM_AT} failures within an hour" in text
    assert f"{access_throttle.ALARM_AT} refusals within an hour" in plain("log.md")


def test_every_kind_of_row_is_told():
    """docs/log.md names each kind that the program writes."""
    source = "".join(
        path.read_text(encoding="utf-8")
        for path in (DOCS.parent / "src/collop/shop").glob("access*.py")
    )
    kinds = set(re.findall(r'(?:_log\(conn|log_event\(conn), "([A-Za-z ]+)"', source))
    assert len(kinds) >= 9
    assert all(f"`{kind}`" in plain("log.md") for kind in kinds), kinds
