"""Settings for every test."""

from __future__ import annotations

from hypothesis import settings

# the same examples on every machine and run; no test may fail for being slow
settings.register_profile("ci", derandomize=True, deadline=None)
settings.load_profile("ci")
