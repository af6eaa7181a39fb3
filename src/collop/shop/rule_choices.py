"""What the shop chose among the rules: every change with who, when and why; the newest counts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import insert, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue
from collop.rules.choosing import check_choice, in_force, setting, settings
from collop.shop.acts import Act, Room, once
from collop.shop.day_tables import rule_choices

__all__ = ["RuleChange", "RuleChoices", "load_rule_choices"]

_LONGEST_WHY = 200
_SHORTEST_WHY = 3


@dataclass(frozen=True, slots=True)
class RuleChange:
    """One change of a setting of the rules.

    Parameters
    ----------
    name : str
        Of the setting.
    before, value : str
        Former and new value in force; empty if it had none.
    at : datetime
        When.
    by : str or None
        Who.
    why : str
        The reason given.
    """

    name: str
    before: str
    value: str
    at: datetime
    by: str | None
    why: str


def load_rule_choices(conn: Connection) -> dict[str, str]:
    """Return what the shop chose, by the name of the setting; what stands as published is left out.

    A setting that is no more is left out too.
    """
    query = select(rule_choices.c.name, rule_choices.c.value).order_by(rule_choices.c.seq)
    found = {row.name: row.value for row in conn.execute(query)}
    known = {one.name for one in settings()}
    return {name: value for name, value in found.items() if value and name in known}


class RuleChoices:
    """The shop's choices among the rules. Reached as `Shop.rules`.

    Safe to share between threads.

    Parameters
    ----------
    room : Room
        Database and clock.
    """

    def __init__(self, room: Room) -> None:
        self._room = room

    def chosen(self) -> Mapping[str, str]:
        """Return what the shop chose; give it to the functions of `collop.rules`."""
        with self._room.store.read() as conn:
            return load_rule_choices(conn)

    def change(self, name: str, value: object, *, why: str, by: str, key: str) -> str:
        """Change one setting, and keep who, when and why; the same value again is not written.

        Parameters
        ----------
        name : str
            Of the setting; see `collop.rules.settings`.
        value : object
            As `collop.rules.check_choice` takes it; empty goes back to what is published.
        why, by, key : str
            Reason, person and idempotency key.

        Returns
        -------
        str
            The value in force after it.

        Raises
        ------
        BadValue
            If no reason is given, there is no such setting, or the value is laxer than published.
        """
        reason = why.strip()
        if not _SHORTEST_WHY <= len(reason) <= _LONGEST_WHY or not reason.isprintable():
            raise BadValue(f"Why: write the reason in {_SHORTEST_WHY} to {_LONGEST_WHY} letters.",
                           where="why")  # fmt: skip

        def work(act: Act) -> str:
            chosen = load_rule_choices(act.conn)
            kept = check_choice(name, value, chosen)
            after = in_force(name, {**chosen, name: kept})
            if kept != chosen.get(name, ""):
                _keep(act, name, kept, reason)
            return after

        request = [name, None if value is None else str(value), reason]
        return once(self._room, "rule choice", request, by=by, key=key, work=work)

    def history(self) -> tuple[RuleChange, ...]:
        """Return every change, oldest first."""
        query = select(rule_choices).order_by(rule_choices.c.seq)
        with self._room.store.read() as conn:
            rows = list(conn.execute(query))
        chosen: dict[str, str] = {}
        found = []
        for row in rows:
            before = _told(row.name, chosen)
            chosen[row.name] = row.value
            found.append(RuleChange(row.name, before, _told(row.name, chosen), row.at, row.by_id,
                                    row.why))  # fmt: skip
        return tuple(found)


def _told(name: str, chosen: Mapping[str, str]) -> str:
    try:
        return setting(name).told(in_force(name, chosen))
    except BadValue:  # a setting that is no more keeps what was written
        return chosen.get(name, "")


def _keep(act: Act, name: str, value: str, why: str) -> None:
    act.conn.execute(
        insert(rule_choices).values(
            name=name, value=value, why=why, at=act.at, by_id=act.by, key=act.key
        )
    )
