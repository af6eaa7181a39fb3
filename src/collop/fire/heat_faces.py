"""Faces solved: the surface and the flux into it that agree, for many samples at once.

References
----------
.. [1] Saturation pressure of water: Antoine's equation, 1 to 100 degC; its constants are from
   memory, its values are compared with a published one in tests/fire.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from collop.fire.surfaces import WET_K_PA, Face

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

__all__ = ["FaceArrays", "saturation_pa"]

_ANTOINE = (23.477_624, 3984.923, 233.426)  # ln Pa, K, degC
# a face is never colder than this, so that Antoine's equation stays far from its pole
_COLDEST_C = -60.0
_SETTLED_K = 0.01  # Newton doubles its digits: what is left is a millionth
_MOST_SWEEPS = 30


def saturation_pa(celsius: Floats) -> Floats:
    """Return the vapour pressure over water [Pa] at these temperatures [degC].

    Examples
    --------
    >>> import numpy as np
    >>> [round(float(p), -1) for p in saturation_pa(np.array([20.0, 60.0, 100.0]))]
    [2330.0, 19870.0, 101330.0]
    """
    a, b, c = _ANTOINE
    found: Floats = np.exp(a - b / (celsius + c))
    return found


class FaceArrays:
    """A `Face` ready to be solved for S samples.

    Parameters
    ----------
    face : Face
    part : slice
        Which of the samples.
    count : int
        How many samples there are in all.

    Raises
    ------
    ValueError
        If an array of the face is not one figure a sample, or not finite.
    """

    __slots__ = ("cap", "dry", "h", "wet", "wet_air")

    def __init__(self, face: Face, part: slice, count: int) -> None:
        def spread(name: str) -> Floats:
            figure = np.asarray(getattr(face, name), dtype=np.float64)
            if figure.shape not in {(), (1,), (count,)} or not np.isfinite(figure).all():
                raise ValueError(f"{name} of a face must be finite, one or {count} of them")
            return np.ascontiguousarray(np.broadcast_to(figure, (count,))[part])

        self.h = spread("h")
        self.dry = spread("q_rad") + self.h * spread("gas_c")
        self.cap = spread("cap_c")
        wet = spread("wetness") * self.h * WET_K_PA
        self.wet: Floats | None = wet if wet.any() else None
        self.wet_air = wet * spread("p_air_pa")

    def solve(self, rest: Floats, unit: Floats, guess: Floats) -> tuple[Floats, Floats]:
        """Return the surface [degC] and the flux into it [W/m2].

        Parameters
        ----------
        rest : array (S,)
            The surface if there were no flux [degC].
        unit : array (S,)
            What 1 W/m2 adds to it [K m2/W], above zero.
        guess : array (S,)
            A surface to start from [degC].
        """
        slope = 1.0 + unit * self.h
        level = rest + unit * self.dry
        if self.wet is None:
            surface = level / slope
        else:
            level += unit * self.wet_air
            surface = self._wet_surface(level, slope, unit * self.wet, guess)
        surface = np.minimum(surface, self.cap)
        return surface, (surface - rest) / unit

    def _wet_surface(self, level: Floats, slope: Floats, wet: Floats, guess: Floats) -> Floats:
        """Solve slope T + wet p_sat(T) = level by Newton; it is convex and rising in T."""
        a, b, c = _ANTOINE
        surface = np.maximum(guess, _COLDEST_C)
        for _ in range(_MOST_SWEEPS):
            above = surface + c
            pressure = np.exp(a - b / above) * wet
            change = (slope * surface + pressure - level) / (slope + pressure * b / (above * above))
            surface = np.maximum(surface - change, _COLDEST_C)
            if abs(change).max() < _SETTLED_K:
                break
        return surface

    def boiled(self, surface: Floats, flux: Floats) -> Floats:
        """Return the heat that takes water off [W/m2]: what comes less what goes in."""
        found: Floats = self.dry - self.h * surface - flux
        return found
