"""Changing a setting: validated, in one act, and kept with who, when and why."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import insert, select, update
from sqlalchemy.engine import Connection

from collop.errors import BadValue
from collop.shop.acts import Act, Room, once
from collop.shop.model import SettingChange, Settings
from collop.shop.pricing_choices import read_choice
from collop.shop.settings import kept, load_settings
from collop.shop.tables import setting_changes, settings

__all__ = ["change_settings", "setting_history", "write_settings"]

_LONGEST = 200


def _wanted(changes: Mapping[str, object], chosen: Settings) -> dict[str, Any]:
    """Return the new value of each setting that is named."""
    found = {}
    for name, value in changes.items():
        read = read_choice(str(name), value)
        if name == "worths":  # kinds that are not named keep their worth
            read = {**chosen.worths, **read}
        found[name] = read
    return found


def _keep(act: Act, name: str, before: object, value: object, why: str) -> None:
    there = select(settings.c.name).where(settings.c.name == name)
    if act.conn.execute(there).first() is None:
        act.conn.execute(insert(settings).values(name=name, value=value))
    else:
        act.conn.execute(update(settings).where(settings.c.name == name).values(value=value))
    act.conn.execute(
        insert(setting_changes).values(
            name=name, before=before, value=value, at=act.at, why=why[:_LONGEST], by_id=act.by,
            key=act.key,
        )
    )  # fmt: skip


def write_settings(act: Act, changes: Mapping[str, object], why: str) -> int:
    """Write settings within an act, and return how many were changed; as `change_settings`.

    Raises
    ------
    BadValue
        If one is not a setting that may be changed, or a value is out of its range.
    """
    done = 0
    for name, value in _wanted(changes, act.settings).items():
        before, after = kept(name, getattr(act.settings, name)), kept(name, value)
        if before != after:
            _keep(act, name, before, after, why.strip())
            done += 1
    return done


def change_settings(
    room: Room, changes: Mapping[str, object], *, by: str, why: str, key: str
) -> Settings:
    """Change settings, all of them or none; one that stays as it is is not written down.

    Parameters
    ----------
    room : Room
        Database and clock.
    changes : mapping of str to object
        New values by name; see `collop.shop.pricing_choices.ALL_CHOICES`. Amounts as text,
        `Decimal` or whole number. Of `worths`, the kinds that are named.
    by, why, key : str
        Person, reason and idempotency key.

    Returns
    -------
    Settings
        All of the shop's settings after it.

    Raises
    ------
    BadValue
        If nothing or no reason is given, a setting is not one of these, or a value is out of
        its range.
    """
    if not why.strip():
        raise BadValue("Say why the settings change; a word or two will do.", where="why")
    if not changes:
        raise BadValue("Name at least one setting to change.", where="changes")

    def work(act: Act) -> str:
        return str(write_settings(act, changes, why))

    once(room, "settings", [dict(changes), why], by=by, key=key, work=work)
    with room.store.read() as conn:
        return load_settings(conn)


def setting_history(conn: Connection) -> tuple[SettingChange, ...]:
    """Return every change of a setting, oldest first; values as they are kept."""
    rows = conn.execute(select(setting_changes).order_by(setting_changes.c.seq))
    return tuple(
        SettingChange(row.name, row.before, row.value, row.at, row.by_id, row.why) for row in rows
    )
