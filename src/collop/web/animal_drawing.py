"""The animal as a plain drawing in parts: our own shapes, for the page that teaches the case.

A four-legged animal is seen from its left side, its head to the left; a bird lies on its back, its
neck up. The shapes are signs of where a part lies, not of how large it is.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from collop.carcass.cards_places import BIRDS

__all__ = ["BIRD", "BODY", "Drawing", "Part", "drawing_of"]

#: Corners of each part, ``x,y`` from the upper left, in a field of `_WIDE` by `_HIGH`.
BODY = {
    "head": "1,18 10,9 19,14 17,24 7,29 2,26",
    "neck": "19,14 31,11 32,27 17,24",
    "shoulder": "31,11 48,9 49,28 32,27",
    "rib": "48,9 65,9 65,28 49,28",
    "loin": "65,9 82,9 81,28 65,28",
    "hip": "82,9 95,11 93,29 81,28",
    "leg": "95,11 104,18 105,34 101,44 91,44 93,29",
    "breast": "32,27 49,28 49,42 35,41",
    "fore belly": "49,28 65,28 65,43 49,42",
    "hind belly": "65,28 81,28 93,29 91,38 65,43",
    "front shank": "36,41 45,42 43,62 38,62",
    "hind shank": "91,44 101,44 99,62 93,62",
    "under the loin": "66,22 92,21 92,26 66,27",
}
BIRD = {
    "neck": "47,1 57,1 58,11 46,11",
    "back": "46,11 58,11 71,18 72,44 60,54 52,56 44,54 32,44 33,18",
    "wing": "31,17 22,23 19,36 24,42 30,32",
    "wing, right": "73,17 82,23 85,36 80,42 74,32",
    "thigh": "31,39 39,44 42,53 35,58 27,53",
    "thigh, right": "73,39 65,44 62,53 69,58 77,53",
    "drumstick": "35,58 42,53 48,58 47,62 42,63",
    "drumstick, right": "69,58 62,53 56,58 57,62 62,63",
    "breast": "37,16 50,14 50,47 43,46 35,34",
    "breast, right": "67,16 54,14 54,47 61,46 69,34",
    "under the breast": "46,22 50,20 50,43 47,41",
    "under the breast, right": "58,22 54,20 54,43 57,41",
    "inside": "48,47 56,47 57,54 47,54",
}
_WIDE, _HIGH = 106, 64
#: What lies within another part: drawn only where it is told.
_WITHIN = frozenset({"under the loin", "under the breast", "inside"})


@dataclass(frozen=True, slots=True)
class Part:
    """One shape: its corners, and whether the answer is there."""

    points: str
    is_told: bool


@dataclass(frozen=True, slots=True)
class Drawing:
    """The shapes in the order they are laid, in a field of so many units."""

    parts: tuple[Part, ...]
    is_bird: bool
    wide: int = _WIDE
    high: int = _HIGH


def drawing_of(species: str, parts: Collection[str]) -> Drawing | None:
    """Return the animal with these parts told; None if nothing of it is.

    Parameters
    ----------
    species : str
        One of `collop.carcass.SPECIES`.
    parts : collection of str
        Of `collop.carcass.cards_places.BODY_PARTS`, or ``BIRD_PARTS`` for a bird.
    """
    if not parts:
        return None
    is_bird = species in BIRDS
    shapes = (
        (name.partition(",")[0], points) for name, points in (BIRD if is_bird else BODY).items()
    )
    return Drawing(
        tuple(
            Part(points, name in parts)
            for name, points in shapes
            if name in parts or name not in _WITHIN
        ),
        is_bird,
    )
