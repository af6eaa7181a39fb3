"""Pieces drawn from stated spreads, and the bands their times and rises fall in."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from collop.fire.conduction import Bodies, Slabs, Trace
from collop.fire.heat_reading import HeatProblem
from collop.fire.problem import BANDS
from collop.fire.surfaces import NO_CAP_C, Face

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

__all__ = ["bands_of", "sampled"]

# a normal figure is cut off here, so that none turns absurd
_MOST_SDS = 3.0
_LEAST_SHARE = 0.05


class _Draws:
    """Random figures, always drawn in the same order: a spread left out moves no other."""

    def __init__(self, seed: int, samples: int, spread: dict[str, float]) -> None:
        self.generator = np.random.Generator(np.random.PCG64(seed))
        self.samples = samples
        self.spread = spread

    def _normal(self) -> Floats:
        return np.clip(self.generator.standard_normal(self.samples), -_MOST_SDS, _MOST_SDS)

    def share(self, key: str) -> Floats:
        """Return factors around 1, normal."""
        return np.maximum(1.0 + self.spread[key] * self._normal(), _LEAST_SHARE)

    def skewed(self, key: str) -> Floats:
        """Return factors with the median 1, lognormal."""
        found: Floats = np.exp(np.log1p(self.spread[key]) * self._normal())
        return found

    def degrees(self, key: str) -> Floats:
        """Return differences, normal [K]."""
        return self.spread[key] * self._normal()

    def even(self, key: str) -> Floats:
        """Return differences, even over plus and minus the range."""
        return self.spread[key] * self.generator.uniform(-1.0, 1.0, self.samples)


def sampled(asked: HeatProblem, one: Bodies | Slabs) -> tuple[Bodies | Slabs, HeatProblem]:
    """Return many pieces around one, and the problem with as many faces.

    Parameters
    ----------
    asked : HeatProblem
        With a spread.
    one : Bodies or Slabs
        The piece as told.
    """
    assert asked.spread is not None
    draws = _Draws(asked.seed, asked.samples, asked.spread)
    size, alpha, k = draws.share("thickness_sd"), draws.share("alpha_sd"), draws.share("k_sd")
    start = np.maximum(one.start_c + draws.degrees("start_sd_c"), -39.0)
    shape = np.clip(asked.shape + draws.even("shape_range"), 0.0, 2.0)
    h, glow = draws.skewed("h_sd"), draws.skewed("q_rad_sd")
    gas, wet, cap = (
        draws.degrees("gas_sd_c"),
        draws.even("wetness_range"),
        draws.even("cap_range_c"),
    )

    def drawn(face: Face) -> Face:
        return Face(
            gas_c=face.gas_c + gas,
            h=face.h * h,
            q_rad=face.q_rad * glow,
            wetness=np.clip(face.wetness + wet, 0.0, 1.0) if face.wetness else 0.0,
            # 100 degC is that of boiling water: only a crust has a spread
            cap_c=np.maximum(face.cap_c + cap, 100.0) if 100.0 < face.cap_c < NO_CAP_C else (
                face.cap_c
            ),
            p_air_pa=face.p_air_pa,
        )  # fmt: skip

    faces = tuple(drawn(face) for face in asked.faces)
    if isinstance(one, Slabs):
        flat = Slabs(one.thickness_m * size, one.alpha * alpha, one.k * k, start)
        return flat, replace(asked, faces=faces)
    whole = Bodies(one.radius_m * size, shape, one.alpha * alpha, one.k * k, start)
    return whole, replace(asked, faces=faces)


def bands_of(asked: HeatProblem, trace: Trace) -> dict[str, Any]:
    """Return the bands at 10, 50 and 90 in a hundred.

    A sample that never gets there counts as later than all; a band that falls among such is None.
    """
    reached = trace.reached[0]
    minutes = np.sort(np.where(reached, trace.minutes[0], np.inf))
    found: dict[str, Any] = {
        "samples": asked.samples,
        "reached": round(float(reached.mean()), 4),
        "minutes_to_core": _three(minutes, 1),
        "rise_c": None,
    }
    if asked.rest is not None and reached.any():
        rise = trace.peak_c - trace.core_end_c[0]
        found["rise_c"] = _three(np.sort(rise[reached]), 1)
    return found


def _three(ordered: Floats, places: int) -> dict[str, float | None]:
    """Return the three bands of figures in their order."""
    picked = [float(ordered[round(share * (ordered.size - 1))]) for share in BANDS]
    return {
        f"p{round(100 * share)}": round(figure, places) if np.isfinite(figure) else None
        for share, figure in zip(BANDS, picked, strict=True)
    }
