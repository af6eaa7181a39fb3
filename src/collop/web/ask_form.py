"""The ask as a form: reading it, writing it back into an address, and the words it offers.

An ask lives in its address: the same address gives the same answer.  Only what differs from the
blank ask is written into it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from functools import partial
from types import MappingProxyType
from typing import Any
from urllib.parse import urlencode

from collop.errors import BadValue
from collop.web.forms import (
    Faults,
    Fields,
    Heads,
    read_amount,
    read_choice,
    read_day,
    read_heads,
    read_time,
    read_whole,
)

__all__ = [
    "AIMS",
    "ALLERGENS",
    "AVOIDS",
    "FIRES",
    "SLOTS",
    "STYLES",
    "Ask",
    "Avoid",
    "FireKind",
    "blank_when",
    "read_ask",
]


@dataclass(frozen=True, slots=True)
class FireKind:
    """A fire people of the town have, with its gross area [sq in]; 0 asks for it, or is none."""

    label: str
    area_sq_in: int


#: Common fires; their sizes are the shop's own measure and can be overtyped.
FIRES: Mapping[str, FireKind] = MappingProxyType(
    {
        "half-drum": FireKind("half drum", 1200),
        "big-drum": FireKind("big drum", 1800),
        "kettle": FireKind("balcony kettle", 154),
        "pit": FireKind("boathouse pit", 3000),
        "own": FireKind("another size", 0),
        "none": FireKind("no grill", 0),
    }
)
#: Dish styles planned for each way of eating: ounces for a whole meal of one usual adult.
STYLES: Mapping[str, Mapping[str, float]] = MappingProxyType(
    {
        "mixed": {"plate": 7.0, "shared": 6.0, "hand": 6.0},
        "plates": {"plate": 7.0, "shared": 6.0},
        "wraps": {"wrap": 5.0},
        "stew": {"stew": 4.0},
    }
)
SLOTS: Mapping[str, str] = MappingProxyType(
    {
        "centre": "centre",
        "goes-far": "goes far",
        "in-the-hand": "in the hand",
        "bird": "bird",
        "meat-free": "meat-free",
    }
)
#: What a part of the table may not eat, and the kernel's words for it.
AVOIDS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "pork": ("species:pork", "casing:hog"),
        "beef": ("species:beef", "casing:beef"),
        "lamb": ("species:lamb", "casing:sheep"),
        "goat": ("species:goat",),
        "chicken": ("species:chicken",),
        "duck": ("species:duck",),
        "milk": ("allergen:milk",),
        "wheat": ("allergen:wheat",),
    }
)
#: Declared allergens that take a food off the whole table.
ALLERGENS = ("sesame", "wheat", "milk", "egg", "soy", "peanut", "tree nut", "fish", "shellfish",
             "mustard", "celery")  # fmt: skip
AIMS: Mapping[str, str] = MappingProxyType(
    {
        "best-value": "Best value",
        "least-money": "Least money",
        "showpiece": "Showpiece",
        "variety": "Most variety",
        "helps-the-animal": "Helps the animal",
    }
)
_SHOWS = ("", "why", "swap")
_MOST_LIGHTER = 3
_PER = ("total", "head")


@dataclass(frozen=True, slots=True)
class Avoid:
    """Some of the heads do not eat one thing."""

    count: int
    what: str


@dataclass(frozen=True, slots=True)
class Ask:
    """What the customer said, and what the butcher did with it.

    Attributes
    ----------
    money : Decimal or None
        Most to spend, as a total or a head (`per`).
    to : Decimal or None
        Total the butcher balances to, below the customer's money.
    lighter : int
        How many times the portion was made ten per cent smaller.
    pins : tuple of str
        Lines that stay, as ``id``, ``id@weight`` or ``id@weight@style``.
    leave : tuple of str
        Lines that are left out of this ask.
    only : str
        The one line this table is to be fed with; empty for any.
    patch : tuple of str
        Accepted nearest yeses, as JSON merge patches on the problem.
    """

    heads: Heads
    day: date
    time: time
    child: int = 0
    big: int = 0
    meat_free: int = 0
    avoids: tuple[Avoid, ...] = ()
    contains: tuple[str, ...] = ()
    fire: str = "half-drum"
    area: Decimal = Decimal(1200)
    coals: int = 180
    oven: bool = True
    pots: int = 0
    usable: int = 80
    money: Decimal | None = None
    per: str = "total"
    style: str = "mixed"
    slots: tuple[str, ...] = ()
    only: str = ""
    pins: tuple[str, ...] = ()
    leave: tuple[str, ...] = ()
    aim: str = ""
    to: Decimal | None = None
    lighter: int = 0
    patch: tuple[str, ...] = ()
    show: str = ""

    @property
    def usual(self) -> int:
        """Return the heads of usual appetite."""
        return self.heads.planned - self.child - self.big - self.meat_free

    @property
    def budget(self) -> Decimal | None:
        """Return the customer's money as a total."""
        if self.money is None or self.per == "total":
            return self.money
        return self.money * self.heads.planned

    @property
    def use_at(self) -> datetime:
        """Return when the food is eaten, in shop time."""
        return datetime.combine(self.day, self.time)

    def pairs(self) -> list[tuple[str, str]]:
        """Return the ask as form texts, without what is blank anyway."""
        blank = Ask(self.heads, self.day, self.time, area=Decimal(_area_of(self.fire)))
        texts: list[tuple[str, str]] = [("heads", self.heads.text)]
        for name in ("child", "big", "meat_free", "fire", "area", "coals", "pots", "usable",
                     "money", "per", "style", "only", "aim", "to", "lighter"):  # fmt: skip
            value = getattr(self, name)
            if value != getattr(blank, name):
                texts.append((name, str(value)))
        texts += [("day", self.day.isoformat()), ("time", f"{self.time:%H:%M}")]
        if not self.oven:
            texts.append(("oven", "no"))
        for avoid in self.avoids:
            texts += [("no_n", str(avoid.count)), ("no_what", avoid.what)]
        for name, values in (("contains", self.contains), ("slot", self.slots), ("pin", self.pins),
                             ("leave", self.leave), ("patch", self.patch)):  # fmt: skip
            texts += [(name, value) for value in values]
        return texts

    def query(self) -> str:
        """Return the ask as the query part of its address."""
        return urlencode(self.pairs())


def _area_of(fire: str) -> int:
    return FIRES[fire].area_sq_in


def _first_meal(now: datetime) -> datetime:
    day = now.date() if now.hour < 15 else now.date() + timedelta(days=1)
    return datetime.combine(day, time(18, 30))


def blank_when(fields: Fields, now: datetime) -> tuple[str, str]:
    """Return the day and time a form starts with."""
    meal = _first_meal(now)
    return fields.one("day") or meal.date().isoformat(), fields.one("time") or f"{meal:%H:%M}"


def read_ask(fields: Fields, now: datetime) -> tuple[Ask, Faults]:
    """Read a form into an ask.

    Parameters
    ----------
    fields : Fields
        Texts as typed.
    now : datetime
        Shop time; an earlier meal is refused.

    Returns
    -------
    Ask, Faults
        With faults, the ask holds stand-ins in the faulty places and must not be planned.
    """
    faults = Faults()
    day_text, time_text = blank_when(fields, now)
    heads = faults.take("heads", lambda: read_heads(fields.one("heads")), Heads(1, 1))
    day = faults.take("day", lambda: read_day(day_text, "Day", first=now.date()), now.date())
    at = faults.take("time", lambda: read_time(time_text, "Time"), now.time())
    if not faults and datetime.combine(day, at) < now:
        faults.add("time", f"Time: {at:%H:%M} is past; choose a time after {now:%H:%M}.")
    kinds: dict[str, Any] = {
        name: _count(fields, name, label, faults) for name, label in _KIND_LABELS.items()
    }
    if "heads" not in faults.messages and sum(kinds.values()) > heads.planned:
        faults.add("child", f"Child, big and meat-free make {sum(kinds.values())}, but only "
                            f"{heads.planned} eat; lower one of them.")  # fmt: skip
    ask = Ask(
        heads=heads, day=day, time=at, **kinds,
        avoids=_avoids(fields, heads.planned - kinds["meat_free"], faults),
        contains=_words(fields, "contains", "Allergen", ALLERGENS, faults),
        **_fire(fields, faults), **_money(fields, faults),
        style=_word(fields, "style", "Style", tuple(STYLES), faults),
        slots=_words(fields, "slot", "Wanted", tuple(SLOTS), faults),
        only=fields.one("only"), pins=tuple(fields.all("pin")), leave=tuple(fields.all("leave")),
        aim=_word(fields, "aim", "Choice", ("", *AIMS), faults),
        lighter=faults.take("lighter", lambda: read_whole(
            fields.one("lighter") or "0", "Lighter", 0, _MOST_LIGHTER), 0),
        patch=tuple(fields.all("patch")),
        show=_word(fields, "show", "Panel", _SHOWS, faults),
    )  # fmt: skip
    _check_wishes(ask, faults)
    return ask, faults


_KIND_LABELS = {"child": "Children", "big": "Big eaters", "meat_free": "Meat-free"}


def _count(fields: Fields, name: str, label: str, faults: Faults) -> int:
    text = fields.one(name) or "0"
    return faults.take(name, lambda: read_whole(text, label, 0, 500), 0)


def _word(fields: Fields, name: str, label: str, allowed: tuple[str, ...], faults: Faults) -> str:
    text = fields.one(name) or allowed[0]
    return faults.take(name, lambda: read_choice(text, label, allowed), allowed[0])


def _words(
    fields: Fields, name: str, label: str, allowed: tuple[str, ...], faults: Faults
) -> tuple[str, ...]:
    def read() -> tuple[str, ...]:
        chosen = {read_choice(text, label, allowed) for text in fields.all(name) if text}
        return tuple(word for word in allowed if word in chosen)

    return faults.take(name, read, ())


def _avoids(fields: Fields, eaters: int, faults: Faults) -> tuple[Avoid, ...]:
    found: dict[str, int] = {}
    for text, what in zip(fields.all("no_n"), fields.all("no_what"), strict=False):
        if not text:
            continue
        count = faults.take("no_n", partial(read_whole, text, "Don't eat", 0, 500), 0)
        known = faults.take("no_n", partial(read_choice, what, "Don't eat", AVOIDS), "")
        if known and count:
            found[known] = found.get(known, 0) + count
    if sum(found.values()) > eaters and "heads" not in faults.messages:
        faults.add("no_n", f"Don't eat: {sum(found.values())} are named, but only {eaters} eat "
                           "meat; lower the number.")  # fmt: skip
    return tuple(Avoid(count, what) for what, count in found.items())


def _fire(fields: Fields, faults: Faults) -> dict[str, Any]:
    kind = _word(fields, "fire", "Fire", tuple(FIRES), faults)
    # the area belongs to the fire it was typed for: choosing another fire takes that one's size
    same = fields.one("fire_was", kind) == kind
    text = (fields.one("area") if same else "") or str(_area_of(kind) or "")

    def area() -> Decimal:
        if kind == "none":
            return Decimal(0)
        if not text:
            raise BadValue("Area: enter the size of the fire in square inches, for example 400.")
        return read_amount(text, "Area", high="20000")

    oven = _word(fields, "oven", "Oven", ("yes", "no"), faults)
    return {
        "fire": kind,
        "area": faults.take("area", area, Decimal(1)),
        "coals": faults.take("coals", lambda: read_whole(
            fields.one("coals") or "180", "Minutes of coals", 10, 1440), 180),
        "oven": oven == "yes",
        "pots": faults.take("pots", lambda: read_whole(
            fields.one("pots") or "0", "Pots", 0, 20), 0),
        "usable": faults.take("usable", lambda: read_whole(
            fields.one("usable") or "80", "Usable part", 30, 100), 80),
    }  # fmt: skip


def _money(fields: Fields, faults: Faults) -> dict[str, Any]:
    def amount(name: str, label: str) -> Decimal | None:
        text = fields.one(name)
        return read_amount(text, label) if text else None

    per = _word(fields, "per", "Money", _PER, faults)
    money = faults.take("money", lambda: amount("money", "Money"), None)
    same = fields.one("money_was", fields.one("money")) == fields.one("money")
    return {
        "money": money,
        "per": per,
        # new money from the customer ends an earlier balance to less
        "to": faults.take("to", lambda: amount("to", "Balance"), None) if same else None,
    }


def _check_wishes(ask: Ask, faults: Faults) -> None:
    """Note wishes that cannot both hold."""
    everybody = ask.heads.planned - ask.meat_free
    for avoid in ask.avoids:
        if avoid.what == "chicken" and avoid.count == everybody and "bird" in ask.slots:
            faults.add("slot", "Wanted: a bird is wanted, but nobody eats chicken; drop one.")
    if ask.meat_free == ask.heads.planned and set(ask.slots) - {"meat-free"}:
        faults.add("slot", "Wanted: all eat meat-free, so only the meat-free role can be wanted.")
    pinned = {pin.split("@")[0] for pin in ask.pins}
    both = sorted(pinned & set(ask.leave))
    if both:
        faults.add("pins", f"Pinned: {both[0]} is pinned and left out; choose one of them.")
    if ask.only and ask.only in ask.leave:
        faults.add("only", f"Only this cut: {ask.only} is left out of this ask; offer it again, "
                           "or choose another cut.")  # fmt: skip
