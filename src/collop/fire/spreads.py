"""How far the fire, the piece and the model vary, as samples.

Each sample is one evening: all items of one sample are cooked on the same fire (its flux, gas
temperature, heat transfer, wetness and crust), while size, properties, start, shape and the moment
of pulling are each item's own. Every parameter is stratified: its samples are the middles of equal
shares of its distribution, in an order of their own, so bands settle with few samples. The same
problem gives the same samples: seeds are fixed, and an item's own come from its id.

References
----------
.. [1] The spreads are working values put together for this project from the published scatter of
   meat properties (7 % about a composition model, source id ``BBB1982``) and of charcoal fires;
   those without a source are common practice, no published source.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from zlib import crc32

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

__all__ = [
    "CRUST_C",
    "FIRE_CORRELATION",
    "MODEL_SD",
    "FireState",
    "OwnState",
    "fire_state",
    "lognormal_between",
    "own_state",
    "shop_minutes",
]

#: Flux of an open fire: standard deviation of its logarithm.
FLUX_SD = 0.25
#: Gas temperature: standard deviation over coals, and in an oven [K].
GAS_SD_GRILL, GAS_SD_OVEN = 25.0, 10.0
#: That of the cool side, which a lid thermometer watches [K]: the usual spans of 225 to 275 and of
#: 350 to 400 degF, taken as 10 to 90 in a hundred.
GAS_SD_COOL_SIDE = 11.0
#: That of a pan or plate [K]; a working value.
GAS_SD_PAN = 15.0
#: Heat transfer coefficient: standard deviation of its logarithm.
H_SD = 0.20
#: Wetness of a face about its middle, to either side.
WETNESS_REACH = 0.1
#: Hottest a crusted face over the fire gets, lowest and highest, as shares of its usual cap above
#: 100 degC: 120 to 170 degC for a usual 150.
CRUST_C = (120.0, 170.0)
#: Thickness or radius: standard deviation, measured and told over the counter.
SIZE_SD_MEASURED, SIZE_SD_TOLD = 0.06, 0.12
#: Conductivity, and heat held by a volume: standard deviations.
K_SD, RHO_C_SD = 0.07, 0.04
#: Start temperature [K].
START_SD = 2.0
#: Shape factor, to either side.
SHAPE_REACH = 0.3
#: Core at which it is really pulled: the thermometer [K].
PULL_SD = 1.5
#: What the model itself leaves out: standard deviation of the logarithm of the time.
MODEL_SD = 0.15
#: How far the shop's own minutes follow the same fire: correlation of their logarithm with it.
FIRE_CORRELATION = 0.5
#: 90th percentile of the standard normal distribution.
Z90 = 1.2815515655446004
_FIRE_SEED = 7301
# further than this from the middle no sample goes: a thickness of half nothing is no evening
_FURTHEST = 3.0


@dataclass(frozen=True, slots=True, eq=False)
class FireState:
    """The fire of each sample; arrays of shape (samples,).

    Attributes
    ----------
    flux, gas, h : array
        Standard normal deviates of flux, gas temperature and heat transfer.
    wetness, crust : array
        Uniform from -1 to 1, and from 0 to 1.
    slow : array
        Standard normal: how slow this evening's fire is.
    """

    flux: NDArray[np.float64]
    gas: NDArray[np.float64]
    h: NDArray[np.float64]
    wetness: NDArray[np.float64]
    crust: NDArray[np.float64]
    slow: NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class OwnState:
    """What is an item's own in each sample; arrays of shape (samples,).

    Attributes
    ----------
    size, k, rho_c, start, pull, model : array
        Standard normal deviates.
    shape : array
        Uniform from -1 to 1.
    """

    size: NDArray[np.float64]
    k: NDArray[np.float64]
    rho_c: NDArray[np.float64]
    start: NDArray[np.float64]
    pull: NDArray[np.float64]
    model: NDArray[np.float64]
    shape: NDArray[np.float64]


def _strata(seed: list[int], rows: int, samples: int) -> NDArray[np.float64]:
    """Return (rows, samples): the middles of equal shares of 0 to 1, each row in its own order."""
    rng = np.random.Generator(np.random.PCG64(seed))
    middles = (np.arange(samples) + 0.5) / samples
    return np.array([rng.permutation(middles) for _ in range(rows)])


def _normal(shares: NDArray[np.float64]) -> NDArray[np.float64]:
    found: NDArray[np.float64] = np.clip(ndtri(shares), -_FURTHEST, _FURTHEST)
    return found


def _frozen(array: NDArray[np.float64]) -> NDArray[np.float64]:
    array.setflags(write=False)
    return array


@lru_cache(maxsize=8)
def fire_state(samples: int) -> FireState:
    """Return the fires of so many evenings, the same for every item and every call."""
    rows = _strata([_FIRE_SEED], 5, samples)
    flux, gas, h = (_frozen(_normal(row)) for row in rows[:3])
    slow = _frozen(_ranked(-(flux + gas + h)))
    return FireState(flux, gas, h, _frozen(2 * rows[3] - 1), _frozen(rows[4]), slow)


@lru_cache(maxsize=256)
def own_state(item_id: str, samples: int) -> OwnState:
    """Return what is an item's own; the same id gives the same samples on every machine."""
    rows = _strata([_FIRE_SEED, crc32(item_id.encode())], 7, samples)
    size, k, rho_c, start, pull, model = (_frozen(_normal(row)) for row in rows[:6])
    return OwnState(size, k, rho_c, start, pull, model, _frozen(2 * rows[6] - 1))


def _ranked(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return standard normal deviates in the order of the values: their exact margin."""
    ranks = np.empty(len(values))
    ranks[np.argsort(values, kind="stable")] = (np.arange(len(values)) + 0.5) / len(values)
    return _normal(ranks)


def lognormal_between(
    low: float, high: float, deviates: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return lognormal values whose 10th and 90th percentile are `low` and `high`.

    Parameters
    ----------
    low, high : float
        Above zero, in order, any unit.
    deviates : array, shape (samples,)
        Standard normal.

    Returns
    -------
    array, shape (samples,)
        In the same unit.
    """
    middle, spread = np.log(low * high) / 2, np.log(high / low) / (2 * Z90)
    found: NDArray[np.float64] = np.exp(middle + spread * deviates)
    return found


def shop_minutes(low: float, high: float, own_key: str, samples: int) -> NDArray[np.float64]:
    """Return samples of minutes that the shop tells from low to high.

    Parameters
    ----------
    low, high : float
        10th and 90th percentile [min].
    own_key : str
        Whose own samples: the item id, with the number of the stage if it has several.
    samples : int
        How many.

    Returns
    -------
    array, shape (samples,)
        Minutes, read only. They follow the fire of the same sample with correlation
        `FIRE_CORRELATION`: a slow fire slows what the model knows and what the shop tells.
    """
    fire, own = fire_state(samples), own_state(own_key, samples)
    mixed = FIRE_CORRELATION * fire.slow + (1 - FIRE_CORRELATION**2) ** 0.5 * own.model
    return _frozen(lognormal_between(low, high, _ranked(mixed)))
