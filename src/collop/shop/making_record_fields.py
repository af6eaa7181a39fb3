"""The seven fields of a grind record, and what of them is missing; and the record of a batch.

A store that grinds raw beef keeps, of every lot, the five lettered items of 9 CFR 320.1(b)(4), two
of them double [1]_. The shop keeps the same for mince of other animals. What a batch's record holds
is common practice, no published source.

References
----------
.. [1] 9 CFR 320.1(b)(4)(i), restated in FSIS Directive 5000.10. Source id ``CFR320_1``.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime

from collop.reference import rule_row
from collop.rules import keep_until
from collop.shop.making_model import Making, MakingEvent, Material, RecordField

__all__ = ["NONE", "batch_fields", "grind_fields", "kept_through", "named"]

#: What is said of carry-over where there is none.
NONE = "none"
_OURS = "common practice, no published source"


def _field(rule_id: str, told: Sequence[str], missing: Sequence[str]) -> RecordField:
    row = rule_row(rule_id)
    return RecordField(rule_id, row.text, tuple(dict.fromkeys(told)),
                       tuple(dict.fromkeys(missing)), row.citation(), row.status)  # fmt: skip


def _own_field(name: str, told: Sequence[str], missing: Sequence[str]) -> RecordField:
    return RecordField("", name, tuple(dict.fromkeys(told)), tuple(dict.fromkeys(missing)), _OURS,
                       "computed")  # fmt: skip


def named(one: Material) -> str:
    """Return what a material is called, with the lot it comes from."""
    origin = one.carry_over_of or one.lot_id
    if not one.what:
        return origin or "a material"
    return f"{one.what} ({origin})" if origin else one.what


def _moment(at: datetime) -> str:
    return f"{at:%Y-%m-%d %H:%M}"


def _of(materials: Sequence[Material], name: str, words: str) -> tuple[list[str], list[str]]:
    """Return what is told of one thing by all materials, and for which it is missing."""
    told: list[str] = []
    for one in materials:
        if one.kind == "carry-over":
            told.append(f"in the record of {one.carry_over_of}")
        else:
            values: tuple[str | date, ...] = getattr(one, name)
            told.extend(str(value) for value in values)
    key = {"establishments": "establishment", "lots": "supplier_lot", "dates": "produced_on"}[name]
    missing = [f"{words} of {named(one)}" for one in materials if key in one.missing]
    return told, missing


def _names(materials: Sequence[Material]) -> tuple[list[str], list[str]]:
    told = [one.what for one in materials if one.what]
    missing = [f"name of {named(one)}" for one in materials if not one.what]
    return told, missing or ([] if materials else ["names of materials: nothing is in it"])


def _carry_over(materials: Sequence[Material], events: Sequence[MakingEvent]) -> RecordField:
    found = [one for one in materials if one.kind == "carry-over"]
    if found:
        told = [
            f"{one.weight.text() if one.weight else ''} of {one.carry_over_of}".strip()
            for one in found
        ]
        return _field("TR005", told, ())
    said = [one for one in _filled(events) if one.fields.get("carry_over") == NONE]
    if said:
        return _field("TR005", [f"{NONE}, said {_moment(said[-1].at)}"], ())
    return _field("TR005", (), ["carry-over: name the lot, or say that there is none"])


def _filled(events: Sequence[MakingEvent]) -> list[MakingEvent]:
    return [one for one in events if one.what == "filled" and not one.taken_back]


def times_made(making: Making) -> list[datetime]:
    """Return when something came of a making, as it was told."""
    found = [one.done_at for one in making.events if one.what == "produced" and not one.taken_back]
    told = [one.fields["produced_at"] for one in _filled(making.events)
            if "produced_at" in one.fields]  # fmt: skip
    return sorted([*found, *(datetime.fromisoformat(one) for one in told)])


def _made(making: Making) -> tuple[list[str], list[str]]:
    times = [_moment(one) for one in times_made(making)]
    if not times and any(one.into == "batch" for one in making.outputs):
        times = [f"into {one.lot_id}" for one in making.outputs if one.into == "batch"]
    return times, [] if times else ["date and time produced: weigh what was made, or say when"]


def _cleaned(making: Making) -> RecordField:
    told, missing = [], []
    pairs = (("before", making.cleaned_before), ("after", making.cleaned_after))
    for word, moment in pairs:
        if moment is None:
            missing.append(f"date and time cleaned {word}: put the clean-down down")
        else:
            told.append(f"{word}: {_moment(moment)}")
    return _field("TR007", told, missing)


def grind_fields(making: Making) -> tuple[RecordField, ...]:
    """Return the seven required fields of a grind record, ``TR001`` to ``TR007``, in order."""
    materials = making.standing
    return (
        _field("TR001", *_of(materials, "establishments", "establishment number")),
        _field("TR002", *_of(materials, "lots", "supplier lot number")),
        _field("TR003", *_of(materials, "dates", "production date")),
        _field("TR004", *_names(materials)),
        _carry_over(materials, making.events),
        _field("TR006", *_made(making)),
        _cleaned(making),
    )


def batch_fields(making: Making) -> tuple[RecordField, ...]:
    """Return what the record of a batch holds: meat, makers, lots, allergens, when it was made."""
    every = making.standing
    extra = [one for one in every if one.kind == "ingredient"]
    meat = [one for one in every if one.kind != "ingredient"]
    makers, no_maker = _of(extra, "establishments", "maker")
    numbers, no_number = _of([*extra, *_bought(meat)], "lots", "lot number")
    allergens = [f"{one.what}: {', '.join(one.contains) or 'none'}" for one in extra
                 if one.contains is not None]  # fmt: skip
    unknown = [f"allergens of {named(one)}" for one in extra if one.contains is None]
    return (
        _own_field("names of ingredients and meat", *_names(every)),
        _own_field("meat, with its lots", [named(one) for one in meat],
                   _of(_bought(meat), "establishments", "establishment number")[1]),
        _own_field("makers of ingredients", makers, no_maker),
        _own_field("lot numbers of ingredients", numbers, no_number),
        _own_field("allergens of ingredients", allergens, unknown),
        _own_field("date and time produced", *_made(making)),
    )  # fmt: skip


def _bought(materials: Sequence[Material]) -> list[Material]:
    return [one for one in materials if one.kind == "bought"]


def kept_through(making: Making, chosen: Mapping[str, str]) -> date:
    """Return the day a record is kept through: from the last day it was made (TR017).

    Parameters
    ----------
    making : Making
        A batch's record is kept as long as a grind record: common practice, no published source.
    chosen : mapping of str to str
        The shop's choices among the rules; never shorter than published.
    """
    last = max([making.done_at, *times_made(making)])
    return keep_until("grind", last.date(), chosen).until
