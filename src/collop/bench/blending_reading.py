"""A blend read from JSON, each value checked, and held against the standard of its name."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from collop.bench.blending_amounts import exact_share, money_of, read_frame, thousandths
from collop.bench.blending_holding import allowed_bins, held_to_standard
from collop.bench.blending_problem import (
    Added,
    BinLimit,
    Blend,
    Casing,
    Range,
    Recipe,
    TrimBin,
)
from collop.bench.blending_standards import STANDARDS
from collop.bench.blending_words import CASINGS, allergens, species_word
from collop.errors import Contradiction
from collop.wire import Reader

__all__ = ["KINDS", "MOST_ADDED", "MOST_BINS", "MOST_RECIPES", "SCHEMA_ID", "read_blend"]

SCHEMA_ID = "collop.blend/1"
MOST_BINS, MOST_RECIPES, MOST_ADDED = 40, 20, 40
#: What an added thing may be, for the published limits.
KINDS = ("salt", "water", "binder", "spice", "other")
OF = ("meat", "finished")
_MOST_ADDED_SHARE = Fraction(9, 10)
_MOST_BATCHES = 200
_MOST_WEIGHT = "100000"
_LONGEST = 200
_KEYS = ("schema", "name", "currency", "rounding", "unit", "bins", "recipes")
_BIN_KEYS = ("id", "name", "species", "fat", "protein", "available", "price", "contains")
_RECIPE_KEYS = ("id", "name", "standard", "make", "most", "price", "fat", "protein", "bins",
                "bin_limits", "added", "casing", "batch", "piece")  # fmt: skip


def read_blend(value: object) -> Blend:
    """Read one blend.

    Parameters
    ----------
    value : object
        Parsed JSON of the ``collop.blend/1`` contract.

    Raises
    ------
    ProblemError
        With the path of the first bad value, or where a recipe goes over a published limit.
    """
    top = Reader(value, "$", _KEYS)
    top.choice("schema", [SCHEMA_ID])
    frame = read_frame(top)
    bins = tuple(_bin(row) for row in _lines(top, "bins", MOST_BINS, _BIN_KEYS))
    notes: list[str] = []
    recipes = tuple(
        _recipe(row, bins, notes) for row in _lines(top, "recipes", MOST_RECIPES, _RECIPE_KEYS)
    )
    return Blend(frame, bins, recipes, tuple(notes))


def _lines(top: Reader, key: str, most: int, keys: tuple[str, ...]) -> Iterator[Reader]:
    found = top.items(key)
    if not found:
        raise top.fail(key, "is empty; give at least one line.")
    if len(found) > most:
        raise top.fail(key, f"has {len(found)} lines; give {most} at the most.")
    seen: set[str] = set()
    for path, value in top.each(key):
        row = Reader(value, path, keys)
        name = _word(row, "id")
        if name in seen:
            raise row.fail("id", f"is {name[:40]!r} once more; give each its own.")
        seen.add(name)
        yield row


def _word(row: Reader, key: str) -> str:
    found = str(row.text(key)).strip()
    if not found or len(found) > _LONGEST:
        raise row.fail(key, "is empty or too long; write a short name.")
    return found


def _name(row: Reader) -> str:
    return str(row.text("name", "")).strip()[:_LONGEST] or _word(row, "id")


def _weight(row: Reader, key: str) -> int | None:
    """Return a weight in whole thousandths; None if it is left out."""
    found = row.decimal(key, None, high=_MOST_WEIGHT)
    if found is None:
        return None
    count = thousandths(Fraction(found))
    if Fraction(found) * 1000 != count:
        raise row.fail(key, "is finer than 0.001; write what a scale can read.")
    if not count:
        raise row.fail(key, "is zero; give a weight, or leave the key out.")
    return count


def _bin(row: Reader) -> TrimBin:
    fat = exact_share(row, "fat")
    protein = exact_share(row, "protein", None)
    assert fat is not None
    if protein is not None and fat + protein > 1:
        raise Contradiction(
            f"{row.where('protein')} and fat come to more than the whole; correct one of them.",
            where=row.where("protein"),
        )
    available = row.decimal("available", None, high=_MOST_WEIGHT)
    return TrimBin(
        id=_word(row, "id"),
        name=_name(row),
        species=species_word(row, "species"),
        fat=fat,
        protein=protein,
        available=None if available is None else thousandths(Fraction(available)),
        price=money_of(row, "price", None),
        contains=allergens(row, "contains"),
    )


def _recipe(row: Reader, bins: tuple[TrimBin, ...], notes: list[str]) -> Recipe:
    standard = row.text("standard", None)
    if standard is not None:
        standard = row.choice("standard", STANDARDS)
    allowed, told = allowed_bins(row, standard, bins)
    recipe = Recipe(
        id=_word(row, "id"),
        name=_name(row),
        standard=standard,
        make=_weight(row, "make"),
        most=_weight(row, "most"),
        price=money_of(row, "price", None) if row.has("price") else None,
        fat=_range(row, "fat"),
        protein=_range(row, "protein"),
        bins=allowed,
        bin_limits=_bin_limits(row, allowed, bins),
        added=_all_added(row),
        casing=_casing(row),
        batch=_weight(row, "batch"),
        piece=_piece(row),
    )
    _wanted(row, recipe, bins)
    _protein_known(row, recipe, bins)
    notes += [f"{recipe.name}: {one}" for one in told]
    notes += held_to_standard(row, recipe)
    return recipe


def _range(row: Reader, key: str) -> Range | None:
    if not row.has(key):
        return None
    inner = Reader(row.value[key], row.where(key), ("min", "max", "of"))
    low, high = exact_share(inner, "min", None), exact_share(inner, "max", None)
    of = inner.choice("of", OF, OF[0])
    if low is None and high is None:
        raise row.fail(key, "has neither min nor max; give one of them, or leave it out.")
    if low is not None and high is not None and low > high:
        raise Contradiction(
            f"{inner.where('min')} is more than the max; swap them.", where=inner.where("min")
        )
    return Range(low, high, of)


def _bin_limits(
    row: Reader, allowed: tuple[int, ...], bins: tuple[TrimBin, ...]
) -> tuple[BinLimit, ...]:
    places = {bins[index].id: index for index in allowed}
    found: dict[int, BinLimit] = {}
    if len(row.items("bin_limits", [])) > MOST_BINS:
        raise row.fail("bin_limits", f"has more than {MOST_BINS} lines; give one for each bin.")
    for path, value in row.each("bin_limits", []):
        line = Reader(value, path, ("bin", "min", "max"))
        name = line.text("bin")
        if name not in places:
            raise line.fail("bin", f"is {name[:40]!r}, no bin of this recipe; name one of them.")
        if places[name] in found:
            raise line.fail("bin", f"is {name[:40]!r} once more; give one line for each bin.")
        low, high = exact_share(line, "min", None), exact_share(line, "max", None)
        if low is not None and high is not None and low > high:
            raise Contradiction(
                f"{line.where('min')} is more than the max; swap them.", where=line.where("min")
            )
        found[places[name]] = BinLimit(places[name], low, high)
    if sum(one.low or 0 for one in found.values()) > 1:
        raise Contradiction(
            f"{row.where('bin_limits')} have least shares of more than the whole; lower some.",
            where=row.where("bin_limits"),
        )
    return tuple(found.values())


def _all_added(row: Reader) -> tuple[Added, ...]:
    if len(row.items("added", [])) > MOST_ADDED:
        raise row.fail("added", f"has more than {MOST_ADDED} lines; join some of them.")
    found = tuple(_added(path, value) for path, value in row.each("added", []))
    for of in OF:
        if sum(one.share for one in found if one.of == of) > _MOST_ADDED_SHARE:
            raise row.fail("added", "comes to more than 90 %; the shares are of 1, such as 0.018.")
    return found


def _added(path: str, value: object) -> Added:
    line = Reader(value, path, ("name", "of", "share", "price", "contains", "kind"))
    share = exact_share(line, "share")
    assert share is not None
    return Added(
        name=_word(line, "name"),
        of=line.choice("of", OF),
        share=share,
        price=money_of(line, "price", "0"),
        contains=allergens(line, "contains"),
        kind=line.choice("kind", KINDS),
    )


def _casing(row: Reader) -> Casing | None:
    if not row.has("casing"):
        return None
    inner = Reader(row.value["casing"], row.where("casing"), ("species", "per_unit", "contains"))
    return Casing(
        species=inner.choice("species", CASINGS),
        per_unit=money_of(inner, "per_unit", "0"),
        contains=allergens(inner, "contains"),
    )


def _piece(row: Reader) -> int | None:
    if not row.has("piece"):
        return None
    inner = Reader(row.value["piece"], row.where("piece"), ("weight",))
    found = _weight(inner, "weight")
    if found is None:
        raise inner.fail("weight", "is missing; give the weight of one link.")
    return found


def _wanted(row: Reader, recipe: Recipe, bins: tuple[TrimBin, ...]) -> None:
    """Check that it is said how much is to be made, and that it has an end."""
    if recipe.make is None and recipe.price is None:
        raise row.fail("make", "is missing; give the weight wanted, or a price it sells at.")
    if recipe.make is not None and recipe.most is not None:
        raise row.fail("most", "is given beside make; keep one of the two.")
    endless = any(bins[index].available is None for index in recipe.bins)
    if recipe.make is None and recipe.most is None and endless:
        raise row.fail("most", "is missing; a bin of this recipe has no end, so give the most.")
    held = sum(bins[index].available or 0 for index in recipe.bins)
    size = recipe.make or recipe.most or held * recipe.finished_per_meat
    if recipe.batch and size > recipe.batch * _MOST_BATCHES:
        raise row.fail("batch", f"would be filled over {_MOST_BATCHES} times; correct the weight.")


def _protein_known(row: Reader, recipe: Recipe, bins: tuple[TrimBin, ...]) -> None:
    if recipe.protein is None:
        return
    unknown = [bins[index].name for index in recipe.bins if bins[index].protein is None]
    if unknown:
        raise row.fail(
            "protein", f"is limited, but that of {unknown[0]} is not known; give it, or leave that "
            "bin out of the recipe.",
        )  # fmt: skip
