"""Read what goes on the fire."""

from __future__ import annotations

from collections.abc import Sequence

from collop.errors import BadValue
from collop.fire.problem import FORMS, HEATS, METHODS, Body, FireItem, Stage
from collop.fire.reading_texts import plain_name, plain_text, plain_texts, read_area, read_mlb
from collop.fire.ruling import has_meat, ruling_cook_as
from collop.reference import cook_minimum
from collop.wire import Reader

__all__ = [
    "COOK_AS",
    "LONGEST_HOLD",
    "LONGEST_REST",
    "MOST_ITEMS",
    "ROLES",
    "TREATMENTS",
    "read_body",
    "read_items",
]

MOST_ITEMS = 40
COOK_AS = ("whole", "ground", "poultry", "none")
TREATMENTS = ("whole", "tenderised", "injected", "rolled", "ground")
ROLES = ("centre", "bird", "in-hand", "hand", "goes-far", "meat-free", "")
#: Longest time on the fire [min].
LONGEST_MIN = 24 * 60
#: Longest rest off the heat, an hour being all there is out of it on a hot day, and longest wait
#: after it [min].
LONGEST_REST, LONGEST_HOLD = 60, 240
#: Hottest core that is asked for [degC]: 212 degF.
HOTTEST_C = 100.0
_LONGEST_CARVE = 240
_KEYS = (
    "id", "name", "species", "serve", "weight_lb", "pieces", "piece_lb", "area_sq_in", "cook_as",
    "treatment", "method", "minutes", "stages", "body", "done_f", "done_c", "rest_min",
    "hold_min", "role", "frozen", "carve", "allergens",
)  # fmt: skip


def read_items(top: Reader, servings: Sequence[str]) -> tuple[FireItem, ...]:
    """Read ``items`` of the problem; `servings` are the known serving ids.

    Raises
    ------
    BadValue
        With the path of the first bad value; a core asked for under its published minimum is one.
    """
    rows = top.items("items")
    if not 1 <= len(rows) <= MOST_ITEMS:
        raise top.fail("items", f"has {len(rows)} items; give from 1 to {MOST_ITEMS}.")
    found: dict[str, FireItem] = {}
    for path, value in top.each("items"):
        row = Reader(value, path, _KEYS)
        item = _item(row, servings)
        if item.id in found:
            raise row.fail("id", f"{item.id!r} is used twice; join the two lines.")
        found[item.id] = item
    return tuple(found.values())


def _item(row: Reader, servings: Sequence[str]) -> FireItem:
    method = row.choice("method", METHODS)
    stages = _stages(row, method)
    minutes = _minutes(row, "minutes") if row.has("minutes") else None
    body = read_body(row)
    if minutes is None and stages is None and body is None:
        raise row.fail("minutes", "is missing; give minutes, stages, or the body of the piece.")
    area = read_area(row, "area_sq_in", up=True)
    assert area is not None  # it must be there
    weight, pieces, piece = _weights(row)
    treatment = row.choice("treatment", TREATMENTS, "whole")
    species, name = plain_text(row, "species", None), plain_name(row, "name")
    cook_as = _cook_as(row, species, name, treatment, body)
    return FireItem(
        id=plain_name(row, "id"),
        name=name,
        species=species,
        serving=row.choice("serve", servings, servings[0]),
        weight_mlb=weight,
        area_sq_in=area,
        cook_as=cook_as,
        method=method,
        pieces=pieces,
        piece_mlb=piece,
        minutes=minutes,
        stages=stages,
        body=body,
        done_c=_done(row, cook_as),
        rest_min=_rest(row, cook_as),
        hold_min=row.whole("hold_min", 0, LONGEST_HOLD, None),
        role=row.choice("role", ROLES, ""),
        frozen=row.flag("frozen", default=False),
        carve=plain_text(row, "carve", None, most=_LONGEST_CARVE),
        allergens=plain_texts(row, "allergens"),
        treatment=treatment,
    )


def _cook_as(row: Reader, species: str | None, name: str, treatment: str, body: Body | None) -> str:
    """Return which minimum rules, never less than the animal, the form and the name ask for."""
    told = row.choice("cook_as", COOK_AS)
    form = None if body is None else body.form
    if told == "none" and has_meat(species):
        raise row.fail(
            "cook_as",
            f"is none, but the species is {species!r}: give whole, ground or poultry; food that is"
            " ready to eat is left off the fire.",
        )
    ruled = ruling_cook_as(species, told, treatment=treatment, form=form, name=name)
    if told == "none" and ruled != "none":
        raise row.fail("cook_as", f"is none, but the body is {form}: give {ruled}.")
    return ruled


def _weights(row: Reader) -> tuple[int, int | None, int | None]:
    """Return all of it, how many pieces, and its largest piece [0.001 lb]."""
    weight, pieces = read_mlb(row, "weight_lb"), row.whole("pieces", 1, 1000, None)
    piece: int | None = read_mlb(row, "piece_lb", None)
    if piece is None:
        return weight, pieces, None
    # the largest piece is never lighter than a fair share, nor heavier than all; a tenth for scales
    if piece * 10 > weight * 11:
        raise row.fail("piece_lb", "is more than weight_lb, which is all of it; correct one.")
    if pieces is not None and piece * pieces * 10 < weight * 9:
        raise row.fail(
            "piece_lb",
            f"is too light: {pieces} such pieces are under weight_lb by more than a tenth; give the"
            " heaviest piece.",
        )
    return weight, pieces, piece


def _minutes(row: Reader, key: str) -> tuple[int, int]:
    found = row.items(key)
    where = row.where(key)
    whole = [one for one in found if isinstance(one, int) and not isinstance(one, bool)]
    if len(found) != 2 or len(whole) != 2 or not 1 <= whole[0] <= whole[1] <= LONGEST_MIN:
        raise BadValue(
            f"{where} must be two whole numbers, low to high, from 1 to {LONGEST_MIN}.",
            where=where,
        )
    return whole[0], whole[1]


def _stages(row: Reader, method: str) -> tuple[Stage, ...] | None:
    if not row.has("stages"):
        return None
    found = []
    for path, value in row.each("stages"):
        stage = Reader(value, path, ("heat", "minutes"))
        found.append(Stage(stage.choice("heat", HEATS), *_minutes(stage, "minutes")))
    heats = tuple(stage.heat for stage in found)
    if heats != METHODS[method]:
        raise row.fail("stages", f"must be {' then '.join(METHODS[method])}, as the method says.")
    return tuple(found)


def read_body(row: Reader) -> Body | None:
    """Read the ``body`` of an item or an offer; None where it says nothing.

    Raises
    ------
    BadValue
        With the path of the first bad value.
    """
    if not row.has("body"):
        return None
    keys = ("form", "thickness_mm", "measured", "shape", "start_c", "fat_rich", "bone")
    body = Reader(row.value["body"], row.where("body"), keys)
    return Body(
        form=body.choice("form", FORMS),
        thickness_mm=body.number("thickness_mm", 2.0, 400.0),
        measured=body.flag("measured", default=False),
        shape=body.number("shape", 0.0, 2.0, None),
        start_c=body.number("start_c", -1.0, 25.0, 4.0),
        fat_rich=body.flag("fat_rich", default=False),
        bone=body.flag("bone", default=False),
    )


def _done(row: Reader, cook_as: str) -> float | None:
    """Return the wanted core [degC], refused below the published minimum."""
    if row.has("done_f") and row.has("done_c"):
        raise row.fail("done_c", "is given beside done_f; keep one of them.")
    if row.has("done_f"):
        key, done = "done_f", (row.number("done_f", 32.0, 212.0) - 32) / 1.8
    elif row.has("done_c"):
        key, done = "done_c", row.number("done_c", 0.0, HOTTEST_C)
    else:
        return None
    if cook_as == "none":
        return float(done)
    rule = cook_minimum(cook_as)
    if rule.is_missed_by(done):
        raise row.fail(key, f"is under the published minimum, {rule.text()}; raise it to that.")
    return float(done)


def _rest(row: Reader, cook_as: str) -> int | None:
    rest: int | None = row.whole("rest_min", 0, 24 * 60, None)
    if rest is not None and rest > LONGEST_REST:
        raise row.fail("rest_min", f"is {rest}; a rest is at most {LONGEST_REST} min.")
    if rest is None or cook_as == "none":
        return rest
    rule = cook_minimum(cook_as)
    if rest < rule.rest_min:
        raise row.fail(
            "rest_min",
            f"is {rest}; the published rest is {rule.rest_min} min, so give that or more.",
        )
    return rest
