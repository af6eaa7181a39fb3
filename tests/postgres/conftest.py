"""The server of these tests and its two demo shops."""

from pg_ground import ground, pair, two_demos

__all__ = ["ground", "pair", "two_demos"]
