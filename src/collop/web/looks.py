"""How the pages look on one device: its light, the place it stands in, and its sounds.

Each is a cookie of the device and an attribute of ``<html>`` that style sheets and scripts read:
``data-ground``, ``data-place`` and ``data-sounds``. A cookie that says something else is as if it
were not there.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from collop.words import gettext as _

__all__ = ["GROUND_COOKIE", "PLACE_COOKIE", "SOUNDS_COOKIE", "Looks", "looks_of", "told"]

GROUND_COOKIE, PLACE_COOKIE, SOUNDS_COOKIE = "collop_ground", "collop_place", "collop_sounds"
#: Cookie, and what it may say, the first being what counts without it.
_CHOICES = {
    GROUND_COOKIE: ("light", "dark", "system"),
    PLACE_COOKIE: ("desk", "counter", "wall", "phone"),
    SOUNDS_COOKIE: ("off", "on"),
}


@dataclass(frozen=True, slots=True)
class Looks:
    """How the pages look on a device."""

    ground: str = "light"
    place: str = "desk"
    sounds: str = "off"


def looks_of(cookies: Mapping[str, str]) -> Looks:
    """Return the look that the cookies of a request ask for.

    Examples
    --------
    >>> looks_of({"collop_ground": "dark", "collop_place": "moon"})
    Looks(ground='dark', place='desk', sounds='off')
    """
    return Looks(
        *(
            cookies[name] if cookies.get(name) in known else known[0]
            for name, known in _CHOICES.items()
        )
    )


def told() -> dict[str, dict[str, str]]:
    """Return the choices with their words: ``ground``, ``place`` and ``sounds``."""
    return {
        "ground": {
            "light": _("Light, for a bright room"),
            "dark": _("Dark, for a cutting-room with little light"),
            "system": _("As the device itself is set"),
        },
        "place": {
            "desk": _("Desk: the usual size"),
            "counter": _("Counter tablet: read at 60 cm"),
            "wall": _("Wall: read at 3 m, touched with a wet glove"),
            "phone": _("Phone in the hand"),
        },
        "sounds": {"off": _("Off"), "on": _("On, beside the words")},
    }
