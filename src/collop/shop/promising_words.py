"""The answer to a wish for a day, in one or two sentences, with the nearest yes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction

from collop.errors import BadValue
from collop.measures import Weight, WeightUnit, decimal_of
from collop.reference import cold_water_hours, thaw_hours
from collop.shop.model import Settings
from collop.shop.promising_flow import serve
from collop.shop.promising_model import PromiseAnswer
from collop.shop.promising_outlook import Outlook
from collop.spread.contents import tags_of

__all__ = ["answer_for", "checked_day", "cut_off", "day_words"]

#: So far ahead a promise may be asked for, and a yes is looked for.
FAR_DAYS = 366
NEAR_DAYS = 28
_MOST = Weight.of(100_000, WeightUnit.LB)


def checked_day(day: date, today: date) -> date:
    """Return a day from today to a year ahead, or raise `BadValue`."""
    if day < today:
        raise BadValue(f"{day:%A} {day.day} {day:%B} is over; choose a day from today on.",
                       where="day")  # fmt: skip
    if day > today + timedelta(days=FAR_DAYS):
        raise BadValue(f"{day} is more than {FAR_DAYS} days ahead; choose an earlier day.",
                       where="day")  # fmt: skip
    return day


def day_words(day: date, today: date) -> str:
    """Return a day as it is said: its name, with the date where that could mean two.

    Examples
    --------
    >>> today = date(2026, 6, 9)
    >>> day_words(date(2026, 6, 13), today), day_words(date(2026, 6, 16), today)
    ('Saturday', 'Tuesday 16 June')
    """
    return f"{day:%A}" if (day - today).days < 7 else f"{day:%A} {day.day} {day:%B}"


def cut_off(weight: Weight, chosen: Settings, unit: WeightUnit | None = None) -> str:
    """Return a weight, cut off at two decimals: never more than there is.

    It is told in the legal unit if no other is named.
    """
    told = unit or chosen.legal_unit
    hundredths = weight.exact(told) * 100
    whole = Fraction(hundredths.numerator // hundredths.denominator, 100)
    return f"{decimal_of(whole, 2)} {told}"


def answer_for(
    look: Outlook, case_id: str, day: date, weight: Weight, unit: WeightUnit | None = None
) -> PromiseAnswer:
    """Answer whether `weight` of a line may be promised for a day.

    Parameters
    ----------
    look : Outlook
        The shop.
    case_id : str
        Line asked for.
    day : date
        From today to a year ahead.
    weight : Weight
        More than nothing.
    unit : WeightUnit, optional
        What is said is in this unit; left out, as it was asked, and in the legal one.

    Raises
    ------
    BadValue
        If day or weight is out of range.
    NotFound
        If there is no such line.
    """
    checked_day(day, look.now.date())
    if not Weight.zero() < weight < _MOST:
        raise BadValue("Say how much is asked: more than 0 and under 100,000 lb.", where="weight")
    name = look.line(case_id).name
    is_open = look.chosen.is_open(day)
    most = look.offer(case_id, day) if is_open else 0
    is_yes = is_open and look.can_give(case_id, day, weight.count)
    other = None if is_yes else _other_day(look, case_id, day, weight.count)
    cousin = None if is_yes or not is_open else _cousin(look, case_id, day, weight.count)
    cousin_name = "" if cousin is None else str(look.line(cousin).name)
    found = PromiseAnswer(
        case_id=case_id, name=name, day=day, weight=weight, is_yes=is_yes,
        most=Weight(most, look.chosen.legal_unit), other_day=other, cousin=cousin,
        cousin_name=cousin_name, say="",
        cousin_pieces=_pieces_of(look, cousin, day, weight.count),
    )  # fmt: skip
    return _said(look, found, unit)


def _pieces_of(look: Outlook, case_id: str | None, day: date, count: int) -> int | None:
    """Return how many whole pieces make up so much; None where it is sold by weight."""
    if case_id is None or not look.line(case_id).by_piece:
        return None
    return len(look.whole(case_id, day, count) or ())


def _other_day(look: Outlook, case_id: str, day: date, count: int) -> date | None:
    """Return the nearest open day on which so much may be promised; of two, the later."""
    today = look.now.date()
    for away in range(1, NEAR_DAYS + 1):
        for one in (day + timedelta(days=away), day - timedelta(days=away)):
            if one >= today and look.chosen.is_open(one) and look.can_give(case_id, one, count):
                return one
    return None


def _cousins(look: Outlook, case_id: str) -> Iterator[str]:
    """Yield like lines, the nearest first: the neighbour, whose neighbour it is, then by cooking.

    Of the same species, eaten in one of the same ways, and with no allergen that it does not hold.
    """
    asked = look.line(case_id)
    own = tags_of(asked.species, asked.casing, asked.contains)
    minutes = asked.minutes_low + asked.minutes_high

    def rank(one: str) -> tuple[bool, bool, int, str]:
        row = look.lines[one]
        away = abs(row.minutes_low + row.minutes_high - minutes)
        return one != asked.neighbour, row.neighbour != case_id, away, one

    for one in sorted(look.lines, key=rank):
        row = look.lines[one]
        new = tags_of(row.species, row.casing, row.contains) - own
        is_near = one == asked.neighbour or row.neighbour == case_id
        if (
            one != case_id and row.species == asked.species and (is_near or _is_alike(row, asked))
            and not any(tag.kind in {"allergen", "casing"} for tag in new)
        ):  # fmt: skip
            yield one


def _is_alike(one: object, other: object) -> bool:
    return bool(set(getattr(one, "styles", ())) & set(getattr(other, "styles", ())))


def _cousin(look: Outlook, case_id: str, day: date, count: int) -> str | None:
    return next((one for one in _cousins(look, case_id) if look.can_give(one, day, count)), None)


def _said(look: Outlook, found: PromiseAnswer, unit: WeightUnit | None) -> PromiseAnswer:
    if found.is_yes:
        asked = day_words(found.day, look.now.date())
        pieces = _pieces_of(look, found.case_id, found.day, found.weight.count)
        if pieces is not None:
            return replace(found, say=_yes_whole(look, found, asked, unit))
        where = _from_where(look, found, unit)
        return replace(found, say=f"{asked} yes: {found.weight.text(unit)} of {found.name}{where}.")
    return replace(found, say=_no(look, found, unit))


def _yes_whole(look: Outlook, found: PromiseAnswer, asked: str, unit: WeightUnit | None) -> str:
    """Return the yes of goods sold whole: as many as make up the weight, and what they weigh."""
    pieces = look.whole(found.case_id, found.day, found.weight.count) or ()
    weight = Weight(sum(one.count for one in pieces), look.chosen.legal_unit)
    frozen = next((f": {one.words}" for one in pieces if one.part == "thaw"), "")
    count = "1 piece" if len(pieces) == 1 else f"{len(pieces)} pieces"
    return f"{asked} yes: {count} of {found.name}, {weight.text(unit)}{frozen}."


def _no(look: Outlook, found: PromiseAnswer, unit: WeightUnit | None) -> str:
    today = look.now.date()
    asked = day_words(found.day, today)
    if look.chosen.is_open(found.day):
        # less than a hundredth is nothing to offer
        some = look.is_some(found.most.count)
        only = f"only {cut_off(found.most, look.chosen, unit)}" if some else "none"
        why = "" if some else look.why_none(found.case_id, found.day, "thaw")
        no = f"{asked} no, {only} of {found.name}{f' ({why})' if why else ''}"
    else:
        no = f"{asked} the shop is shut"
    yes = "" if found.other_day is None else f"{day_words(found.other_day, today)} yes; "
    but = f", but {found.cousin_name} yes" if found.cousin else ""
    never = ""
    if found.other_day is None:
        never = f" No other day of the next {NEAR_DAYS} has {found.weight.text(unit)}."
    return f"{yes}{no}{but}.{never}{_taken_frozen(look, found, unit)}"


def _taken_frozen(look: Outlook, found: PromiseAnswer, unit: WeightUnit | None) -> str:
    """Return how long a frozen piece thaws at the customer's; empty where that is no way out."""
    if not look.line(found.case_id).by_piece or not look.chosen.is_open(found.day):
        return ""
    frozen = [one.count for one in look.supplies(found.case_id)
              if one.part == "thaw" and one.first > found.day]  # fmt: skip
    if not frozen:
        return ""
    piece = Weight(max(frozen), unit or look.chosen.legal_unit)
    fridge, water = thaw_hours(piece), cold_water_hours(piece)
    return (f" Taken frozen, one of {cut_off(piece, look.chosen, unit)} thaws in the refrigerator"
            f" in {fridge.least} to {fridge.planned} h, or in cold water, changed every 30 min, in"
            f" {water} h and is then cooked at once; never on the counter.")  # fmt: skip


def _from_where(look: Outlook, found: PromiseAnswer, unit: WeightUnit | None) -> str:
    """Return where a promise comes from, if not all of it lies in the case."""
    demands = [*look.demands(found.case_id), (found.day, found.weight.count)]
    counts: dict[str, int] = {}
    for one, count in serve(look.supplies(found.case_id), demands)[-1]:
        counts[one.words] = counts.get(one.words, 0) + count
    if set(counts) == {"in the case"}:
        return ""
    told = unit or look.chosen.legal_unit
    return ": " + ", ".join(f"{Weight(count, told).text()} {one}" for one, count in counts.items())
