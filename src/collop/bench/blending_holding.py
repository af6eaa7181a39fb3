"""Holding a recipe against the standard of its name, before anything is worked out."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from collop.bench.blending_amounts import share_text
from collop.bench.blending_problem import Recipe, TrimBin
from collop.bench.blending_standards import (
    FAT_AS_SUCH,
    PublishedLimit,
    limits_of,
    species_of,
)
from collop.errors import BadValue, Contradiction
from collop.wire import Reader

__all__ = ["allowed_bins", "held_to_standard"]


def allowed_bins(
    row: Reader, standard: str | None, bins: tuple[TrimBin, ...]
) -> tuple[tuple[int, ...], list[str]]:
    """Return the bins a recipe may take from, and what was left out without being asked.

    Parameters
    ----------
    row : Reader
        The recipe; its ``bins`` names some of them, or is left out for all.
    standard : str or None
        Published standard it falls under.
    bins : tuple of TrimBin
        All bins.

    Returns
    -------
    tuple of (tuple of int, list of str)
        Indices of the bins, and a sentence for each that its standard keeps out.

    Raises
    ------
    ProblemError
        If it names a bin that is not there, or one that its standard keeps out.
    """
    named = row.texts("bins", []) if row.has("bins") else None
    if named is not None and not named:
        raise row.fail("bins", "is empty; name at least one bin, or leave it out for all of them.")
    places = {one.id: index for index, one in enumerate(bins)}
    for at, name in enumerate(named or ()):
        if name not in places:
            where = f"{row.where('bins')}[{at}]"
            raise BadValue(f"{where} is {name[:40]!r}, which is no bin; name one.", where=where)
    wanted = range(len(bins)) if named is None else sorted({places[name] for name in named})
    found: list[int] = []
    told: dict[str, list[str]] = {}
    for index in wanted:
        why = _kept_out(standard, bins[index])
        if why is None:
            found.append(index)
        elif named is None:
            told.setdefault(why, []).append(bins[index].name)
        else:
            raise Contradiction(
                f"{row.where('bins')} names {bins[index].name}, but {why}; take it out of the "
                "recipe, or sell that under another name.",
                where=row.where("bins"),
            )
    sentences = [f"without {', '.join(names)}: {why}." for why, names in told.items()]
    if not found:
        raise row.fail("bins", f"leave nothing to make it of, {sentences[0]}")
    return tuple(found), sentences


def _kept_out(standard: str | None, one: TrimBin) -> str | None:
    """Return why a standard keeps a bin out; None if it does not."""
    species = species_of(standard)
    if species is not None and one.species != species:
        return f"{standard} is of {species} alone, not of {one.species}"
    for limit in limits_of(standard):
        if limit.what == "fat as such" and one.fat >= FAT_AS_SUCH:
            return (
                f"no fat as such may be added to {standard} ({limit.source}), and "
                f"from {share_text(FAT_AS_SUCH)} fat on a bin is taken as that"
            )
    return None


def held_to_standard(row: Reader, recipe: Recipe) -> Iterator[str]:
    """Yield what a recipe's standard rests on; refuse a recipe that goes over a limit.

    Raises
    ------
    Contradiction
        With the limit and its source.
    """
    for limit in limits_of(recipe.standard):
        if limit.what in {"water", "binder"}:
            share = recipe.added_share(limit.what)
            if share > limit.figure:
                raise _over(row, "added", recipe, limit, f"{limit.what} is {share_text(share)}")
        elif limit.what == "meat":
            share = 1 / recipe.finished_per_meat
            if share < limit.figure:
                raise _over(row, "added", recipe, limit, f"meat is {share_text(share)}")
        elif limit.what == "fat":
            _fat_within(row, recipe, limit)
        if not limit.row.is_cited:
            yield (
                f"{recipe.name}: the limit on {limit.what} of {recipe.standard} is from memory; "
                "check your code."
            )


def _fat_within(row: Reader, recipe: Recipe, limit: PublishedLimit) -> None:
    if recipe.fat is None:
        return
    scale = Fraction(1) if recipe.fat.of == "finished" else 1 / recipe.finished_per_meat
    for key, share in (("max", recipe.fat.high), ("min", recipe.fat.low)):
        if share is not None and share * scale > limit.figure:
            words = f"{key} lets fat be {share_text(share * scale)}"
            raise _over(row, f"fat.{key}", recipe, limit, words)


def _over(
    row: Reader, key: str, recipe: Recipe, limit: PublishedLimit, words: str
) -> Contradiction:
    least = limit.what == "meat"
    return Contradiction(
        f"{row.where(key)}: {words} of the finished weight of {recipe.name}; the limit for "
        f"{recipe.standard} is {share_text(limit.figure)} at the {'least' if least else 'most'} "
        f"({limit.source}). Change the recipe, or sell it under another name.",
        where=row.where(key),
    )
