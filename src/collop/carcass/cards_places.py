"""Where each large cut sits on the animal, in one line: common practice, no published source."""

from __future__ import annotations

from collop.carcass.species import SPECIES, large_cuts, plain

__all__ = ["BIRDS", "BIRD_PARTS", "BODY_PARTS", "parts_of", "place_of", "zone_line"]

_HIND = "The hind leg, from the hip down to the hock."
_BACK = "Along the back, from the last rib to the hip."
_PLACES = {
    ("beef", "shank"): "The front leg, from the elbow down.",
    ("beef", "brisket"): "The breast, low between the front legs.",
    ("beef", "short plate"): "The fore belly, under the rib and behind the brisket.",
    ("beef", "rib"): "Along the back, behind the shoulder blade and before the short loin.",
    ("beef", "chuck"): "Neck and shoulder, before the rib.",
    ("beef", "kidney fat"): "Round the kidneys, inside and under the loin.",
    ("beef", "flank"): "The hind belly, under the short loin.",
    ("beef", "round"): _HIND,
    ("beef", "sirloin"): "The hip, between the short loin and the round.",
    ("beef", "short loin"): "Along the back, from the last rib to the hip.",
    ("pork", "leg"): _HIND,
    ("pork", "shoulder"): "The front leg and the shoulder blade, up to the neck.",
    ("pork", "belly"): "The under side, below the loin, between the legs.",
    ("pork", "loin"): "Along the back, from the shoulder blade to the hip.",
    ("lamb", "shoulder"): "The front leg and the shoulder blade, before the rack.",
    ("lamb", "leg"): _HIND,
    ("lamb", "rack"): "Along the back, the ribs behind the shoulder.",
    ("lamb", "loin"): _BACK,
    ("goat", "shoulder"): "The front leg and the shoulder blade, before the rack.",
    ("goat", "leg"): _HIND,
    ("goat", "rack"): "Along the back, the ribs behind the shoulder.",
    ("goat", "loin"): _BACK,
}
# what lies in a large cut of several places, or in a bird, is told by its own name
_NAMED = (
    ("foreshank", "The front leg, from the elbow down."),
    ("hind shank", "The hind leg, from the stifle down to the hock."),
    ("hock", "The lower end of the leg."),
    ("shank", "The lower end of the leg."),
    ("shin", "The lower end of the leg."),
    ("neck", "Behind the head, before the shoulder."),
    ("jowl", "The cheek."),
    ("thigh", "The upper part of the leg, at the hip."),
    ("drumstick", "The lower part of the leg, under the thigh."),
    ("leg", "Thigh and drumstick, from the hip down."),
    ("wing", "The front limb, at the shoulder."),
    ("tender", "The small muscle under the breast, along the keel."),
    ("breast", "The front of the body, on both sides of the keel."),
    ("crown", "The front of the body, on both sides of the keel."),
    ("frame", "The back and neck, when all else is off."),
    ("giblets", "Inside: heart, gizzard and liver."),
)
_LOW_BREAST = "The breast, low between the front legs, and on under the ribs."
_SEVERAL = frozenset({
    "breast, shanks and neck", "neck and breast", "jowl, feet, tail and neck bones",
})  # fmt: skip
#: Species whose parts are those of a bird.
BIRDS = frozenset({"chicken", "duck"})
#: Parts of a drawn four-legged animal, from the head back, then those below and inside.
BODY_PARTS = (
    "head", "neck", "shoulder", "rib", "loin", "hip", "leg", "breast", "fore belly", "hind belly",
    "front shank", "hind shank", "under the loin",
)  # fmt: skip
#: Parts of a drawn bird.
BIRD_PARTS = ("neck", "back", "breast", "under the breast", "wing", "thigh", "drumstick", "inside")
#: What is drawn of each place that is said: the drawing and the sentence cannot part.
_DRAWN = {
    "The front leg, from the elbow down.": ("front shank",),
    "The breast, low between the front legs.": ("breast",),
    _LOW_BREAST: ("breast", "fore belly"),
    "The fore belly, under the rib and behind the brisket.": ("fore belly",),
    "The hind belly, under the short loin.": ("hind belly",),
    "The under side, below the loin, between the legs.": ("fore belly", "hind belly"),
    "Along the back, behind the shoulder blade and before the short loin.": ("rib",),
    "Along the back, the ribs behind the shoulder.": ("rib",),
    _BACK: ("loin",),
    "Along the back, from the shoulder blade to the hip.": ("rib", "loin"),
    "The hip, between the short loin and the round.": ("hip",),
    _HIND: ("leg", "hind shank"),
    "Neck and shoulder, before the rib.": ("neck", "shoulder"),
    "The front leg and the shoulder blade, up to the neck.": ("shoulder", "breast", "front shank"),
    "The front leg and the shoulder blade, before the rack.": ("shoulder", "front shank"),
    "Round the kidneys, inside and under the loin.": ("under the loin",),
    "Inside, under the backbone of the loin.": ("under the loin",),
    "The hind leg, from the stifle down to the hock.": ("hind shank",),
    "The lower end of the leg.": ("front shank", "hind shank"),
    "Behind the head, before the shoulder.": ("neck",),
    "The cheek.": ("head",),
    "The upper part of the leg, at the hip.": ("thigh",),
    "The lower part of the leg, under the thigh.": ("drumstick",),
    "Thigh and drumstick, from the hip down.": ("thigh", "drumstick"),
    "The front limb, at the shoulder.": ("wing",),
    "The small muscle under the breast, along the keel.": ("under the breast",),
    "The front of the body, on both sides of the keel.": ("breast",),
    "The back and neck, when all else is off.": ("neck", "back"),
    "Inside: heart, gizzard and liver.": ("inside",),
    "The whole bird, or one side of it.": ("neck", "back", "breast", "wing", "thigh", "drumstick"),
}
_ZONES = {
    "middle": "A middle: muscles that worked little.",
    "end": "An end: muscles that worked hard; slow, thin across the grain, or minced.",
}


def place_of(species: str, large_cut: str, name: str) -> str:
    """Return where a cut sat on the animal, in one sentence; empty if it cannot be told.

    Parameters
    ----------
    species, large_cut : str
        As the catalogue has them.
    name : str
        The cut's own name, for birds and for large cuts of several places.

    Notes
    -----
    Common practice, no published source.

    Examples
    --------
    >>> place_of("beef", "brisket", "Brisket flat")
    'The breast, low between the front legs.'
    """
    said = plain(name)
    if species in BIRDS and ("whole" in said.split() or "half" in said.split()):
        return "" if "leg" in said.split() else "The whole bird, or one side of it."
    if species not in BIRDS and "tenderloin" in said:
        return "Inside, under the backbone of the loin."
    is_mixed = species in BIRDS or large_cut in _SEVERAL
    named = ("shank" in said or "hock" in said or "neck" in said or is_mixed) and next(
        (place for word, place in _NAMED if word in said), ""
    )
    if named and species not in BIRDS and "breast" in said:
        return _LOW_BREAST
    return named or _PLACES.get((species, large_cut), "")


def zone_line(species: str, large_cut: str) -> str:
    """Return what a middle or an end means for the fire; empty for what is neither."""
    if species not in SPECIES:
        return ""
    zone = next((one.zone for one in large_cuts(species) if one.name == large_cut), "")
    return _ZONES.get(zone, "")


def parts_of(place: str) -> tuple[str, ...]:
    """Return which parts of the drawn animal a place is; none for what is nowhere drawn.

    Parameters
    ----------
    place : str
        As `place_of` says it.

    Returns
    -------
    tuple of str
        Some of `BODY_PARTS`, or of `BIRD_PARTS` for a bird.

    Examples
    --------
    >>> parts_of("Neck and shoulder, before the rib.")
    ('neck', 'shoulder')
    """
    return _DRAWN.get(place, ())
