"""What each kind of heat does to each form of piece: one default a form, chosen once.

The figures of a grilled steak (8 kW/m2 and gas of 250 degC at the fire face, 150 degC air at the
other) were found for eight points of one beef chart; they stand for every chop, steak and patty.
Nothing here is set to a single cut or a single line of a chart. Temperatures are degC, fluxes W/m2,
heat transfer coefficients W/(m2 K).

References
----------
.. [1] National Cattlemen's Beef Association, Grilling Guidelines, c. 2010-2015: the eight points.
   Source id ``NCBA_GRILL``.
.. [2] Cooking characteristics of charcoal, Journal of Home Economics of Japan 55(9), 2004: about
   11 kW/m2 from charcoal. Source id ``CHARCOAL2004``.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from collop.fire.spreads import (
    CRUST_C,
    FLUX_SD,
    GAS_SD_COOL_SIDE,
    GAS_SD_GRILL,
    GAS_SD_OVEN,
    GAS_SD_PAN,
    H_SD,
    WETNESS_REACH,
    FireState,
)
from collop.fire.surfaces import Face

__all__ = ["FLAT", "LOW_C", "SHAPES", "FaceRule", "faces", "gas_of", "rest_face", "turn_minutes"]

#: Forms with two faces that are turned.
FLAT = frozenset({"steak", "thin", "patty"})
#: Shape factor of each form where the piece gives none: 0 a slab, 1 a long cylinder, 2 a sphere.
#: A roast stands between a long loin (1) and a block of rib or rump (1.3).
SHAPES = {
    "steak": 0.0, "thin": 0.0, "patty": 0.0, "links": 1.0, "skewer": 1.3, "joint": 0.5,
    "roast": 1.15, "bird-flat": 0.3, "bird-whole": 1.2,
}  # fmt: skip
#: Air on the cool side while a thick centre piece is warmed for its crust: 250 degF.
LOW_C = (250 - 32) / 1.8
# air of an oven and of the cool side of a covered grill by form: 325, 350 and 375 degF. A flat
# bird stands at the upper one, as its published time does; a roast in the oven at the lower one
_OVEN_C = {"roast": (325 - 32) / 1.8, "bird-flat": (375 - 32) / 1.8}
_COOL_SIDE_C = {"bird-flat": (375 - 32) / 1.8}
_USUAL_C = (350 - 32) / 1.8
_H_STILL = 20.0
_WET = 0.2
_WET_CAP_C = 100.0
_CRUST_USUAL_C = 150.0
_ROOM_C = 24.0
#: Turned so often where no lid holds the heat, and in a pan; and while a crust is laid on [min].
OPEN_TURN_MIN = 2.0
SEAR_TURN_MIN = 1.25
# a bar, pan or plate touches so much of a round piece at a time; working value
_TOUCH = 0.15


@dataclass(frozen=True, slots=True)
class FaceRule:
    """One face and its usual figures.

    Attributes
    ----------
    gas_c, h, q_rad : float
        Air [degC], heat transfer [W/(m2 K)], absorbed radiation [W/m2].
    wetness : float
        0 to 1.
    crust : float
        How much of it crusts: 0 stays at 100 degC, 1 may reach the crust's cap.
    gas_sd : float
        Spread of `gas_c` [K].
    """

    gas_c: float
    h: float
    q_rad: float = 0.0
    wetness: float = 0.0
    crust: float = 0.0
    gas_sd: float = GAS_SD_GRILL


_FIRE_FACE = FaceRule(250.0, _H_STILL, q_rad=8000.0, crust=1.0)
_LID_FACE = FaceRule(150.0, _H_STILL)
# a pan or plate on medium heat, 325 degF; contact of one side, the lowest of a remembered range of
# 200 to 1200, as a burner does not keep up with cold meat
_PAN_FACE = FaceRule((325 - 32) / 1.8, 200.0, crust=1.0, gas_sd=GAS_SD_PAN)


def _open_face(air_c: float) -> FaceRule:
    """Return the face away from the fire where there is no lid: 30 degC on an ordinary day."""
    return FaceRule(30.0 + air_c - _ROOM_C, 10.0, wetness=0.5)


def _mixed(one: FaceRule, other: FaceRule, share: float) -> FaceRule:
    """Return what a round piece meets that is rolled: `share` of its skin before the first."""
    rest = 1 - share
    h = share * one.h + rest * other.h
    return FaceRule(
        gas_c=(share * one.h * one.gas_c + rest * other.h * other.gas_c) / h,
        h=h,
        q_rad=share * one.q_rad + rest * other.q_rad,
        wetness=(share * one.h * one.wetness + rest * other.h * other.wetness) / h,
        crust=share * one.crust + rest * other.crust,
    )


def gas_of(heat: str, form: str, *, then_direct: bool = False) -> float:
    """Return the usual air of an oven or cool side for a form [degC].

    `then_direct` says that the fire's crust follows: a thick steak is then warmed gently.
    """
    if heat == "oven":
        return _OVEN_C.get(form, _USUAL_C) if not (then_direct and form in FLAT) else LOW_C
    return LOW_C if then_direct and form in FLAT else _COOL_SIDE_C.get(form, _USUAL_C)


def _rules(heat: str, form: str, *, gas_c: float, lid: bool, air_c: float) -> tuple[FaceRule, ...]:
    if heat in {"indirect", "oven"}:
        spread = GAS_SD_OVEN if heat == "oven" else GAS_SD_COOL_SIDE
        return (FaceRule(gas_c, _H_STILL, wetness=_WET, gas_sd=spread),)
    hot = _PAN_FACE if heat == "plate" else _FIRE_FACE
    away = _LID_FACE if lid and heat == "direct" else _open_face(air_c)
    if form in FLAT:
        return hot, away
    return (_mixed(hot, away, _TOUCH if heat == "plate" else 0.5),)


def faces(
    heat: str,
    form: str,
    fire: FireState | None,
    *,
    gas_c: float = _USUAL_C,
    lid: bool = True,
    air_c: float = _ROOM_C,
) -> tuple[Face, ...]:
    """Return the face or the two faces a form meets in each sample.

    Parameters
    ----------
    heat : str
        ``direct``, ``indirect``, ``plate`` or ``oven``.
    form : str
        One of `collop.fire.problem.FORMS`.
    fire : FireState or None
        The fires of the samples; None for the usual fire alone.
    gas_c : float
        Air of an oven or cool side [degC].
    lid : bool
        Whether the grill is covered.
    air_c : float
        Weather [degC].

    Returns
    -------
    tuple of Face
        One all round, or (the side to the heat, the side away from it) for flat pieces.
    """
    found = _rules(heat, form, gas_c=gas_c, lid=lid, air_c=air_c)
    return tuple(_sampled(rule, fire) for rule in found)


def _sampled(rule: FaceRule, fire: FireState | None) -> Face:

    low, high = CRUST_C
    if fire is None:
        usual = _WET_CAP_C + rule.crust * (_CRUST_USUAL_C - _WET_CAP_C)
        return Face(rule.gas_c, rule.h, rule.q_rad, rule.wetness, usual)
    cap = _WET_CAP_C + rule.crust * (low + (high - low) * fire.crust - _WET_CAP_C)
    return Face(
        rule.gas_c + rule.gas_sd * fire.gas,
        rule.h * np.exp(H_SD * fire.h),
        rule.q_rad * np.exp(FLUX_SD * fire.flux),
        # a face that is dry stays so
        rule.wetness + WETNESS_REACH * fire.wetness * min(1.0, rule.wetness / _WET),
        cap,
    )


def rest_face(air_c: float = _ROOM_C, *, after_fire: bool = False) -> Face:
    """Return still air round a resting piece; straight from the fire it steams more."""
    return Face(air_c, 9.0, 0.0, 0.5 if after_fire else 0.35, _WET_CAP_C)


def turn_minutes(heat: str, *, lid: bool, crust_only: bool) -> float | None:
    """Return how often a flat piece is turned [min]; None for once, at half its time."""
    if crust_only:
        return SEAR_TURN_MIN
    return None if lid and heat != "plate" else OPEN_TURN_MIN
