"""Measure the heat model: how fast, and against an ordinary finite-element library.

Run ``python benchmarks/fire/heat.py [--rounds N]``. Times are processor time of this process in
milliseconds, libraries loaded before.

1. A menu of six: 1,000 samples of each, two hours of heat.
2. One problem that has an exact series: slabs of many sizes in hot air, 200 samples, two hours.
   Both sides take the coarsest setting of a grid whose core is never off by more than 0.1 K.
"""

from __future__ import annotations

import argparse
import gc
import itertools
import statistics
import time
from collections.abc import Callable
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.sparse.linalg import splu
from skfem import Basis, BilinearForm, ElementLineP2, FacetBasis, LinearForm, MeshLine
from skfem.helpers import dot, grad

from collop.fire.conduction import Bodies, Leg, Phase, Slabs, run, turns
from collop.fire.surfaces import Face

T = TypeVar("T")
Floats = NDArray[np.float64]
SAMPLES, MINUTES = 1_000, 120.0
PROBLEMS, OFF_BY_K = 200, 0.1
K, RHO_C, START_C, AIR_C, H = 0.48, 3.7e6, 4.0, 163.0, 20.0
TERMS, STEPS_S = (6, 8, 10, 14, 20), (240.0, 120.0, 60.0, 40.0, 20.0, 10.0)
ELEMENTS, FE_STEPS_S = (2, 3, 4, 6, 8, 12), (240.0, 120.0, 60.0, 30.0, 15.0, 8.0, 4.0)
SERIES_TERMS = 40


def timed(work: Callable[[], T]) -> tuple[float, T]:
    """Return processor time [ms] and result."""
    gc.collect()
    start = time.process_time()
    result = work()
    return 1000 * (time.process_time() - start), result


def menu() -> None:
    """Take six different pieces through two hours of heat, 1,000 samples each."""
    draws = np.random.Generator(np.random.PCG64(6))

    def some(middle: float, share: float) -> Floats:
        found: Floats = middle * (1 + share * draws.standard_normal(SAMPLES))
        return found

    k, alpha = some(K, 0.07), some(K / RHO_C, 0.08)
    coals = Face(gas_c=some(250, 0.1), h=some(20, 0.2), q_rad=some(8000, 0.2), cap_c=150.0)
    lid = Face(gas_c=150.0, h=20.0, cap_c=100.0)
    air = Face(gas_c=some(165, 0.06), h=some(20, 0.2), wetness=0.2, cap_c=100.0)
    flat = Phase(turns(5, MINUTES, coals, lid))
    round_about = Phase([Leg(MINUTES, air)])
    run(Slabs(some(0.038, 0.06), alpha, k, 4.0), [flat])
    run(Slabs(some(0.012, 0.06), alpha, k, 4.0), [flat])
    run(Bodies(some(0.014, 0.06), 1.0, alpha, k, 4.0), [round_about])
    run(Bodies(some(0.022, 0.06), 0.3, alpha, k, 4.0), [round_about])
    run(Bodies(some(0.055, 0.06), 1.3, alpha, k, 4.0), [round_about])
    run(Bodies(some(0.018, 0.06), 0.5, alpha, k, 4.0), [round_about])


def sizes() -> Floats:
    """Return the half thicknesses of the slabs [m]."""
    found: Floats = np.geomspace(0.008, 0.06, PROBLEMS)
    return found


def _root(x: float, biot: float) -> float:
    return float(x * np.sin(x) - biot * np.cos(x))


def series(radii: Floats, minutes: Floats) -> Floats:
    """Return the exact core temperature, shape (times, samples) [degC]."""
    found = np.empty((len(minutes), len(radii)))
    for one, radius in enumerate(radii):
        biot = H * radius / K
        lows = np.pi * np.arange(SERIES_TERMS)
        roots = np.array([brentq(_root, low, low + np.pi / 2, args=(biot,)) for low in lows])
        weights = 4 * np.sin(roots) / (2 * roots + np.sin(2 * roots))
        fourier = K / RHO_C * 60 * minutes / radius**2
        theta = (weights * np.exp(-np.outer(fourier, roots**2))).sum(axis=1)
        found[:, one] = AIR_C + (START_C - AIR_C) * theta
    return found


def ours(radii: Floats, terms: int, step_s: float) -> tuple[Floats, Floats]:
    """Return times [min] and cores [degC], both of shape (times, samples)."""
    trace = run(
        Bodies(radii, 0.0, K / RHO_C, K, START_C),
        [Phase([Leg(MINUTES, Face(gas_c=AIR_C, h=H))])],
        terms=terms,
        step_s=step_s,
    )
    return trace.time_min, trace.core_c


@BilinearForm
def _held(u: Any, v: Any, _w: Any) -> Any:  # noqa: ANN401 -- fields of the library
    return RHO_C * u * v


@BilinearForm
def _conducted(u: Any, v: Any, _w: Any) -> Any:  # noqa: ANN401
    return K * dot(grad(u), grad(v))


@BilinearForm
def _lost(u: Any, v: Any, _w: Any) -> Any:  # noqa: ANN401
    return H * u * v


@LinearForm
def _gained(v: Any, _w: Any) -> Any:  # noqa: ANN401
    return H * AIR_C * v


def elements(radii: Floats, count: int, step_s: float) -> tuple[Floats, Floats]:
    """Solve each slab by quadratic elements and Crank-Nicolson steps, its matrix factored once."""
    steps = round(60 * MINUTES / step_s)
    minutes = np.arange(1, steps + 1) * step_s / 60
    cores = np.empty((steps, len(radii)))
    for one, radius in enumerate(radii):
        mesh = MeshLine(np.linspace(0.0, radius, count + 1))
        basis = Basis(mesh, ElementLineP2())
        edge = FacetBasis(mesh, ElementLineP2(), facets=mesh.facets_satisfying(
            lambda x, r=radius: np.isclose(x[0], r)))  # fmt: skip
        stiff, mass = _conducted.assemble(basis) + _lost.assemble(edge), _held.assemble(basis)
        load = step_s * _gained.assemble(edge)
        solve = splu((mass + 0.5 * step_s * stiff).tocsc()).solve
        explicit = mass - 0.5 * step_s * stiff
        values = np.full(basis.N, START_C)
        centre = basis.get_dofs(lambda x: np.isclose(x[0], 0.0)).flatten()[0]
        for step in range(steps):
            values = solve(explicit @ values + load)
            cores[step, one] = values[centre]
    return np.repeat(minutes[:, None], len(radii), axis=1), cores


def coarsest(
    solve: Callable[[Floats, int, float], tuple[Floats, Floats]],
    sizes_of: tuple[int, ...],
    steps_s: tuple[float, ...],
) -> tuple[int, float, float]:
    """Return the setting with the least work that is never off by more than `OFF_BY_K`."""
    some = sizes()[::20]
    found = []
    for size, step_s in itertools.product(sizes_of, steps_s):
        minutes, cores = solve(some, size, step_s)
        exact = np.stack(
            [series(some[i : i + 1], minutes[:, i])[:, 0] for i in range(len(some))], axis=1
        )
        off = float(np.abs(cores - exact).max())
        if off <= OFF_BY_K:
            spent = min(timed(lambda s=size, t=step_s: solve(some, s, t))[0] for _ in range(3))
            found.append((spent, size, step_s, off))
    _, size, step_s, off = min(found)
    return size, step_s, off


def main() -> None:
    """Print both figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=9)
    rounds = parser.parse_args().rounds
    menu()
    spent = [timed(menu)[0] for _ in range(rounds)]
    print(f"six pieces, {SAMPLES} samples, {MINUTES:g} min: median "
          f"{statistics.median(spent):.0f} ms, most {max(spent):.0f} ms")  # fmt: skip
    medians = []
    for name, solve, sizes_of, steps_s in (
        ("ours (terms)", ours, TERMS, STEPS_S),
        ("finite elements", elements, ELEMENTS, FE_STEPS_S),
    ):
        size, step_s, off = coarsest(solve, sizes_of, steps_s)
        spent = [
            timed(lambda s=solve, n=size, t=step_s: s(sizes(), n, t))[0] for _ in range(rounds)
        ]
        medians.append(statistics.median(spent))
        print(f"{name}: {size}, step {step_s:g} s, off by {off:.3f} K at the most; {PROBLEMS} "
              f"slabs: median {medians[-1]:.1f} ms, most {max(spent):.1f} ms")  # fmt: skip
    print(f"finite elements take {medians[1] / medians[0]:.1f} times as long (medians)")


if __name__ == "__main__":
    main()
