"""The settings of the rules: what is in force, and refusing what is laxer than published.

A shop may be stricter than a published rule, or take another published edition. What it chose is
a mapping of names to text, in which a name that is missing stands as published.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from types import MappingProxyType

from collop.errors import BadValue
from collop.reference.rulebook import rule_row
from collop.reference.sources import FROM_MEMORY
from collop.rules.choosing_list import settings_list
from collop.rules.editions import edition_of
from collop.rules.settings_model import Setting, counted, plain, read_figure

__all__ = ["NOTHING_CHOSEN", "check_choice", "figure", "in_force", "limit_of", "setting",
           "settings"]  # fmt: skip

#: What a shop has chosen that stands as published.
NOTHING_CHOSEN: Mapping[str, str] = MappingProxyType({})
_LONGEST_WORDS = 40


def settings() -> tuple[Setting, ...]:
    """Return every setting, in the order of the page."""
    return tuple(settings_list().values())


def setting(name: str) -> Setting:
    """Return one setting.

    Raises
    ------
    BadValue
        If there is none of that name.
    """
    found = settings_list().get(name)
    if found is None:
        raise BadValue(f"There is no setting {str(name)[:40]!r} among the rules; "
                       "see the page Rules.", where="name")  # fmt: skip
    return found


def limit_of(name: str, chosen: Mapping[str, str] = NOTHING_CHOSEN) -> Decimal | None:
    """Return the published figure a setting may not be laxer than, None if there is none.

    For the days of a vacuum pack it is that of the edition chosen.
    """
    if name == "pack_days":
        return Decimal(edition_of(chosen).pack_days)
    found = setting(name)
    return Decimal(found.limit) if found.is_figure and found.limit else None


def _laxer(one: Setting, value: Decimal, limit: Decimal) -> bool:
    return value > limit if one.stricter == "lower" else value < limit


def _standing(one: Setting, chosen: Mapping[str, str]) -> str:
    """Return what stands where nothing was chosen."""
    return str(limit_of(one.name, chosen)) if one.name == "pack_days" else one.default


def in_force(name: str, chosen: Mapping[str, str] = NOTHING_CHOSEN) -> str:
    """Return the value of a setting: as chosen, else as it stands; empty if there is none.

    What was chosen under one edition and is laxer than another gives way to that other.
    """
    one = setting(name)
    value = chosen.get(name) or _standing(one, chosen)
    limit = limit_of(name, chosen) if one.is_figure and one.stricter else None
    if limit is not None and value and _laxer(one, Decimal(value), limit):
        return plain(limit)
    return value


def figure(name: str, chosen: Mapping[str, str] = NOTHING_CHOSEN) -> Decimal:
    """Return the figure of a setting.

    Raises
    ------
    BadValue
        If it has none yet, or is no figure.

    Examples
    --------
    >>> str(figure("cold_limit_f")), str(figure("cold_limit_f", {"cold_limit_f": "38"}))
    ('41', '38')
    """
    value = in_force(name, chosen)
    if not value or not setting(name).is_figure:
        raise BadValue(f"{setting(name).label} is not set; set it among the rules.", where=name)
    return Decimal(value)


def check_choice(name: str, value: object, chosen: Mapping[str, str] = NOTHING_CHOSEN) -> str:
    """Return a choice as it is kept, or refuse what is laxer than published.

    Parameters
    ----------
    name : str
        Of the setting.
    value : object
        Text, whole number or `Decimal`; empty text or None goes back to what is published.
    chosen : mapping of str to str
        What else the shop chose; the edition is one of it.

    Raises
    ------
    BadValue
        One sentence with the source and the nearest figure that is allowed.

    Examples
    --------
    >>> check_choice("cold_limit_f", "40"), check_choice("pack_days", 14)
    ('40', '14')
    """
    one = setting(name)
    if one.elsewhere:
        where = f"it is changed on {one.elsewhere}"
        if one.elsewhere == "-":
            where = "it stands for as long as the shop does"
        raise BadValue(f"{one.label} is not changed here: {where}.", where=name)
    if value is None or value == "":
        return ""
    if one.is_figure:
        return _checked_figure(one, read_figure(one, value), chosen)
    text = value.strip() if isinstance(value, str) else ""
    if one.kind == "choice":
        if text not in dict(one.choices):
            known = ", ".join(key for key, _ in one.choices)
            raise BadValue(f"{one.label}: {str(value)[:30]!r} is not known; use one of {known}.",
                           where=name)  # fmt: skip
        return text
    if not 1 <= len(text) <= _LONGEST_WORDS or not text.isprintable():
        raise BadValue(f"{one.label}: write 1 to {_LONGEST_WORDS} letters.", where=name)
    return text


def _checked_figure(one: Setting, value: Decimal, chosen: Mapping[str, str]) -> str:
    limit = limit_of(one.name, chosen) if one.stricter else None
    if limit is None or not _laxer(one, value, limit):
        _sensible(one, value)
        return plain(value)
    row = edition_of(chosen).pack_row if one.name == "pack_days" else rule_row(one.rule_id)
    memory = "" if row.is_cited else f", {FROM_MEMORY}"
    side = "or less" if one.stricter == "lower" else "or more"
    raise BadValue(
        f"{one.label}: {counted(plain(value), one.unit)} is laxer than the "
        f"{counted(plain(limit), one.unit)} of "
        f"{row.source.title} ({row.rule_id}{memory}); give {plain(limit)} {side}.",
        where=one.name,
    )


def _sensible(one: Setting, value: Decimal) -> None:
    """Refuse a slip of the hand, such as a fridge at -200 F."""
    if not Decimal(one.low) <= value <= Decimal(one.high):
        raise BadValue(
            f"{one.label}: {counted(plain(value), one.unit)} is out of range; give {one.low} to "
            f"{one.high}.",
            where=one.name,
        )
