"""Density, heat and conductivity of meat from what it is made of, and the defaults for cooking.

    rho = 1 / sum(x / rho_i)      c = sum(x c_i)      v_i = (x_i / rho_i) / sum(x / rho)
    parallel: k = sum(v_i k_i)    series: 1 / k = sum(v_i / k_i)

with polynomials in temperature for each component. Real meat lies between the two conductivities;
published data scatter 7 % (sd) about such a model [2]_.

References
----------
.. [1] Choi and Okos, Effects of temperature and composition on the thermal properties of foods,
   Elsevier, 1986. Source id ``CHOI_OKOS``.
.. [2] Effective thermal conductivities of meats: analysis of published data, Agricultural and
   Biological Chemistry 46(5), 1982. Source id ``BBB1982``.
.. [3] Thermophysical properties of meat products, Transactions of the ASAE, 1987: the lowest
   published diffusivity. Source id ``SANZ1987``.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields
from functools import cache

from collop.errors import BadValue, ReferenceTableError
from collop.reference.thermalproperties import ThermalRow, thermal_rows

__all__ = [
    "K_SD",
    "RHO_C_SD",
    "SLOWEST_DIFFUSIVITY",
    "Composition",
    "Conducting",
    "conducting",
    "conductivity",
    "conductivity_parallel",
    "conductivity_series",
    "cooling_heat",
    "density",
    "diffusivity",
    "freezing_heats",
    "ice_fraction",
    "specific_heat",
]

#: Spread of the conductivity about the model, as a share (standard deviation) [2]_.
K_SD = 0.07
#: Spread of the heat held by a volume, as a share (standard deviation); working value, no source.
RHO_C_SD = 0.04
#: Lowest published diffusivity of beef [m2/s] [3]_: used where slow heating is the danger.
SLOWEST_DIFFUSIVITY = 1.11e-7
_LOW_C, _HIGH_C = -40.0, 150.0
_SLACK = 0.03


@dataclass(frozen=True, slots=True)
class Composition:
    """What meat is made of, as shares of its mass.

    Parameters
    ----------
    water, protein, fat, ash, carbohydrate, fibre, ice : float
        Each from 0 to 1. They sum to 1 within 3 %, as published analyses do.

    Raises
    ------
    BadValue
        If a share is below zero or the sum is not 1.
    """

    water: float
    protein: float = 0.0
    fat: float = 0.0
    ash: float = 0.0
    carbohydrate: float = 0.0
    fibre: float = 0.0
    ice: float = 0.0

    def __post_init__(self) -> None:
        given = [getattr(self, field.name) for field in fields(self)]
        total = sum(given)
        # written so that a NaN fails both
        if not all(share >= 0 for share in given) or not abs(total - 1) <= _SLACK:
            raise BadValue(
                f"The parts of the meat sum to {total:.3f}; give water, protein, fat and ash as "
                "shares that sum to 1."
            )

    def shares(self) -> Mapping[str, float]:
        """Return the share of each component by its name, scaled to sum to 1."""
        given = {field.name: float(getattr(self, field.name)) for field in fields(self)}
        total = sum(given.values())
        return {name: share / total for name, share in given.items()}


@dataclass(frozen=True, slots=True)
class Conducting:
    """How a kind of meat takes heat while it cooks.

    Parameters
    ----------
    k : float
        Conductivity [W/(m K)].
    rho_c : float
        Heat held by a volume [J/(m3 K)].
    """

    k: float
    rho_c: float

    @property
    def diffusivity(self) -> float:
        """Return the diffusivity [m2/s]."""
        return self.k / self.rho_c


_LEAN_RHO_C, _FAT_RHO_C = 3.7e6, 3.3e6
_FAT_RICH_K = 0.40
# between the series and parallel model of each meat; chosen once, not for single charts
_LEAN_K = {"beef": 0.48, "pork": 0.47, "chicken": 0.46}


def conducting(species: str | None, *, fat_rich: bool = False) -> Conducting:
    """Return the defaults for cooking.

    Parameters
    ----------
    species : str or None
        ``beef``, ``pork`` or ``chicken``; other red meat is taken as beef, other birds as chicken.
    fat_rich : bool
        Brisket, belly and the like.

    Notes
    -----
    Working values between the series and the parallel model: 0.41 and 0.51 W/(m K) for lean beef
    at 20 degC. They spread by `K_SD` and `RHO_C_SD`.

    Examples
    --------
    >>> conducting("pork")
    Conducting(k=0.47, rho_c=3700000.0)
    """
    if fat_rich:
        return Conducting(_FAT_RICH_K, _FAT_RHO_C)
    alike = "chicken" if species in {"turkey", "duck", "goose", "poultry"} else species or "beef"
    return Conducting(_LEAN_K.get(alike, _LEAN_K["beef"]), _LEAN_RHO_C)


Polynomial = Callable[[float], float]


@cache
def _polynomial(component: str, quantity: str, *, frozen: bool) -> Polynomial:
    """Return a component's property as a function of degC, from a row that was read."""
    rows = thermal_rows("component_poly", quantity=quantity, item=component, cited_only=True)
    if component == "water" and quantity == "specific_heat":  # two rows, either side of freezing
        rows = tuple(row for row in rows if (row.t_max_c == 0) == frozen)
    if len(rows) != 1:
        raise ReferenceTableError(
            f"{len(rows)} cited rows for the {quantity} of {component}; restore the table."
        )
    a0, a1, a2 = _coefficients(rows[0])
    return lambda temp_c: a0 + a1 * temp_c + a2 * temp_c**2


def _coefficients(row: ThermalRow) -> tuple[float, float, float]:
    a0, a1, a2 = row.a0, row.a1, row.a2
    if a0 is None or a1 is None or a2 is None:
        raise ReferenceTableError(f"The equation of {row.item} is not complete; restore the table.")
    return float(a0), float(a1), float(a2)


def _each(composition: Composition, quantity: str, temp_c: float) -> dict[str, float]:
    """Return a property of each component that is there."""
    if not _LOW_C <= temp_c <= _HIGH_C:
        raise BadValue(f"{temp_c:g} C is outside {_LOW_C:g} to {_HIGH_C:g} C of the equations.")
    return {
        name: _polynomial(name, quantity, frozen=temp_c < 0)(temp_c)
        for name, share in composition.shares().items()
        if share
    }


def density(composition: Composition, temp_c: float) -> float:
    """Return the density, without pores [kg/m3]."""
    each = _each(composition, "density", temp_c)
    shares = composition.shares()
    return 1 / sum(shares[name] / rho for name, rho in each.items())


def specific_heat(composition: Composition, temp_c: float) -> float:
    """Return the specific heat, without thawing or freezing [J/(kg K)]."""
    each = _each(composition, "specific_heat", temp_c)
    shares = composition.shares()
    return sum(shares[name] * heat for name, heat in each.items())


def _volumes(composition: Composition, temp_c: float) -> dict[str, float]:
    """Return the share of each component in the volume; they sum to 1."""
    each = _each(composition, "density", temp_c)
    parts = {name: composition.shares()[name] / rho for name, rho in each.items()}
    total = sum(parts.values())
    return {name: part / total for name, part in parts.items()}


def conductivity_parallel(composition: Composition, temp_c: float) -> float:
    """Return the conductivity along layers of the components, the upper bound [W/(m K)]."""
    each = _each(composition, "thermal_conductivity", temp_c)
    return sum(v * each[name] for name, v in _volumes(composition, temp_c).items())


def conductivity_series(composition: Composition, temp_c: float) -> float:
    """Return the conductivity across layers of the components, the lower bound [W/(m K)]."""
    each = _each(composition, "thermal_conductivity", temp_c)
    return 1 / sum(v / each[name] for name, v in _volumes(composition, temp_c).items())


def conductivity(composition: Composition, temp_c: float) -> float:
    """Return the middle of the two bounds [W/(m K)]."""
    bounds = conductivity_parallel(composition, temp_c), conductivity_series(composition, temp_c)
    return sum(bounds) / 2


def diffusivity(composition: Composition, temp_c: float, k: float | None = None) -> float:
    """Return the diffusivity [m2/s]; with `conductivity` unless `k` [W/(m K)] is given.

    Examples
    --------
    >>> sirloin = Composition(water=0.717, protein=0.2124, fat=0.044, ash=0.0108)
    >>> f"{diffusivity(sirloin, 20.0):.3g}"
    '1.22e-07'
    """
    k = conductivity(composition, temp_c) if k is None else k
    return k / (density(composition, temp_c) * specific_heat(composition, temp_c))


def ice_fraction(water: float, protein: float, *, freezing_c: float, temp_c: float) -> float:
    """Return the share of the mass that is ice.

    Parameters
    ----------
    water, protein : float
        Shares of the mass, all water counted.
    freezing_c : float
        Where it begins to freeze [degC], below zero.
    temp_c : float
        Its temperature [degC].

    Notes
    -----
    ``x_ice = (x_water - 0.4 x_protein) (1 - t_freezing / t)``; the 0.4 of protein is bound water.
    From memory, not checked in its source (``ASHRAE_R``).
    """
    if freezing_c >= 0:
        raise BadValue("Meat begins to freeze below 0 C; give the freezing point with its minus.")
    if temp_c >= freezing_c:
        return 0.0
    return max(water - 0.4 * protein, 0.0) * (1 - freezing_c / temp_c)


def cooling_heat(mass_kg: float, heat_kj: float, kelvin: float) -> float:
    """Return the heat that leaves a mass [kJ]; `heat_kj` is the specific heat [kJ/(kg K)]."""
    return mass_kg * heat_kj * kelvin


def freezing_heats(
    mass_kg: float, *, temps_c: tuple[float, float, float], heats_kj: tuple[float, float, float]
) -> tuple[float, float, float]:
    """Return the heats that leave a piece that is frozen [kJ].

    Parameters
    ----------
    mass_kg : float
        Its mass [kg].
    temps_c : tuple of float
        Start, freezing point and end [degC], falling.
    heats_kj : tuple of float
        Specific heat above freezing [kJ/(kg K)], latent heat [kJ/kg], specific heat when frozen.

    Returns
    -------
    tuple of float
        Cooling to the freezing point, freezing, and cooling on.
    """
    start, freezing, end = temps_c
    if not start >= freezing >= end:
        raise BadValue("A piece is frozen from warm to cold; give start, freezing point and end.")
    above, latent, frozen = heats_kj
    return (
        cooling_heat(mass_kg, above, start - freezing),
        mass_kg * latent,
        cooling_heat(mass_kg, frozen, freezing - end),
    )
