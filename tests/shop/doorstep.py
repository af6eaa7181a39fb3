"""Helps for tests of the door: cheap hashes, and a machine clock that is put forward by hand."""

from __future__ import annotations

from argon2 import PasswordHasher

from collop.shop import access_secrets
from collop.shop.access import AccessRoom

#: A password of each person of the demo week.
WORDS = {
    "ines": "rail hook bone saw",
    "marek": "block knife steel board",
    "dot": "paper string label bag",
    "kofi": "broom bucket brush hose",
}


class Wall:
    """Seconds since 1970, as told."""

    def __init__(self, seconds=1_800_000_000):
        self.seconds = seconds

    def __call__(self):
        """Return them."""
        return float(self.seconds)

    def on(self, seconds):
        """Put the clock forward, or back."""
        self.seconds += seconds


def cheap_hashes(patch):
    """Hash with parameters that take no time; what is tested here is not how slow a guess is."""
    patch.setattr(access_secrets, "_hasher", lambda: PasswordHasher(1, 8, 1))


def door(shop, wall=None):
    """Return the door of a shop by a clock of ours."""
    return AccessRoom(shop._room, wall=wall or Wall())


def all_in(access, *names):
    """Give passwords to the owner and the others named; return the owner's first session."""
    signed = access.set_up("Ines", WORDS["ines"])
    for name in names:
        access.set_password(name, WORDS[name], by="ines")
    return signed
