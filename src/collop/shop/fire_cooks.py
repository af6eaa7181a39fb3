"""How each line of the case cooks: kept by the shop, newest counts; and how long that takes.

With a body the minutes are those of the heat model, the same that a fire sheet is laid with;
without one they are the shop's own.
"""

from __future__ import annotations

from dataclasses import asdict, replace
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from math import ceil, floor
from typing import Any, NamedTuple

from sqlalchemy import func, insert, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, NotFound
from collop.fire.methods import cook_as_of, stages_of, way_for
from collop.fire.problem import BANDS, FORMS, METHODS, Body, FireItem, FireProblem
from collop.fire.reading_items import LONGEST_HOLD, LONGEST_REST
from collop.measures import Temperature
from collop.reference import CookMinimum, cook_minimum
from collop.shop.acts import Act
from collop.shop.fire_model import CaseCook, CookChange
from collop.shop.fire_tables import case_cooks
from collop.shop.model import CaseLine
from collop.shop.store import AnyRow
from collop.shop.tables import case_lines
from collop.spread.contents import tags_of

__all__ = [
    "ORDINARY",
    "THICKNESSES",
    "TREATMENTS",
    "body_of",
    "check_thickness",
    "check_times",
    "cook_as_told",
    "cook_rule",
    "load_changes",
    "load_cooks",
    "minutes_of",
    "ordinary_item",
    "set_cook",
    "treatment_of",
]

#: What may have been done to a piece; all but ``whole`` carry the outside in.
TREATMENTS = ("whole", "tenderised", "injected", "rolled", "ground")
_THICKEST_MM, _THINNEST_MM = Decimal(400), Decimal(2)
_LONGEST_CARVE = 200
_COLDEST_F, _HOTTEST_F = 32, 212


class Plausible(NamedTuple):
    """How thick a form is, from and to [mm]; what it is called; a thickness with its unit."""

    low: int
    high: int
    name: str
    example: str


#: Beyond these a thickness is a slip of the unit: common practice, no published source.
THICKNESSES = {
    "steak": Plausible(8, 90, "a steak", "1 in"),
    "thin": Plausible(2, 20, "a thin piece", "1/2 in"),
    "patty": Plausible(8, 50, "a patty", "3/4 in"),
    "links": Plausible(12, 60, "links", "1 1/4 in"),
    "skewer": Plausible(10, 60, "a skewer", "1 in"),
    "joint": Plausible(15, 90, "a small joint", "1 1/2 in"),
    "roast": Plausible(40, 250, "a roast", "3 in"),
    "bird-flat": Plausible(25, 80, "a bird opened flat", "1 3/4 in"),
    "bird-whole": Plausible(50, 200, "a whole bird", "3 in"),
}
_NAMES = tuple(asdict(CaseCook()))


def _read(row: AnyRow) -> CaseCook:
    values: dict[str, Any] = {name: getattr(row, name) for name in _NAMES}
    for name in ("thickness_mm", "shape"):
        if values[name] is not None:
            values[name] = Decimal(values[name])
    if values["rest_min"] is not None:  # longer ones were taken once
        values["rest_min"] = min(values["rest_min"], LONGEST_REST)
    told = values["done_f"]  # beyond the range were taken once, for food without a rule
    if told is not None and not _COLDEST_F <= told <= _HOTTEST_F:
        values["done_f"] = None
    return CaseCook(**values)


def load_cooks(conn: Connection) -> dict[str, CaseCook]:
    """Return how each line is cooked, by its id; lines nobody told of are not in it."""
    last = select(func.max(case_cooks.c.seq)).group_by(case_cooks.c.case_id).scalar_subquery()
    rows = conn.execute(select(case_cooks).where(case_cooks.c.seq.in_(last)))
    return {row.case_id: _read(row) for row in rows}


def load_changes(conn: Connection, case_id: str) -> tuple[CookChange, ...]:
    """Return everything that was ever said of how a line cooks, the newest first."""
    query = select(case_cooks).where(case_cooks.c.case_id == case_id)
    rows = conn.execute(query.order_by(case_cooks.c.seq.desc()))
    return tuple(CookChange(_read(row), row.at, row.by_id) for row in rows)


def set_cook(act: Act, case_id: str, cook: CaseCook) -> None:
    """Write how a line is cooked from now on.

    Raises
    ------
    BadValue
        If a value is out of its range, or the core asked for is under its published minimum.
    NotFound
        If there is no such line.
    """
    found = act.conn.execute(select(case_lines).where(case_lines.c.id == case_id)).first()
    if found is None:
        raise NotFound(f"There is no case line {case_id[:40]!r}; look at the case again.",
                       where="case_id")  # fmt: skip
    _check(cook, _ruled(found, cook))
    values = asdict(cook)
    for name in ("thickness_mm", "shape"):
        if values[name] is not None:
            values[name] = f"{values[name]:f}"
    act.conn.execute(
        insert(case_cooks).values(case_id=case_id, at=act.at, by_id=act.by, key=act.key, **values)
    )


def _check(cook: CaseCook, cook_as: str) -> None:
    for name, known in (("form", FORMS), ("method", METHODS), ("treatment", TREATMENTS)):
        value = getattr(cook, name)
        if value is not None and value not in known:
            raise BadValue(f"{name.capitalize()}: choose one of {', '.join(known)}.", where=name)
    if (cook.form is None) != (cook.thickness_mm is None):
        raise BadValue("Give form and thickness together, or neither of them.", where="form")
    _in_range(cook.thickness_mm, _THINNEST_MM, _THICKEST_MM, "thickness_mm", "Thickness", " mm")
    if cook.form is not None and cook.thickness_mm is not None:
        check_thickness(cook.form, cook.thickness_mm)
    _in_range(cook.shape, Decimal(0), Decimal(2), "shape", "Shape factor")
    _in_range(cook.rest_min, 0, LONGEST_REST, "rest_min", "Rest", " min")
    _in_range(cook.hold_min, 0, LONGEST_HOLD, "hold_min", "Longest wait", " min")
    if len(cook.carve) > _LONGEST_CARVE or not cook.carve.isprintable():
        raise BadValue(f"Carve: write one sentence of up to {_LONGEST_CARVE} letters.",
                       where="carve")  # fmt: skip
    rule = cook_rule(cook, cook_as)
    _in_range(cook.done_f, _COLDEST_F, _HOTTEST_F, "done_f", "Wanted core", " °F")
    if cook.done_f is not None and rule is not None:
        _check_core(cook.done_f, rule)
    if cook.rest_min is not None and rule is not None and cook.rest_min < rule.rest_min:
        raise BadValue(f"Rest: the published one is {rule.rest_min} min; give that or more.",
                       where="rest_min")  # fmt: skip


def check_thickness(form: str, mm: Decimal) -> None:
    """Say so if no piece of a form is so thick, as when the unit was forgotten.

    Parameters
    ----------
    form : str
        A key of `THICKNESSES`.
    mm : Decimal
        Through the middle [mm].

    Raises
    ------
    BadValue
        With `where` ``thickness_mm``.
    """
    known = THICKNESSES[form]
    if not known.low <= mm <= known.high:
        raise BadValue(
            f"Thickness: {mm.normalize():f} mm is no thickness of {known.name} ({known.low} to"
            f" {known.high} mm); write the unit, such as {known.example}.", where="thickness_mm",
        )  # fmt: skip


def _check_core(done_f: object, rule: CookMinimum) -> None:
    told = Temperature.fahrenheit(str(done_f))
    if told < rule.temperature:
        raise BadValue(
            f"Wanted core: {told.in_celsius(0)} °C ({told.in_fahrenheit(0)} °F) is under the"
            f" published minimum, {rule.text()}; write that or more.", where="done_f",
        )  # fmt: skip


def cook_rule(cook: CaseCook | None, cook_as: str) -> CookMinimum | None:
    """Return the published minimum of a line cooked so; None for food without a rule."""
    kind = _cooked_as(treatment_of(cook, cook_as), cook_as)
    return None if kind == "none" else cook_minimum(kind)


def check_times(cook: CaseCook, line: CaseLine) -> None:
    """Say so if the heat model cannot cook a line as told.

    Otherwise the sheet would plan it with the minutes of the case, which are of another piece.

    Parameters
    ----------
    cook : CaseCook
        What somebody tells of the line.
    line : CaseLine
        Its `cook` does not count.

    Raises
    ------
    BadValue
        If a value is out of range, or the fire never brings such a piece to its core.
    """
    cook_as = _ruled(line, cook)
    _check(cook, cook_as)
    item = ordinary_item(replace(line, cook=cook))
    if item is None:
        return
    if item.method == "pot" or (cook_as == "none" and cook.done_f is None):
        if item.minutes is None:
            raise BadValue(
                f"Form: the heat model knows no pot, and no food without a core to reach; {line.id}"
                " has no minutes of its own. Choose another way to cook it, or write a wanted"
                " core.", where="form",
            )  # fmt: skip
        return
    from collop.fire.courses import course_of  # noqa: PLC0415 -- numpy is heavy

    try:
        # the very course the sheet asks for, so it is worked out once
        is_done = course_of(item, ORDINARY).source == "model"
    except BadValue:
        is_done = False
    if not is_done:
        raise BadValue(
            f"Thickness: {line.name}, {cook.thickness_mm:f} mm thick, does not get done within 12"
            f" hours by {item.method}; write it thinner or a lower core, choose another way to cook"
            " it, or no form, so that the minutes of the case count.", where="thickness_mm",
        )  # fmt: skip


def _cooked_as(treatment: str, cook_as: str) -> str:
    # the knife or the needle has carried the outside in
    return "ground" if cook_as == "whole" and treatment != "whole" else cook_as


def _in_range(  # noqa: PLR0917 -- read like a row of a table
    value: Any, low: Any, high: Any, where: str, label: str, unit: str = ""  # noqa: ANN401
) -> None:  # fmt: skip
    # not a number compares false, so the range is asked for and not its opposite
    if value is not None and not (_is_number(value) and low <= value <= high):
        raise BadValue(f"{label}: write {low} to {high}{unit}.", where=where)


def _is_number(value: object) -> bool:
    if isinstance(value, Decimal):
        return value.is_finite()
    return isinstance(value, int) and not isinstance(value, bool)


def treatment_of(cook: CaseCook | None, cook_as: str) -> str:
    """Return what was done to a line's meat, by its own word or by what it is cooked as."""
    if cook is not None and cook.treatment is not None:
        return cook.treatment
    return "ground" if cook_as == "ground" else "whole"


def cook_as_told(line: CaseLine) -> str:
    """Return which published minimum rules a line: never less than its name and animals ask for.

    Nor than its form and what was done to it; as a spread reads it, see
    `collop.fire.methods.cook_as_of`.
    """
    return _ruled(line, line.cook)


def _ruled(line: CaseLine | AnyRow, cook: CaseCook | None) -> str:
    """Return which published minimum rules a line, or its row, if it is cooked so."""
    tags = tags_of(line.species, line.casing, line.contains)
    if not any(tag.kind == "meat" for tag in tags):
        return "none"
    told = cook or CaseCook()
    return cook_as_of(
        line.cook_as, name=line.name, casing=line.casing, treatment=told.treatment or "whole",
        form=told.form, species={tag.name for tag in tags if tag.kind == "species"} or {"meat"},
    )  # fmt: skip


def body_of(cook: CaseCook | None, **told: Any) -> dict[str, Any] | None:  # noqa: ANN401
    """Return the ``body`` of a fire item; None without one.

    Parameters
    ----------
    cook : CaseCook or None
        As the shop cuts the line.
    **told
        Keys that are known better for one booking: ``thickness_mm`` and ``measured``.
    """
    if cook is None or cook.form is None or cook.thickness_mm is None:
        return None
    body: dict[str, Any] = {
        "form": cook.form,
        "thickness_mm": float(cook.thickness_mm),
        "measured": cook.measured,
        "fat_rich": cook.fat_rich,
        "bone": cook.bone,
    }
    if cook.shape is not None:
        body["shape"] = float(cook.shape)
    return body | told


def minutes_of(line: CaseLine) -> tuple[int, int]:
    """Return how long a line is on an ordinary covered grill: 10 and 90 in a hundred [min].

    Parameters
    ----------
    line : CaseLine
        Its `cook` tells the body; without one these are the minutes of the case.

    Notes
    -----
    Whole minutes, the lower rounded down and the upper up. Worked out once in a process for lines
    that cook alike, and in the very way of the fire sheet: both plan with the same minutes.
    """
    item = ordinary_item(line)
    return line.minutes if item is None else _model_minutes(item)


def ordinary_item(line: CaseLine) -> FireItem | None:
    """Return a line with a body as the reading of a fire makes it; None without one.

    Its method is that on a covered grill, its weight says nothing.
    """
    cook, body = line.cook, body_of(line.cook)
    way = None if cook is None else way_for(line.method, cook.method)
    if cook is None or body is None or way is None:
        return None
    cook_as = cook_as_told(line)
    treatment = treatment_of(cook, cook_as)
    has_minutes = line.minutes[1] > 0
    stages = stages_of(way.grill, line.minutes) if has_minutes else None
    return FireItem(
        id=line.id, name="", species=None if line.species == "none" else line.species,
        serving="main", weight_mlb=1000, area_sq_in=Fraction(0),
        cook_as=_cooked_as(treatment, cook_as), method=way.grill,
        minutes=(max(1, line.minutes[0]), line.minutes[1]) if has_minutes else None,
        stages=stages,
        body=Body(**body), done_c=None if cook.done_f is None else (cook.done_f - 32) / 1.8,
        rest_min=cook.rest_min, hold_min=cook.hold_min, treatment=treatment,
    )  # fmt: skip


@lru_cache(maxsize=512)
def _model_minutes(item: FireItem) -> tuple[int, int]:
    import numpy as np  # noqa: PLC0415 -- heavy, and only needed where a body is known

    from collop.fire.courses import course_of  # noqa: PLC0415

    course = course_of(item, ORDINARY)
    if course.source != "model" and item.minutes is not None:
        return item.minutes
    low, _, high = np.quantile(course.minutes, BANDS)
    return max(1, floor(low)), ceil(high)


#: A covered grill on a day nobody told the weather of.
ORDINARY = FireProblem(name="", servings=(), zones=(), items=())
