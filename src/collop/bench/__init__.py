"""Cutting plan of the week: what to break, how and when; what a pound more is worth."""

from collop.bench.blend import blend
from collop.bench.farmcall import farmcall
from collop.bench.plan import bench

__all__ = ["bench", "blend", "farmcall"]
