"""Small sums of the rules: last days, cooling, sanitiser, records, and the year's sales."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from collop.errors import BadValue
from collop.measures import Temperature, Weight, WeightUnit
from collop.reference.rulebook import PublishedRule, rule_row
from collop.reference.sources import FROM_MEMORY
from collop.rules import (
    DateMark,
    Move,
    RetailSales,
    cooling_verdict,
    date_mark,
    edition_of,
    keep_by,
    keep_until,
    laxer_than_usual,
    normal_retail,
    retail_cook,
    retail_limit,
    retail_verdict,
    roast_hold,
    rop_last_day,
    sanitiser,
    time_control,
)
from collop.rules.choosing_list import KEPT_CLASSES
from collop.rules.limits import Reading
from collop.rules.retention import RECORDS
from collop.rules.sanitising import SANITISERS
from collop.web.forms import Faults, Fields, read_time
from collop.web.rendering import page
from collop.web.room import Queried, room_of

__all__ = ["SUMS", "in_turn", "router"]

router = APIRouter()
#: Each sum by its name, and what it is called.
SUMS: Mapping[str, str] = {
    "ready": "Last day of ready-to-eat food",
    "pack": "Last day of a vacuum pack",
    "keep": "In the fridge",
    "out": "Out of the cold by time alone",
    "cooling": "Cooling",
    "cook": "Cooking in the shop",
    "sanitiser": "Sanitiser",
    "record": "How long a record is kept",
    "sales": "Sales of the year",
    "sale": "One sale to a household",
}
_READING = re.compile(r"(\d{1,2}[:.]\d{2})\s+(-?\d{1,3}(?:[.,]\d{1,2})?)")
_HEAT = re.compile(r"-?\d{1,3}(?:[.,]\d{1,2})?")
_AMOUNT = re.compile(r"\d{1,10}(?:\.\d{1,2})?")
_MOST_READINGS = 40
ANIMALS = ("beef", "veal", "lamb", "pork", "goat", "poultry")


@dataclass(frozen=True, slots=True)
class Found:
    """What a sum came to.

    Parameters
    ----------
    lines : tuple of str
        Sentences; the first is the answer.
    is_bad : bool
        Whether the answer is that something is wrong.
    rows : tuple of PublishedRule
        Where the figures stand.
    """

    lines: tuple[str, ...]
    is_bad: bool = False
    rows: tuple[PublishedRule, ...] = ()


@dataclass(frozen=True, slots=True)
class _Asked:
    """What was typed for one sum, with the shop's choices and its clock."""

    fields: Fields
    chosen: Mapping[str, str]
    now: datetime

    def day(self, name: str, label: str, *, needed: bool = True) -> date | None:
        text = self.fields.one(name)
        if not text and not needed:
            return None
        try:
            return date.fromisoformat(text)
        except ValueError:
            raise BadValue(f"{label}: write a day such as {self.now:%Y-%m-%d}.",
                           where=name) from None  # fmt: skip

    def heat(self, name: str, label: str) -> Temperature:
        text = self.fields.one(name).replace("\N{MINUS SIGN}", "-")
        if not _HEAT.fullmatch(text):
            raise BadValue(f"{label}: write degrees F such as 41.", where=name)
        return Temperature.fahrenheit(text.replace(",", "."))

    def money(self, name: str, label: str) -> Decimal:
        text = self.fields.one(name).replace(",", "")
        if not _AMOUNT.fullmatch(text):
            raise BadValue(f"{label}: write an amount such as 48000.", where=name)
        return Decimal(text)

    def moves(self) -> list[Move]:
        frozen = self.day("frozen", "Frozen", needed=False)
        thawed = self.day("thawed", "Thawed", needed=False)
        if thawed is not None and frozen is None:
            raise BadValue("Frozen: it was thawed, so write when it was frozen.", where="frozen")
        days = ((frozen, "frozen"), (thawed, "thawed"))
        return [Move(day, to) for day, to in days if day is not None]


def _mark(mark: DateMark, now: datetime, counted: str) -> Found:
    if mark.last_day is None:
        days = f"{mark.left} {'day' if mark.left == 1 else 'days'}"
        told = f"Frozen: {days} of {mark.days} are left once it is thawed, {counted} that day."
        return Found((told,), rows=(mark.row,))
    told = f"Last day: {mark.last_day:%a %-d %b %Y}."
    if mark.is_past(now.date()):
        return Found((told, "That day is past: do not sell it."), is_bad=True, rows=(mark.row,))
    return Found((told,), rows=(mark.row,))


def _ready(asked: _Asked) -> Found:
    made = asked.day("made", "Made or opened")
    assert made is not None
    return _mark(date_mark(made, asked.moves(), asked.chosen), asked.now, "with")


def _pack(asked: _Asked) -> Found:
    packed = asked.day("packed", "Packed")
    assert packed is not None
    maker = asked.day("maker", "Maker's date", needed=False)
    found = rop_last_day(packed, asked.moves(), asked.chosen, makers_date=maker)
    return _mark(found, asked.now, "from")


def _keep(asked: _Asked) -> Found:
    kept, day = asked.fields.one("kept"), asked.day("day", "Put out")
    assert day is not None
    last, days = keep_by(kept, day, asked.chosen)
    rows = tuple(map(rule_row, KEPT_CLASSES[kept][1]))
    told = f"Last day: {last:%a %-d %b %Y}, {days} {'day' if days == 1 else 'days'} from it."
    past = ("That day is past: do not sell it.",) if last < asked.now.date() else ()
    return Found((told, *past), bool(past), rows)


def _out(asked: _Asked) -> Found:
    at = read_time(asked.fields.one("time"), "Out at")
    start = asked.heat("start", "Its temperature")
    warmest = []
    if asked.fields.one("warmest"):
        warmest.append(Reading(asked.now, asked.heat("warmest", "Warmest since")))
    found = time_control(asked.fields.one("plan"), datetime.combine(asked.now.date(), at), start,
                         warmest, asked.chosen)  # fmt: skip
    if not found.is_ok:
        told = "It grew too warm for this plan: throw it away now."
        return Found((told,), is_bad=True, rows=(found.row,))
    if found.discard_at < asked.now:
        told = f"Its time was over at {found.discard_at:%H:%M}: throw it away now."
        return Found((told,), is_bad=True, rows=(found.row,))
    return Found((found.say, "Write both times on it; the plan must be written down beforehand."),
                 rows=(found.row,))  # fmt: skip


def in_turn(pairs: list[tuple[str, str]], now: datetime) -> list[Reading]:
    """Return readings as they were written one after the other, the last one not after now.

    Cooling goes on over midnight: a time that is earlier than the one before is of the next day.
    """
    found: list[Reading] = []
    day = now.date()
    for clock, heat in pairs:
        at = datetime.combine(day, read_time(clock, "Readings"))
        if found and at < found[-1].at:
            day += timedelta(days=1)
            at += timedelta(days=1)
        found.append(Reading(at, Temperature.fahrenheit(heat.replace(",", "."))))
    late = -((now - found[-1].at) // timedelta(days=1)) if found[-1].at > now else 0
    back = timedelta(days=late)
    return [Reading(one.at - back, one.temperature) for one in found]


def _cooling(asked: _Asked) -> Found:
    text = asked.fields.one("readings")
    pairs = _READING.findall(text)
    if not pairs or len(pairs) > _MOST_READINGS or _READING.sub("", text).strip(" ,;\r\n\t"):
        raise BadValue("Readings: write time and degrees F, such as 14:00 135, 15:50 70.",
                       where="readings")  # fmt: skip
    now = asked.now
    readings = in_turn(pairs, now)
    found = cooling_verdict(readings, asked.chosen, from_room=asked.fields.one("room") == "yes",
                            now=max(now, readings[-1].at))  # fmt: skip
    steps = (f"To {one.to.in_fahrenheit(0)} °F within {one.within.normalize():f} h: {one.state}."
             for one in found.steps)  # fmt: skip
    rows = tuple(one.row for one in found.steps)
    return Found((found.say, *steps), found.state in ("broken", "not shown"), rows)


def _cook(asked: _Asked) -> Found:
    key, kind = edition_of(asked.chosen).key, asked.fields.one("kind")
    laxer = (said,) if (said := laxer_than_usual(key)) else ()
    if kind == "roast":
        core = asked.heat("core", "Core").in_fahrenheit(3)
        one = roast_hold(core, key)
        by = f"By {edition_of(asked.chosen).name}."
        return Found((f"A whole roast: {one.text()}.", by, *laxer), rows=(one.row,))
    holds = retail_cook(kind, key)
    others = tuple(f"Or {one.text()}." for one in holds[1:])
    last = f"By {edition_of(asked.chosen).name}. Customers are told the higher figures for homes."
    told = (f"{holds[0].text()}.", *others, last, *laxer)
    return Found(told, rows=tuple(one.row for one in holds))


def _sanitiser(asked: _Asked) -> Found:
    fields = asked.fields
    found = sanitiser(fields.one("what"), fields.one("mg") or None, fields.one("ph") or None)
    hold = "" if found.contact_s is None else f", for at least {found.contact_s} s"
    what = "Surface of the dish" if found.row.rule_id == "SF081" else "Water"
    return Found((f"{what} at {found.least.text()} or more{hold}.",), rows=(found.row,))


def _record(asked: _Asked) -> Found:
    day = asked.day("day", "Day")
    assert day is not None
    found = keep_until(asked.fields.one("of"), day, asked.chosen)
    rows = () if found.row is None else (found.row,)
    own = () if rows else ("Our own figure, no published source.",)
    return Found((f"Keep it through {found.until:%a %-d %b %Y}.", *own), rows=rows)


def _sales(asked: _Asked) -> Found:
    year = asked.fields.one("year")
    if not re.fullmatch(r"20\d\d", year):
        raise BadValue(f"Year: write it such as {asked.now.year}.", where="year")
    sales = RetailSales(*(asked.money(name, label) for name, label in (
        ("meat", "Meat"), ("poultry", "Poultry"), ("others", "To others than households"),
        ("total", "All products"))))  # fmt: skip
    limit = retail_limit(int(year), asked.chosen)
    lines = retail_verdict(sales, int(year), asked.chosen)
    worst = any(line.state in ("over", "near") for line in lines)
    told = tuple(line.say for line in lines)
    return Found((*told, limit.caution) if limit.caution else told, worst, limit.rows)


def _sale(asked: _Asked) -> Found:
    species = asked.fields.one("species")
    weight = Weight.of(asked.money("weight", "Weight"), WeightUnit.LB)
    found = normal_retail(species, weight)
    if found is None:
        raise BadValue(f"Of: no quantity is published for {species[:20]!r}.", where="species")
    told = f"Within the {found.row.value} lb of one sale of {found.row.text}."
    return Found((found.say or told,), found.is_over, (found.row,))


_WORK: Mapping[str, Callable[[_Asked], Found]] = {
    "ready": _ready, "pack": _pack, "keep": _keep, "out": _out, "cooling": _cooling, "cook": _cook,
    "sanitiser": _sanitiser, "record": _record, "sales": _sales, "sale": _sale,
}  # fmt: skip
# where a kernel's fault is of a field by another name
_FIELD = {"Strength": "mg", "pH": "ph"}


@router.get("/rules/sums", response_class=HTMLResponse)
def show_sums(request: Request, fields: Queried) -> HTMLResponse:
    """Show the sums, one of them worked out if it is asked."""
    room, faults = room_of(request), Faults()
    name, found = fields.one("sum"), None
    if name in SUMS:
        asked = _Asked(fields, room.shop.rules.chosen(), room.now())
        try:
            found = _WORK[name](asked)
        except BadValue as error:
            faults.add(f"{name}-{_FIELD.get(error.where, error.where) or 'go'}", error.message)
    return page(
        request, "rules_sums.html", status=422 if faults else 200, faults=faults, fields=fields,
        name=name, found=found, sums=SUMS, sanitisers=[(one, one) for one in SANITISERS],
        records=[(one, said[0]) for one, said in RECORDS.items()],
        animals=[(one, one) for one in ANIMALS], memory=FROM_MEMORY,
        kept=[(one, said[0]) for one, said in KEPT_CLASSES.items()],
    )  # fmt: skip
