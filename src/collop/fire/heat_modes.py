"""The eigenfunctions of an insulated piece: how fast each dies, and what each shows where.

A piece of shape factor b obeys ``dT/dt = alpha (T'' + (b/r) T')`` over 0 < r < R. With no flux at
its surface its eigenfunctions are ``r^-v J_v(mu r)`` with ``v = (b - 1) / 2``, where mu is a zero
of ``J_(v+1)``; scaled to 1 at the surface each has the norm 1/2 whatever b is. So every one is
driven by the surface flux alike, and the zeros are smooth in b: they are fitted once and read off
for each sample. A flat piece with two faces has cosines over its full thickness; the even ones
are driven by the sum of the two fluxes, the odd ones by the difference.

What the terms left out would add once settled has a closed form and is kept.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

__all__ = ["Group", "body_groups", "shape_modes", "slab_groups"]

_DEGREE = 14  # of the fit over b: better than 1e-9 for all zeros kept, see its test
# where the core of a flat piece is looked for: this far from the middle, as shares of thickness
_REACH = np.linspace(0.0, 0.25, 7)


@dataclass(frozen=True, slots=True, eq=False)
class Group:
    """Eigenfunctions driven by one flux; M of them, S samples, P points of the core.

    Attributes
    ----------
    rate : array (M, S)
        How fast each dies [1/s]; the mean, first where there is one, does not.
    gain : array (M, S)
        How fast each grows under 1 W/m2 [K/s].
    tail : array (S,)
        What the terms left out add at the surface under 1 W/m2 [K].
    core : array (P, M), or (M, S) where `own_core`
        What each shows at the points of the core. The last also stands for those left out, so
        that the core does not jump with the flux.
    own_core : bool
        Whether each sample has a `core` of its own, with one point.
    """

    rate: Floats
    gain: Floats
    tail: Floats
    core: Floats
    own_core: bool


@cache
def _fits(terms: int) -> tuple[Floats, Floats]:
    """Return Chebyshev coefficients over b of the zeros and of the centre values, (D, terms)."""
    from scipy.special import gamma, jv, jvp  # noqa: PLC0415 -- slow to load

    nodes = np.cos(np.pi * (np.arange(_DEGREE + 1) + 0.5) / (_DEGREE + 1))
    order = ((nodes + 1.0) + 1.0)[:, None] / 2  # of the Bessel function whose zeros are sought
    beta = (np.arange(1, terms + 1) + order / 2 - 0.25) * np.pi
    zeros = beta - (4 * order**2 - 1) / (8 * beta)
    for _ in range(8):
        zeros = zeros - jv(order, zeros) / jvp(order, zeros)
    v = order - 1
    centre = (zeros / 2) ** v / (gamma(v + 1) * jv(v, zeros))
    fit = np.polynomial.chebyshev.chebfit
    of_zeros: Floats = np.asarray(fit(nodes, zeros, _DEGREE), dtype=np.float64)
    of_centre: Floats = np.asarray(fit(nodes, centre, _DEGREE), dtype=np.float64)
    return of_zeros, of_centre


def shape_modes(shape: Floats, terms: int) -> tuple[Floats, Floats]:
    """Return the zeros mu and the centre values of the first eigenfunctions.

    Parameters
    ----------
    shape : array (S,)
        Shape factors within [0, 2].
    terms : int

    Returns
    -------
    tuple of arrays (terms, S)
        The mean, whose mu is 0, is not among them.
    """
    zeros, centre = _fits(terms)
    value = np.polynomial.chebyshev.chebval
    mu: Floats = np.asarray(value(shape - 1.0, zeros), dtype=np.float64)
    shown: Floats = np.asarray(value(shape - 1.0, centre), dtype=np.float64)
    return mu, shown


def _shown_at(position: float, shape: Floats, mu: Floats) -> Floats:
    """Return what each shows at a share of the radius, 1 at the surface."""
    from scipy.special import jv  # noqa: PLC0415 -- slow to load

    v = (shape - 1.0) / 2.0
    found: Floats = position**-v * jv(v, mu * position) / jv(v, mu)
    return found


def body_groups(
    *, radius_m: Floats, shape: Floats, alpha: Floats, k: Floats, terms: int, position: float = 0.0
) -> tuple[Group]:
    """Return the one group of pieces heated alike all round; arrays (S,).

    The core is read at `position`, a share of the radius.
    """
    one = np.unique(shape)
    b = one if one.size == 1 else shape
    mu, shown = shape_modes(b, terms)
    settled = -(shape + 1.0) / (2.0 * (shape + 3.0))
    if position > 0.0:
        shown = _shown_at(position, b, mu)
        settled = settled + position**2 / 2.0
    count = radius_m.size
    pace = alpha / radius_m**2
    flux = radius_m / k
    rate = np.concatenate([np.zeros((1, count)), mu**2 * pace])
    gain = np.full((terms + 1, count), 2.0)
    gain[0] = shape + 1.0
    gain *= flux * pace
    tail = flux * (1.0 / (shape + 3.0) - (2.0 / mu**2).sum(axis=0))
    left_out = settled - (2.0 * shown / mu**2).sum(axis=0)
    core = np.concatenate([np.ones((1, count)), np.broadcast_to(shown, (terms, count))])
    core[-1] += left_out * mu[-1] ** 2 / 2.0
    return (Group(rate, gain, tail, core, own_core=True),)


def slab_groups(
    *, thickness_m: Floats, alpha: Floats, k: Floats, terms: int
) -> tuple[Group, Group]:
    """Return the even and the odd group of flat pieces with two faces; arrays (S,)."""
    pace, flux = alpha / thickness_m**2, thickness_m / k
    even = np.arange(0, terms + 1, 2) * math.pi
    odd = np.arange(1, terms + 1, 2) * math.pi
    where = 0.5 + _REACH
    squares, straight = (2.0 * _REACH) ** 2 / 8.0 - 1.0 / 24.0, -_REACH / 2.0
    groups = []
    for mu, whole, settled in ((even, 1.0 / 12.0, squares), (odd, 0.25, straight)):
        some = mu[mu > 0]
        core = np.cos(where[:, None] * mu)
        shown = core[:, mu > 0]
        gain = np.where(mu > 0, 2.0, 1.0)[:, None] * (flux * pace)
        tail = whole - float((2.0 / some**2).sum())
        left_out = settled - (2.0 * shown / some**2).sum(axis=1)
        core[:, -1] += left_out * some[-1] ** 2 / 2.0
        groups.append(Group(mu[:, None] ** 2 * pace, gain, tail * flux, core, own_core=False))
    return groups[0], groups[1]
