"""Quotes: prices a customer has seen, held for the shop's stated time. They reserve nothing."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import insert, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, NotFound, QuoteLapsed
from collop.measures import Money, sum_money
from collop.shop.acts import Act, Room, once
from collop.shop.lines import at_board, checked_lines, line_row, priced_of
from collop.shop.model import NewLine, Quote
from collop.shop.settings import load_settings
from collop.shop.tables import case_lines, quote_lines, quotes

__all__ = ["checked_json", "load_quote", "make_quote", "number_in"]

_MOST_TEXT = 400
_MOST_JSON = 200_000
_HIGHEST_NUMBER = 2**53


def number_in(letter: str, name: str, what: str) -> int:
    """Return the number of an id such as ``H12``.

    Raises
    ------
    NotFound
        If the text is no such id.
    """
    match = re.fullmatch(rf"{letter}([1-9][0-9]{{0,15}})", name.strip().upper(), re.ASCII)
    if match is None or int(match[1]) > _HIGHEST_NUMBER:
        raise NotFound(f"There is no {what} {name[:40]!r}; look it up by name.", where=what)
    return int(match[1])


def checked_json(value: Mapping[str, Any], what: str) -> dict[str, Any]:
    """Return `value` as plain JSON, or say that it is none."""
    try:
        text = json.dumps(value, allow_nan=False)
    except (TypeError, ValueError, RecursionError):
        raise BadValue(f"The {what} is not plain JSON.", where=what) from None
    if len(text) > _MOST_JSON:
        raise BadValue(f"The {what} is too long to keep.", where=what)
    found: dict[str, Any] = json.loads(text)
    return found


def load_quote(conn: Connection, number: int, currency: str) -> Quote:
    """Return one quote.

    Raises
    ------
    NotFound
        If there is none of that number.
    """
    row = conn.execute(select(quotes).where(quotes.c.number == number)).first()
    if row is None:
        raise NotFound(f"There is no quote Q{number}; quote again.", where="quote")
    lines = conn.execute(
        select(quote_lines, case_lines.c.name)
        .join(case_lines, case_lines.c.id == quote_lines.c.case_id)
        .where(quote_lines.c.quote_number == number)
        .order_by(quote_lines.c.position)
    )
    return Quote(
        id=f"Q{number}",
        lines=tuple(priced_of(line, line.name, currency) for line in lines),
        ask=row.ask,
        plan=row.plan,
        say=row.say,
        total=Money(row.total, currency),
        made_at=row.made_at,
        held_until=row.held_until,
    )


def _store(act: Act, lines: Sequence[NewLine], shown: Money | None, kept: dict[str, Any]) -> int:
    priced = at_board(act, lines)
    total = sum_money((line.line_total for line in priced), act.settings.currency)
    if shown is not None and shown != total:
        raise QuoteLapsed(
            f"The board has moved: these lines are {total} now, not {shown}; show the new total.",
            where="total",
        )
    held_until: datetime = act.at + timedelta(minutes=act.settings.quote_hold_minutes)
    result = act.conn.execute(
        insert(quotes).values(
            **kept, total=total.minor, made_at=act.at, held_until=held_until, by_id=act.by,
            key=act.key,
        )
    )  # fmt: skip
    key = result.inserted_primary_key
    assert key is not None
    rows = [line_row(line, at) | {"quote_number": key[0]} for at, line in enumerate(priced, 1)]
    act.conn.execute(insert(quote_lines), rows)
    return int(key[0])


def make_quote(
    room: Room,
    lines: Sequence[NewLine],
    *,
    ask: Mapping[str, Any],
    say: str | None,
    plan: Mapping[str, Any] | None,
    total: Money | None,
    by: str | None,
    key: str,
) -> Quote:
    """Hold the board prices of `lines` for the shop's holding time.

    Raises
    ------
    QuoteLapsed
        If `total`, which the customer has seen, is no longer what the board gives.
    NotFound
        If a line names no case line.
    BadValue
        If a line has no weight, or `ask` or `plan` is no plain JSON.
    """
    lines = checked_lines(lines)
    if say is not None and len(say) > _MOST_TEXT:
        raise BadValue(f"The say-line is longer than {_MOST_TEXT} characters.", where="say")
    kept = {
        "ask": checked_json(ask, "ask"),
        "plan": None if plan is None else checked_json(plan, "plan"),
        "say": say,
    }
    request = [lines, kept, total]

    def work(act: Act) -> str:
        return f"Q{_store(act, lines, total, kept)}"

    answer = once(room, "quote", request, by=by, key=key, work=work)
    with room.store.read() as conn:
        chosen = load_settings(conn)
        return load_quote(conn, number_in("Q", answer, "quote"), chosen.currency)
