"""The animals, the pieces that hang on the rail, and their large cuts in the order of the knife."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

from collop.errors import BadValue

__all__ = [
    "PIECES",
    "SPECIES",
    "LargeCut",
    "Piece",
    "large_cut_named",
    "large_cuts",
    "piece_named",
    "plain",
    "species_named",
]

SPECIES = ("beef", "pork", "lamb", "goat", "chicken", "duck")
_ALSO = {
    "cattle": "beef", "steer": "beef", "cow": "beef", "pig": "pork", "hog": "pork",
    "sheep": "lamb", "kid": "goat", "goat kid": "goat", "hen": "chicken", "bird": "chicken",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Piece:
    """A thing that hangs: one species, one shape.

    Parameters
    ----------
    species, name : str
        E.g. beef, forequarter.
    title : str
        What people call it, e.g. ``beef forequarter``.
    """

    species: str
    name: str
    title: str


@dataclass(frozen=True, slots=True)
class LargeCut:
    """First division of a piece.

    Parameters
    ----------
    species, name : str
        E.g. beef, chuck.
    other_names : tuple of str
        Regional names.
    zone : str
        ``middle`` (loin and rib zone), ``end`` or ``other``.
    """

    species: str
    name: str
    other_names: tuple[str, ...]
    zone: str


PIECES = (
    Piece("beef", "forequarter", "beef forequarter"),
    Piece("beef", "hindquarter", "beef hindquarter"),
    Piece("beef", "side", "beef side"),
    Piece("pork", "side", "pork side"),
    Piece("lamb", "carcass", "lamb carcass"),
    Piece("goat", "carcass", "goat carcass"),
    Piece("chicken", "whole", "whole chicken"),
    Piece("duck", "whole", "whole duck"),
)
# species, name, other names, zone: in the order the knife meets them
_LARGE_CUTS = (
    ("beef", "shank", "foreshank; shin", "end"),
    ("beef", "brisket", "brisket with bone", "end"),
    ("beef", "short plate", "plate", "end"),
    ("beef", "rib", "fore rib", "middle"),
    ("beef", "chuck", "shoulder", "end"),
    ("beef", "kidney fat", "suet; pelvic and heart fat; kidney knob", "other"),
    ("beef", "flank", "thin flank", "end"),
    ("beef", "round", "leg; hip", "end"),
    ("beef", "sirloin", "rump (Commonwealth)", "middle"),
    ("beef", "short loin", "loin", "middle"),
    ("pork", "jowl, feet, tail and neck bones", "head and feet", "end"),
    ("pork", "leg", "ham; fresh ham", "end"),
    ("pork", "shoulder", "butt and picnic", "end"),
    ("pork", "belly", "side; belly with spareribs", "middle"),
    ("pork", "loin", "back", "middle"),
    ("lamb", "breast, shanks and neck", "breast; foreshank; neck", "end"),
    ("lamb", "shoulder", "square-cut shoulder", "end"),
    ("lamb", "leg", "gigot; legs with sirloin", "end"),
    ("lamb", "rack", "rib; best end", "middle"),
    ("lamb", "loin", "saddle", "middle"),
    ("goat", "neck and breast", "neck; breast; shanks", "end"),
    ("goat", "shoulder", "forequarter", "end"),
    ("goat", "leg", "haunch", "end"),
    ("goat", "rack", "rib", "middle"),
    ("goat", "loin", "saddle", "middle"),
    ("chicken", "bird", "whole bird", "other"),
    ("duck", "bird", "whole bird", "other"),
)


def plain(text: str) -> str:
    """Return a text without case, accents and punctuation, words parted by one space.

    Examples
    --------
    >>> plain("Osso-Bûco  (cut)")
    'osso buco cut'
    """
    letters = unicodedata.normalize("NFKD", text[:200].casefold())
    kept = "".join(" " if not letter.isalnum() else letter
                   for letter in letters if not unicodedata.combining(letter))  # fmt: skip
    return " ".join(kept.replace("butcher s", "butchers").split())


def species_named(text: str, *, where: str = "") -> str:
    """Return a species by its name or another name of the animal.

    Raises
    ------
    BadValue
        If it is none of the animals.
    """
    name = plain(text)
    name = _ALSO.get(name, name)
    if name not in SPECIES:
        raise BadValue(f"{text[:40]!r} is no animal here; use one of {', '.join(SPECIES)}.",
                       where=where)  # fmt: skip
    return name


def large_cuts(species: str) -> tuple[LargeCut, ...]:
    """Return the large cuts of a species in the order the knife meets them.

    Examples
    --------
    >>> [cut.name for cut in large_cuts("lamb")][:2]
    ['breast, shanks and neck', 'shoulder']
    """
    name = species_named(species)
    return tuple(
        LargeCut(of, cut, tuple(others.split("; ")), zone)
        for of, cut, others, zone in _LARGE_CUTS
        if of == name
    )


def large_cut_named(species: str, text: str, *, where: str = "") -> LargeCut:
    """Return a large cut by its name or another name.

    Raises
    ------
    BadValue
        If the species has none of that name.
    """
    wanted = plain(text)
    found = large_cuts(species)
    for cut in found:
        if wanted == plain(cut.name):
            return cut
    for cut in found:
        if wanted in {plain(name) for name in cut.other_names}:
            return cut
    names = "; ".join(cut.name for cut in found)
    raise BadValue(f"{text[:40]!r} is no large cut of {species}; use one of: {names}.", where=where)


def piece_named(text: str, species: str = "", *, where: str = "") -> Piece:
    """Return a piece by what people write, e.g. ``beef forequarter`` or ``half, right``.

    Parameters
    ----------
    text : str
        The piece, with or without the animal.
    species : str
        The animal, if the text does not say it.
    where : str
        Path of the value, for the error.

    Raises
    ------
    BadValue
        If no such piece is known.

    Examples
    --------
    >>> piece_named("half, right", "pig").title
    'pork side'
    """
    # what stands in brackets is said about the piece: "whole (half is sold)" is whole
    words = plain(text.partition("(")[0]).split()
    told = species_named(species, where=where) if species else ""
    for word in words:
        name = _ALSO.get(word, word)
        if not told and name in SPECIES:
            told = name
    shape = next((shape for shape, hint in _SHAPES if any(re.match(hint, w) for w in words)), "")
    for piece in PIECES:
        fits = shape in {"", piece.name} or (
            {shape, piece.name} == {"carcass", "whole"} and piece.species != "beef"
        )
        if piece.species == told and fits and (shape or piece.species not in {"beef", "pork"}):
            return piece
    names = ", ".join(piece.title for piece in PIECES)
    raise BadValue(f"{text[:40]!r} is no piece with a plan; use one of {names}.", where=where)


# the first hint that a word fits decides: "whole side" is a side
_SHAPES = (
    ("forequarter", "fore"),
    ("hindquarter", "hind"),
    ("side", "(side|half)s?$"),
    ("carcass", "carcass"),
    ("whole", "whole"),
)
