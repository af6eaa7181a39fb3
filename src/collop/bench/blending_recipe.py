"""A weighed-out recipe as the plan tells it: amounts, batches, what it holds, its limits."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from collop.bench.blending_amounts import PER_UNIT, plain, weight_text
from collop.bench.blending_bounds import Bound
from collop.bench.blending_limits import limits_json, verdict_json
from collop.bench.blending_problem import Blend, Recipe
from collop.bench.blending_program import Answer, Model
from collop.bench.blending_rounding import Mixed, mixed_batches
from collop.bench.blending_words import casing_species
from collop.bench.blending_worths import binds, enters_at, saved_by_bin
from collop.measures import decimal_of

__all__ = ["Weighed", "bins_json", "recipe_json", "recipe_minor"]

_SHARE_PLACES = 6


@dataclass(frozen=True, slots=True)
class Weighed:
    """A blend with its limits, its program, the answer, and each recipe in thousandths."""

    blend: Blend
    bounds: tuple[Bound, ...]
    model: Model
    answer: Answer
    mixed: tuple[Mixed, ...]


def _cost(blend: Blend, r: int, mixed: Mixed) -> Fraction:
    recipe = blend.recipes[r]
    total = sum((blend.bins[b].price * count for b, count in mixed.bins.items()), Fraction(0))
    pairs = zip(recipe.added, mixed.added, strict=True)
    total += sum((one.price * count for one, count in pairs), Fraction(0))
    total += (recipe.casing.per_unit if recipe.casing else 0) * mixed.finished
    return total / PER_UNIT


def recipe_minor(weighed: Weighed) -> tuple[list[int], list[int]]:
    """Return cost and takings of each recipe in whole minor units, each rounded once."""
    frame, recipes = weighed.blend.frame, weighed.blend.recipes
    cost = [frame.minor(_cost(weighed.blend, r, one)) for r, one in enumerate(weighed.mixed)]
    takings = [
        frame.minor((recipe.price or 0) * Fraction(one.finished, PER_UNIT))
        for recipe, one in zip(recipes, weighed.mixed, strict=True)
    ]
    return cost, takings


def recipe_json(weighed: Weighed, r: int) -> dict[str, Any]:
    """Return one recipe of the plan."""
    blend, mixed = weighed.blend, weighed.mixed[r]
    recipe, frame = blend.recipes[r], blend.frame
    cost, finished = _cost(blend, r, mixed), Fraction(mixed.finished, PER_UNIT)
    return {
        "id": recipe.id,
        "name": recipe.name,
        "standard": recipe.standard,
        "finished": weight_text(mixed.finished),
        "meat": weight_text(mixed.meat),
        "cost": frame.money(cost),
        "cost_per_unit": frame.unit_money(cost / finished) if finished else None,
        "takings": None if recipe.price is None else frame.money(recipe.price * finished),
        **_amounts(blend, recipe, mixed),
        **_holds(blend, recipe, mixed),
        "pieces": None if recipe.piece is None else mixed.finished // recipe.piece,
        "over": None if recipe.piece is None else weight_text(mixed.finished % recipe.piece),
        "batches": _batches(weighed, r),
        "limits": limits_json(weighed, r),
        "verdict": verdict_json(recipe, mixed, [b for b in weighed.bounds if b.recipe == r]),
        "say": _say(blend, recipe, mixed, cost),
    }


def _amounts(blend: Blend, recipe: Recipe, mixed: Mixed) -> dict[str, Any]:
    return {
        "bins": [
            {
                "bin": blend.bins[b].id,
                "name": blend.bins[b].name,
                "weight": weight_text(count),
                "share": _number(Fraction(count, mixed.meat)),
            }
            for b, count in sorted(mixed.bins.items())
        ],
        "added": [
            {"name": one.name, "kind": one.kind, "weight": weight_text(count)}
            for one, count in zip(recipe.added, mixed.added, strict=True)
        ],
    }


def _number(share: Fraction) -> float:
    return float(decimal_of(share, _SHARE_PLACES))


def _holds(blend: Blend, recipe: Recipe, mixed: Mixed) -> dict[str, Any]:
    """Return fat, protein, species, allergens and casing; nothing where nothing is made."""
    used = [blend.bins[b] for b in sorted(mixed.bins)]
    fat = sum((blend.bins[b].fat * count for b, count in mixed.bins.items()), Fraction(0))
    proteins = [blend.bins[b].protein for b in mixed.bins]
    protein = sum(
        ((blend.bins[b].protein or 0) * count for b, count in mixed.bins.items()), Fraction(0)
    )
    known = bool(used) and None not in proteins
    casing = recipe.casing
    contains = {word for one in used for word in one.contains}
    pairs = zip(recipe.added, mixed.added, strict=True)
    # what is weighed out as nothing may still be a pinch: it stays declared
    contains |= {word for one, _ in pairs if one.share for word in one.contains}
    contains |= set(casing.contains) if casing else set()
    species = {one.species for one in used} | set(casing_species(casing.species) if casing else ())
    return {
        "fat": _number(Fraction(fat, mixed.meat)) if used else None,
        "fat_finished": _number(fat / mixed.finished) if used else None,
        "protein": _number(Fraction(protein, mixed.meat)) if known else None,
        "lean_fat": _lean_and_fat(fat / mixed.meat) if used and not recipe.added else None,
        "species": sorted(species),
        "contains": sorted(contains),
        "casing": casing.species if casing else None,
    }


def _lean_and_fat(fat: Fraction) -> str:
    """Return lean and fat beside each other, adding to 100, the fat rounded up.

    A share of lean is stated only beside that of fat (rule LB024, 75 FR 82148).
    """
    shown = Fraction((-(-fat * 1000)).__ceil__(), 10)
    return f"{plain(100 - shown)} % lean / {plain(shown)} % fat"


def _batches(weighed: Weighed, r: int) -> list[dict[str, Any]]:
    """Return the fillings of the mixer, like ones counted together."""
    recipe, mixed = weighed.blend.recipes[r], weighed.mixed[r]
    if recipe.batch is None or not mixed.finished:
        return []
    found: list[tuple[Mixed, int]] = []
    for one in mixed_batches(recipe, mixed, weighed.bounds, r):
        if found and found[-1][0] == one:
            found[-1] = (one, found[-1][1] + 1)
        else:
            found.append((one, 1))
    return [
        {
            "times": times,
            "finished": weight_text(one.finished),
            "bins": _plain_lines(weighed.blend, one),
            "added": [
                {"name": added.name, "weight": weight_text(count)}
                for added, count in zip(recipe.added, one.added, strict=True)
            ],
        }
        for one, times in found
    ]


def _plain_lines(blend: Blend, mixed: Mixed) -> list[dict[str, str]]:
    return [
        {"bin": blend.bins[b].id, "name": blend.bins[b].name, "weight": weight_text(count)}
        for b, count in sorted(mixed.bins.items())
    ]


def _say(blend: Blend, recipe: Recipe, mixed: Mixed, cost: Fraction) -> str:
    unit = blend.frame.unit
    if not mixed.finished:
        return f"{recipe.name}: none; at its price no blend pays."
    parts = [f"{weight_text(n)} {unit} {blend.bins[b].name}" for b, n in sorted(mixed.bins.items())]
    each = blend.frame.unit_money(cost * PER_UNIT / mixed.finished)
    return (
        f"{recipe.name}: {', '.join(parts)} make {weight_text(mixed.finished)} {unit} for {each} "
        f"a {unit}."
    )


def bins_json(weighed: Weighed) -> list[dict[str, Any]]:
    """Return the bins of the plan: used, left, what one more unit saves, when a bin would enter."""
    return list(_bins(weighed, weighed.mixed))


def _bins(weighed: Weighed, mixed: Sequence[Mixed]) -> Iterator[dict[str, Any]]:
    blend, model, answer = weighed.blend, weighed.model, weighed.answer
    frame = blend.frame
    lines = {b: model.bounds + at for at, b in enumerate(model.ends)}
    for b, one in enumerate(blend.bins):
        used = sum(recipe.bins.get(b, 0) for recipe in mixed)
        saves = None
        if b in lines and one.available and binds(model, answer, lines[b]):
            saves = saved_by_bin(model, answer, lines[b])
        enters = enters_at(blend, model, answer, b)
        yield {
            "id": one.id,
            "name": one.name,
            "used": weight_text(used),
            "left": None if one.available is None else weight_text(one.available - used),
            "price": frame.unit_money(one.price),
            "saves": None if saves is None else frame.unit_money(saves),
            "enters_at": None if enters is None else frame.unit_money(enters),
        }
