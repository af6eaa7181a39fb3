"""A core temperature over time, or temperatures to look up in a published table; from JSON."""

from __future__ import annotations

from dataclasses import dataclass

from collop.fire.lethality_tables import BEEF, TABLES, DeathTable, death_table
from collop.wire import Reader, checked_number

__all__ = ["COOK_AS", "MOST_LOG", "MOST_READINGS", "SCHEMA_ID", "TREATMENTS", "Count", "read_count"]

SCHEMA_ID = "collop.lethality/1"
#: How a piece was made up before it was cooked; all but the first count as ground.
TREATMENTS = ("whole", "tenderised", "injected", "rolled", "ground")
COOK_AS = ("whole", "ground", "poultry")
MOST_READINGS = 20_000
#: Beyond this nobody has counted.
MOST_LOG = 12.0
_KEYS = ("schema", "table", "log_reduction", "fat_pct", "history", "at_c", "cook_as", "treatment")
_LOW_C, _HIGH_C = -40.0, 150.0
_LONGEST_MIN = 100_000.0


@dataclass(frozen=True, slots=True)
class Count:
    """What is to be counted.

    Parameters
    ----------
    table : DeathTable
        The published table, with its column.
    target : float
        Log reduction asked for.
    fat_pct : float or None
        Fat of the meat, as given [%].
    cook_as : str
        Which published minimum rules: ``whole``, ``ground`` or ``poultry``.
    treatment : str
        One of `TREATMENTS`.
    minutes, core_c : tuple of float
        The history [min, degC]; empty if temperatures are looked up.
    at_c : tuple of tuple of str and float
        Temperatures to look up, with the text they were given as [degC].
    """

    table: DeathTable
    target: float
    fat_pct: float | None
    cook_as: str
    treatment: str
    minutes: tuple[float, ...]
    core_c: tuple[float, ...]
    at_c: tuple[tuple[str, float], ...]


def read_count(value: object) -> Count:
    """Read one problem of lethality.

    Parameters
    ----------
    value : object
        Parsed JSON of the ``collop.lethality/1`` contract.

    Raises
    ------
    BadValue
        With the path of the first bad value.
    """
    top = Reader(value, "$", _KEYS)
    top.choice("schema", [SCHEMA_ID])
    name = top.choice("table", TABLES)
    target = top.number("log_reduction", 1.0, MOST_LOG, 6.5 if name == BEEF else 7.0)
    fat = top.number("fat_pct", 0.0, 60.0, None)
    treatment = top.choice("treatment", TREATMENTS, TREATMENTS[0])
    cook_as = _cook_as(top, name, treatment)
    if top.has("history") == top.has("at_c"):
        raise top.fail("history", "or at_c must be given, and not both.")
    minutes, core = _history(top) if top.has("history") else ((), ())
    return Count(
        table=death_table(name, fat, target), target=target, fat_pct=fat, cook_as=cook_as,
        treatment=treatment, minutes=minutes, core_c=core,
        at_c=_looked_up(top) if top.has("at_c") else (),
    )  # fmt: skip


def _cook_as(top: Reader, table: str, treatment: str) -> str:
    """Return which minimum rules; a table of birds never goes with the minimum of beef."""
    bird = table != BEEF
    found = top.choice("cook_as", COOK_AS, "poultry" if bird else "whole")
    if bird != (found == "poultry"):
        raise top.fail(
            "cook_as", f"is {found!r}, but {table} is not of that meat; leave it out, or choose "
            "the other table."
        )  # fmt: skip
    return "ground" if found == "whole" and treatment != TREATMENTS[0] else found


def _history(top: Reader) -> tuple[tuple[float, ...], tuple[float, ...]]:
    count = len(top.items("history"))
    if not 2 <= count <= MOST_READINGS:
        raise top.fail("history", f"holds {count} readings; give from 2 to {MOST_READINGS}.")
    minutes: list[float] = []
    core: list[float] = []
    for path, value in top.each("history"):
        row = Reader(value, path, ("min", "core_c"))
        minute = row.number("min", -_LONGEST_MIN, _LONGEST_MIN)
        if minutes and minute <= minutes[-1]:
            raise row.fail("min", f"is {minute:g}, not later than the reading before; sort them.")
        minutes.append(minute)
        core.append(row.number("core_c", _LOW_C, _HIGH_C))
    return tuple(minutes), tuple(core)


def _looked_up(top: Reader) -> tuple[tuple[str, float], ...]:
    count = len(top.items("at_c"))
    if not 1 <= count <= MOST_READINGS:
        raise top.fail("at_c", f"holds {count} temperatures; give from 1 to {MOST_READINGS}.")
    return tuple(
        (str(value), checked_number(value, _LOW_C, _HIGH_C, path))
        for path, value in top.each("at_c")
    )
