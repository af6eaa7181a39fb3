"""Who at the table does not eat what, and which plate is theirs."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from collop.errors import BadValue
from collop.reference import allergen_named
from collop.shop.fire_model import DontEat
from collop.shop.model import CaseLine
from collop.spread.contents import avoid_tags, tags_of

__all__ = ["ANIMALS", "avoid_word", "checked_dont_eats", "dont_eats_of", "plates"]

#: Animals a table may leave out, by name.
ANIMALS = (
    "beef", "veal", "pork", "lamb", "mutton", "goat", "chicken", "duck", "goose", "turkey",
    "rabbit", "venison",
)  # fmt: skip
_MOST = 20
_MOST_HEADS = 2000


def avoid_word(what: str) -> str:
    """Return the word of the spread contract for what somebody does not eat.

    Parameters
    ----------
    what : str
        An animal, an allergen, or ``meat``. An animal takes its casing with it.

    Raises
    ------
    BadValue
        If it is neither.

    Examples
    --------
    >>> avoid_word("pork")
    'species:pork'
    >>> avoid_word("sesame")
    'allergen:sesame'
    """
    name = what.strip().casefold()
    if name == "meat":
        return "meat"
    if name in ANIMALS:
        return f"species:{name}"
    if allergen_named(name) is not None:
        return f"allergen:{name}"
    raise BadValue(
        f"Don't eat: {what[:40]!r} is not known; name an animal, a declared allergen, or meat.",
        where="dont_eats",
    )


def checked_dont_eats(told: Iterable[DontEat]) -> tuple[DontEat, ...]:
    """Return don't-eats with known words, or say which is not.

    Raises
    ------
    BadValue
        If one is not known, counted below 1, or there are over twenty.
    """
    found = tuple(told)
    if len(found) > _MOST:
        raise BadValue(f"Don't eat: {len(found)} lines are over {_MOST}; join some.",
                       where="dont_eats")  # fmt: skip
    for one in found:
        avoid_word(one.what)
        if one.count is not None and not 1 <= one.count <= _MOST_HEADS:
            raise BadValue(f"Don't eat: {one.count} who eat no {one.what}; count from 1 to"
                           f" {_MOST_HEADS}.", where="dont_eats")  # fmt: skip
    return tuple(DontEat(one.what.strip().casefold(), one.count) for one in found)


def dont_eats_of(ask: Mapping[str, Any]) -> tuple[DontEat, ...] | None:
    """Return what a booking's ask says; None if it was never asked.

    Words that are not known are left out: the sheet asks again.
    """
    if "dont_eats" not in ask:
        return None
    found = []
    for text in _texts(ask["dont_eats"]):
        match = re.fullmatch(r"(\d{1,4}) no (.+)", text.strip())
        if match:
            found.append(DontEat(match[2], int(match[1])))
    meatless = ask.get("meat_free")
    if isinstance(meatless, int) and not isinstance(meatless, bool) and meatless > 0:
        found.append(DontEat("meat", meatless))
    found += [DontEat(name) for name in _texts(ask.get("contains"))]
    return tuple(one for one in found if _is_known(one))


def _texts(value: object) -> list[str]:
    return [text for text in value if isinstance(text, str)] if isinstance(value, list) else []


def _is_known(one: DontEat) -> bool:
    try:
        checked_dont_eats([one])
    except BadValue:
        return False
    return True


def plates(told: Sequence[DontEat], lines: Sequence[CaseLine]) -> list[dict[str, Any]]:
    """Return the ``dont_eats`` of a fire: what, how many, and which plate is theirs.

    Parameters
    ----------
    told : sequence of DontEat
        Of this table.
    lines : sequence of CaseLine
        What is cooked.
    """
    holds = {line.id: tags_of(line.species, line.casing, line.contains) for line in lines}
    found = []
    for one in told:
        avoided = avoid_tags([avoid_word(one.what)])
        bad = [line.name for line in lines if holds[line.id] & avoided]
        good = [line.name for line in lines if not holds[line.id] & avoided]
        plate = _plate(one.what, bad, good)
        found.append({"what": one.what, "count": one.count, "plate": plate})
    return found


def _plate(what: str, bad: Sequence[str], good: Sequence[str]) -> str:
    if not bad and allergen_named(what) is not None:
        return f"nothing here is declared with {what}, so any plate; if it is an allergy, ask us"
    if not bad:
        return f"nothing here has {what} in it, so any plate"
    if not good:
        return f"nothing here is for them; not: {'; '.join(bad)}"
    return f"own plate, own tool: {'; '.join(good)}. Not: {'; '.join(bad)}"
