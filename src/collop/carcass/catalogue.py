"""The cuts, found by any of their names.

Ambiguous words are not guessed: *butt*, *sirloin* or *fillet* find every cut so called, each with
its species.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from collop.carcass.own_cuts import OWN_CUTS
from collop.carcass.species import plain, species_named
from collop.carcass.standing import Basis, Standing
from collop.errors import BadValue
from collop.measures import Weight, WeightUnit
from collop.reference import CutRow, Status, cut_rows

__all__ = ["Cut", "cut_by_id", "cuts_of", "find_cuts"]

# words of the catalogue for large cuts that bear another name here
_LARGE_CUTS = {
    ("beef", "plate"): "short plate",
    ("beef", "loin"): "short loin",
    ("pork", "head"): "jowl, feet, tail and neck bones",
    ("lamb", "shank"): "breast, shanks and neck",
    ("lamb", "breast"): "breast, shanks and neck",
    ("chicken", "breast"): "bird",
    ("chicken", "leg"): "bird",
    ("chicken", "wing"): "bird",
    ("chicken", "back"): "bird",
    ("chicken", "giblets"): "bird",
    ("chicken", "whole"): "bird",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """One cut of one animal.

    Parameters
    ----------
    cut_id, species, large_cut, name : str
        `large_cut` is where it lies; ``trim`` or ``whole`` for what lies in none.
    other_names, muscles, methods : tuple of str
        Regional names, main muscles, ways to cook.
    imps, unece : str or None
        Item numbers, only where they were read in the published list.
    bone, grain, slice_advice, fat_level : str
        In words.
    tenderness : str
        Class of the key muscle cooked as a steak; see `tenderness_basis`.
    shear_band : str
        Published shear force of that class [kg]; empty if none.
    heat : str
        ``D`` dry, ``M`` moist, ``D/M`` either; empty if no list says.
    value_cut : bool
        Whether it eats better than its usual price.
    weights : tuple of Weight or None
        Lower and upper raw weight of the whole piece; see `weights_basis`.
    inches : tuple of Decimal or None
        Usual thickness [in].
    basis, tenderness_basis, weights_basis : Basis
        What the row, the class and the weights rest on.
    note : str
        What else a butcher says about it.
    """

    cut_id: str
    species: str
    large_cut: str
    name: str
    other_names: tuple[str, ...]
    imps: str | None
    unece: str | None
    muscles: tuple[str, ...]
    bone: str
    grain: str
    slice_advice: str
    fat_level: str
    tenderness: str
    shear_band: str
    methods: tuple[str, ...]
    heat: str
    value_cut: bool
    weights: tuple[Weight, Weight] | None
    inches: tuple[Decimal, Decimal] | None
    basis: Basis
    tenderness_basis: Basis
    weights_basis: Basis
    note: str = ""

    @property
    def title(self) -> str:
        """Return the name with its animal, so that no bare word is read wrongly."""
        told = self.species in plain(self.name).split()
        return self.name if told else f"{self.name} ({self.species})"


def _pounds(pair: tuple[Decimal, Decimal] | None) -> tuple[Weight, Weight] | None:
    if pair is None:
        return None
    return Weight.of(pair[0], WeightUnit.LB), Weight.of(pair[1], WeightUnit.LB)


def _marked(row: CutRow, status: Status, source: str) -> Basis:
    return Basis(Standing(status), source or row.source.text())


def _published(row: CutRow) -> Cut:
    sources = "; ".join(source.text() for source in row.field_sources)
    return Cut(
        cut_id=row.cut_id,
        species=row.species,
        large_cut=_LARGE_CUTS.get((row.species, row.primal), row.primal),
        name=row.name,
        other_names=row.other_names,
        imps=row.imps,
        unece=row.unece,
        muscles=row.muscles,
        bone=row.bone,
        grain=row.grain,
        slice_advice=row.slice_advice,
        fat_level=row.fat_level,
        tenderness=row.tenderness,
        shear_band=row.shear_band,
        methods=row.methods,
        heat=row.heat,
        value_cut=row.value_cut,
        weights=_pounds(row.pounds),
        inches=row.inches,
        basis=Basis.of(row, note="marked field by field"),
        tenderness_basis=_marked(row, row.tenderness_status, row.tenderness_source.text()),
        weights_basis=_marked(
            row, row.weight_status, sources if row.weight_status is Status.SEEN else ""
        ),
        note=row.note,
    )


def _own(cells: tuple[object, ...]) -> Cut:
    (cut_id, species, large_cut, name, others, muscles, bone, low, high, grain, slicing, fat,
     tenderness, methods, value_cut) = cells  # fmt: skip
    shop = Basis(Standing.SHOP)
    return Cut(
        cut_id=str(cut_id),
        species=str(species),
        large_cut=str(large_cut),
        name=str(name),
        other_names=_texts(others),
        imps=None,
        unece=None,
        muscles=_texts(muscles),
        bone=str(bone),
        grain=str(grain),
        slice_advice=str(slicing),
        fat_level=str(fat),
        tenderness=str(tenderness),
        shear_band="",
        methods=_texts(methods),
        heat="",
        value_cut=bool(value_cut),
        weights=_pounds((Decimal(str(low)), Decimal(str(high)))) if low else None,
        inches=None,
        basis=shop,
        tenderness_basis=shop,
        weights_basis=shop,
    )


def _texts(value: object) -> tuple[str, ...]:
    assert isinstance(value, tuple)
    return value


@cache
def _all() -> tuple[Cut, ...]:
    return (*(_published(row) for row in cut_rows()), *(_own(cells) for cells in OWN_CUTS))


@cache
def _names() -> tuple[tuple[Cut, tuple[str, ...], frozenset[str]], ...]:
    """Return each cut with its plain names and every word it may be found by."""
    found = []
    for cut in _all():
        names = tuple(_single(plain(name)) for name in (cut.name, *cut.other_names))
        more = (cut.large_cut, *cut.muscles, cut.imps or "", cut.unece or "", cut.species)
        words = {word for text in (*names, *more) for word in _single(plain(text)).split()}
        found.append((cut, names, frozenset(words)))
    return tuple(found)


def _single(text: str) -> str:
    """Return the words of a plain text without the s of a plural."""
    return " ".join(
        word[:-1] if len(word) > 3 and word[-1] == "s" and word[-2] not in "su" else word
        for word in text.split()
    )


def cuts_of(species: str, large_cut: str = "") -> tuple[Cut, ...]:
    """Return the cuts of an animal, or of one of its large cuts."""
    name, within = species_named(species), plain(large_cut)
    return tuple(
        cut for cut in _all() if cut.species == name and within in ("", plain(cut.large_cut))
    )


def find_cuts(text: str, species: str = "") -> tuple[Cut, ...]:
    """Return every cut that a text may mean, the nearest first.

    Parameters
    ----------
    text : str
        Any name, in any case, with or without accents and punctuation; also a muscle, a large cut
        or an item number that was read in its list.
    species : str
        The animal; every one if empty.

    Returns
    -------
    tuple of Cut
        Exact names first, then names holding the phrase, then cuts that hold all the words.

    Raises
    ------
    BadValue
        If `species` is no animal here.

    Examples
    --------
    >>> [cut.title for cut in find_cuts("fillet")][:3]
    ['Tenderloin, full (beef)', 'Tenderloin (pork)', 'Tenderloin (lamb)']
    """
    wanted = _single(plain(text))
    only = species_named(species) if species else ""
    if not wanted:
        return ()
    ranked = [
        (rank, index, cut)
        for index, (cut, names, words) in enumerate(_names())
        if only in ("", cut.species) and (rank := _rank(wanted, names, words)) is not None
    ]
    return tuple(cut for _, _, cut in sorted(ranked, key=lambda found: found[:2]))


def _rank(wanted: str, names: tuple[str, ...], words: frozenset[str]) -> int | None:
    if wanted in names:
        return 0
    if any(f" {wanted} " in f" {name} " for name in names):
        return 1
    parts = wanted.split()
    if all(part in words for part in parts):
        return 2
    # the last word may still be typed
    *whole, begun = parts
    typed = len(begun) > 2 and any(word.startswith(begun) for word in words)
    return 3 if typed and all(part in words for part in whole) else None


def cut_by_id(cut_id: str) -> Cut:
    """Return a cut by its id.

    Raises
    ------
    BadValue
        If there is none.

    Examples
    --------
    >>> cut_by_id("B040").name
    'Sirloin cap'
    """
    for cut in _all():
        if cut.cut_id == cut_id:
            return cut
    raise BadValue(f"There is no cut {cut_id[:20]!r}; search for it by name.")
