"""What a face of a piece meets: hot air, glow, wet skin and the cap of its crust.

The net flux into a face, with the figures of its methods sheet, is ::

    q = q_rad + h (T_gas - T_s) - w h 0.6 0.0125 (p_sat(T_s) - p_air)      [W/m2]

and the face cannot pass its cap: heat that would lift it further boils water off instead. All of
this is physics in floats; no figure here is a rule.

References
----------
.. [1] Feyissa et al.: model of roasting meat in a convection oven; latent heat 2.3e6 J/kg.
   Source id ``FEYISSA``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

__all__ = ["LATENT_J_KG", "NO_CAP_C", "WET_K_PA", "Face"]

#: Heat that takes a kilogram of water from a wet face [J/kg] [1]_.
LATENT_J_KG = 2.3e6
#: Flux per pascal and per W/(m2 K) of a wholly wet face [K/Pa]: heat and mass analogy.
WET_K_PA = 0.6 * 0.0125
#: A cap no face reaches [degC]: for a face without one.
NO_CAP_C = 5000.0


@dataclass(frozen=True, slots=True, eq=False)
class Face:
    """One face and what is before it; each figure a number, or an array with one a sample.

    Parameters
    ----------
    gas_c : float or array of shape (S,)
        Air, water or plate before the face [degC].
    h : float or array
        Heat transfer coefficient [W/(m2 K)]; holds the radiation unless `q_rad` does.
    q_rad : float or array
        Absorbed radiant flux [W/m2].
    wetness : float or array
        0 dry to 1 wet.
    cap_c : float or array
        The face cannot pass this [degC]: 100 while wet, 120 to 170 for a crust.
    p_air_pa : float or array
        Vapour pressure of the air [Pa]; 1200 is a half-moist room at 20 degC.
    """

    gas_c: float | Floats
    h: float | Floats
    q_rad: float | Floats = 0.0
    wetness: float | Floats = 0.0
    cap_c: float | Floats = NO_CAP_C
    p_air_pa: float | Floats = 1200.0
