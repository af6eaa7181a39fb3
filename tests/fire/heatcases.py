"""Pieces and faces that the tests of heat share."""

from __future__ import annotations

import numpy as np

from collop.fire.conduction import Bodies, Leg, Phase, run
from collop.fire.surfaces import Face

#: Lean beef of the methods sheet: k 0.48 W/(m K), rho c 3.71e6 J/(m3 K).
K = 0.48
ALPHA = 0.48 / 3.71e6
INCH = 0.0254
#: Case (i) of the methods sheet: glowing coals below, the hot air of a lid above.
COALS = Face(gas_c=250.0, h=20.0, q_rad=8000.0, cap_c=150.0)
LID = Face(gas_c=150.0, h=20.0, cap_c=100.0)
ROOM = Face(gas_c=22.0, h=9.0, wetness=0.3)


def roasting(air_c: float) -> Face:
    """Return a wet face in an oven, or beside the coals under a lid."""
    return Face(gas_c=air_c, h=20.0, wetness=0.2, cap_c=100.0)


def minutes_to(radius_m: float, shape: float, face: Face, core_c: float, **more: float) -> float:
    """Return how long the core of one piece takes [min]."""
    figures = {"alpha": ALPHA, "k": K, "start_c": 4.4} | more
    piece = Bodies(radius_m, shape, figures["alpha"], figures["k"], figures["start_c"])
    cooling = core_c < figures["start_c"]
    trace = run(piece, [Phase([Leg(2000.0, face)], core_c, cooling=cooling)], step_s=5.0)
    assert trace.reached.all()
    return float(trace.minutes[0, 0])


def series_theta(shape: float, biot: float, fourier: float, terms: int = 60) -> tuple[float, float]:
    """Return theta at the centre and the surface by the eigenfunctions of the heated piece.

    An independent way: these obey the convective condition, so their roots change with the Biot
    number, found here by bisection of ``mu J_(v+1)(mu) = Bi J_v(mu)``.
    """
    from scipy.optimize import brentq
    from scipy.special import gamma, jv

    v = (shape - 1.0) / 2.0

    def condition(mu: float) -> float:
        return mu * jv(v + 1, mu) - biot * jv(v, mu)

    grid = np.linspace(1e-6, (terms + 2) * np.pi, 40 * terms)
    values = condition(grid)
    roots = [
        brentq(condition, a, b, xtol=1e-14)
        for a, b, fa, fb in zip(grid, grid[1:], values, values[1:], strict=False)
        if fa * fb < 0
    ][:terms]
    mu = np.array(roots)
    both = jv(v, mu) ** 2 + jv(v + 1, mu) ** 2 - 2.0 * v / mu * jv(v, mu) * jv(v + 1, mu)
    weight = 2.0 * jv(v + 1, mu) / (mu * both) * np.exp(-(mu**2) * fourier)
    at_centre = (mu / 2.0) ** v / gamma(v + 1)
    return float((weight * at_centre).sum()), float((weight * jv(v, mu)).sum())
