"""Conduction: the engine, its faces and its clocks, and the heat kernel around it."""

from __future__ import annotations

import doctest
import importlib
import json
import tracemalloc

import jsonschema
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collop.errors import ProblemError
from collop.fire import heat_blocks
from collop.fire.conduction import Bodies, Leg, Phase, Slabs, run, turns
from collop.fire.heat import heat
from collop.fire.heat_faces import saturation_pa
from collop.fire.heat_modes import shape_modes
from collop.fire.heat_schema import SCHEMAS
from collop.fire.surfaces import LATENT_J_KG, WET_K_PA, Face
from fire.heatcases import ALPHA, COALS, INCH, LID, ROOM, K, minutes_to, roasting

STEAK = Slabs(INCH, ALPHA, K, 4.0)
OPEN_AIR = Face(gas_c=30.0, h=10.0, wetness=0.5, cap_c=100.0)


def explicit(thickness, legs, nodes=60):
    """Return the core of a slab by the plain scheme of the methods sheet: dt = 0.2 dx^2 / alpha.

    An independent way: finite volumes, explicit steps, each face capped after each of them.
    """
    dx = thickness / nodes
    t = np.full(nodes + 1, 4.0)
    for minutes, pair in legs:
        steps = int(np.ceil(minutes * 60 / (0.2 * dx**2 / ALPHA)))
        dt = minutes * 60 / steps
        for _ in range(steps):
            flow = K * np.diff(t) / dx
            change = np.zeros_like(t)
            change[:-1] += flow
            change[1:] -= flow
            for node, face in ((0, pair[0]), (-1, pair[1])):
                vapour = float(saturation_pa(t[node])) - face.p_air_pa
                wet = face.wetness * face.h * WET_K_PA * vapour
                change[node] += face.q_rad + face.h * (face.gas_c - t[node]) - wet
            volume = np.full(nodes + 1, dx)
            volume[[0, -1]] = dx / 2
            t = t + dt * change * ALPHA / K / volume
            t[0], t[-1] = min(t[0], pair[0].cap_c), min(t[-1], pair[1].cap_c)
    return t


@pytest.mark.parametrize("pair", [(COALS, LID), (COALS, OPEN_AIR)])
def test_two_faces_with_turns_follow_a_plain_explicit_scheme(pair):
    """Core and both faces of a turned inch within 0.3 C of the methods sheet's own scheme."""
    legs = [(4.0, pair), (4.0, pair[::-1]), (3.0, pair)]
    plain = explicit(INCH, legs)
    phases = [Phase([Leg(minutes, faces)]) for minutes, faces in legs]
    trace = run(STEAK, phases, step_s=5.0, terms=30)
    middle = plain[15:46]
    assert trace.core_end_c[-1, 0] == pytest.approx(middle.min(), abs=0.3)
    assert trace.surface_c[0, -1, 0] == pytest.approx(plain[0], abs=1.0)
    assert trace.surface_c[1, -1, 0] == pytest.approx(plain[-1], abs=1.0)
    assert trace.mean_end_c[-1, 0] == pytest.approx(np.trapezoid(plain) / 60, abs=0.3)


ROUND = {
    "roast": (Bodies(0.055, 1.3, ALPHA, K, 4.0), 130.0, roasting(163)),
    "bird": (Bodies(0.022, 0.3, ALPHA, K, 4.0), 60.0, roasting(190)),
    "ball": (Bodies(0.04, 2.0, ALPHA, K, 4.0), 50.0, roasting(177)),
}
FLAT = {
    "steak": (STEAK, [Leg(6.0, (COALS, LID)), Leg(5.0, (LID, COALS))]),
    "half-inch": (Slabs(INCH / 2, ALPHA, K, 4.0), turns(1.5, 6.0, COALS, OPEN_AIR)),
}
CASES = FLAT | {
    name: (pieces, [Leg(minutes, face)]) for name, (pieces, minutes, face) in ROUND.items()
}


@pytest.mark.parametrize("name", CASES)
def test_twice_the_terms_and_half_the_step_move_no_core(name):
    """Every core, at fire and at rest, moves less than 0.2 C; half the terms suffice later on."""
    pieces, legs = CASES[name]
    phases = [Phase(legs), Phase([Leg(20.0, ROOM)])]
    fine = run(pieces, phases, step_s=2.5, terms=28)

    def apart(step, terms, after=0.0):
        other = run(pieces, phases, step_s=step, terms=terms)
        there = np.interp(other.time_min[:, 0], fine.time_min[:, 0], fine.core_c[:, 0])
        assert other.peak_c == pytest.approx(fine.peak_c, abs=0.3)
        return abs(there - other.core_c[:, 0])[other.time_min[:, 0] >= after].max()

    assert apart(20.0, 14) < 0.2
    assert apart(10.0, 28) < 0.1
    assert apart(40.0, 7, after=1.0) < 0.4


@pytest.mark.parametrize("name", ROUND)
def test_minutes_to_a_core_do_not_hang_on_the_step(name):
    """They change by less than half a percent with half the step and twice the terms."""
    pieces, _, face = ROUND[name]
    phases = [Phase([Leg(400.0, face)], 60.0)]
    usual, fine = run(pieces, phases), run(pieces, phases, step_s=10.0, terms=28)
    assert usual.minutes == pytest.approx(fine.minutes, rel=0.005)


def test_the_eigenfunctions_are_those_of_the_known_shapes():
    """Slab: n pi; cylinder: zeros of J1; sphere: tan x = x. Their centres alternate in sign."""
    from scipy.special import jn_zeros

    slab, centre = shape_modes(np.array([0.0]), 20)
    assert slab[:, 0] == pytest.approx(np.arange(1, 21) * np.pi, rel=1e-7)
    assert centre[:, 0] == pytest.approx((-1.0) ** np.arange(1, 21), rel=1e-6)
    assert shape_modes(np.array([1.0]), 20)[0][:, 0] == pytest.approx(jn_zeros(1, 20), rel=1e-7)
    ball = shape_modes(np.array([2.0]), 20)[0][:, 0]
    assert np.tan(ball) == pytest.approx(ball, rel=1e-3)
    between = shape_modes(np.linspace(0, 2, 41), 20)[0]
    assert (np.diff(between, axis=1) > 0).all()


def test_water_boils_at_100_degrees():
    """At 100 degC the vapour pressure is the standard atmosphere, 101 325 Pa, by definition."""
    assert float(saturation_pa(np.array(100.0))) == pytest.approx(101_325, rel=1e-3)
    assert (np.diff(saturation_pa(np.linspace(-20, 150, 100))) > 0).all()


def test_two_like_faces_are_one_piece_heated_all_round():
    """A slab between two like faces is a body of shape 0 and half the thickness."""
    face = Face(150.0, 20.0, 8000.0, 0.3, 100.0)
    phases = [Phase([Leg(8.0, face)])]
    two = run(Slabs(0.03, ALPHA, K, 4.0), phases)
    one = run(Bodies(0.015, 0.0, ALPHA, K, 4.0), phases)
    assert two.core_end_c == pytest.approx(one.core_end_c, abs=0.05)
    assert two.surface_c[0] == pytest.approx(two.surface_c[1], abs=1e-6)
    assert two.evaporated_kg_m2[0] == pytest.approx(one.evaporated_kg_m2[0], rel=1e-3)


def test_a_piece_laid_the_other_way_round_is_the_same():
    """Swapped faces give swapped surfaces and the same core."""
    legs, swapped = turns(2.0, 9.0, COALS, LID), turns(2.0, 9.0, LID, COALS)
    one, other = run(STEAK, [Phase(legs)]), run(STEAK, [Phase(swapped)])
    assert one.core_c == pytest.approx(other.core_c, abs=1e-2)
    assert one.surface_c[0] == pytest.approx(other.surface_c[1], abs=0.1)
    assert len(legs) == 5


@given(
    st.floats(0.004, 0.12), st.floats(0.0, 2.0), st.floats(-5.0, 25.0), st.floats(40.0, 400.0),
    st.floats(1.0, 600.0), st.floats(0.0, 1.0), st.floats(1.0, 240.0),
)  # fmt: skip
@settings(max_examples=60)
def test_no_temperature_leaves_what_is_around(radius, shape, start, gas, h, wet, minutes):
    """Core and surface stay between start, air and cap, and the mean never falls while heating."""
    face = Face(gas, h, wetness=wet, cap_c=100.0)
    trace = run(Bodies(radius, shape, ALPHA, K, start), [Phase([Leg(minutes, face)])])
    assert np.isfinite(trace.core_c).all()
    assert trace.surface_c.max() <= 100.0 + 1e-9
    low = min(start, 4.0) if wet else start
    # the terms left out show in the first seconds
    assert trace.core_c.min() > low - 1.0
    assert trace.core_c.max() < min(gas, 100.0) + 0.5


@pytest.mark.parametrize("face", [Face(60.0, 95.0), Face(163.0, 20.0, wetness=0.2, cap_c=100.0)])
@pytest.mark.parametrize("shape", [0.0, 1.0, 2.0])
def test_heat_that_goes_in_warms_the_piece(face, shape):
    """Heat by the faces, less the water, is the rise of the mean times its heat capacity."""
    radius = 0.04
    trace = run(Bodies(radius, shape, ALPHA, K, 4.0), [Phase([Leg(60.0, face)])], step_s=5.0)
    seconds, surface = trace.time_min[:, 0] * 60, trace.surface_c[0, :, 0]
    gone_in = np.trapezoid(face.h * (face.gas_c - surface), seconds)
    gone_in -= trace.evaporated_kg_m2[0, 0] * LATENT_J_KG
    rise = trace.mean_end_c[0, 0] - 4.0
    assert gone_in * (shape + 1) / radius == pytest.approx(K / ALPHA * rise, rel=0.005)


def test_each_sample_of_a_batch_is_what_it_is_alone(monkeypatch):
    """Samples do not touch each other, nor do the blocks they are cut into."""
    monkeypatch.setattr(heat_blocks, "BLOCK", 3)
    radius, shape = np.array([0.03, 0.05, 0.02, 0.04, 0.06]), np.array([0.0, 1.0, 2.0, 0.4, 1.3])
    air, until = np.array([150.0, 163, 177, 190, 140]), np.array([60.0, 55, 71, 74, 50])
    phases = [Phase([Leg(400.0, roasting(air))], until), Phase([Leg(15.0, ROOM)])]
    many = run(Bodies(radius, shape, ALPHA, K, 4.0), phases)
    assert many.reached.all()
    for i in range(5):
        one = run(
            Bodies(radius[i], shape[i], ALPHA, K, 4.0),
            [Phase([Leg(400.0, roasting(float(air[i])))], until[i]), phases[1]],
        )
        assert many.minutes[:, i] == pytest.approx(one.minutes[:, 0], abs=1e-4)
        assert many.peak_c[i] == pytest.approx(one.peak_c[0], abs=1e-3)
        assert many.evaporated_kg_m2[:, i] == pytest.approx(one.evaporated_kg_m2[:, 0], rel=1e-4)
        assert many.core_end_c[1, i] == pytest.approx(one.core_end_c[1, 0], abs=1e-3)


def test_every_sample_goes_on_by_its_own_clock():
    """Each leaves the first phase at its core and rests from there; its clock never goes back."""
    thickness = np.array([0.7, 1.0, 1.4]) * INCH
    pieces = Slabs(thickness, ALPHA, K, 4.0)
    phases = [
        Phase([Leg(200.0, roasting(120))], 40.0),
        Phase(turns(1.0, 60.0, COALS, LID), 57.0),
        Phase([Leg(20.0, ROOM)]),
    ]
    trace = run(pieces, phases)
    assert trace.reached.all()
    assert trace.core_end_c[:2] == pytest.approx(np.array([[40.0] * 3, [57.0] * 3]))
    assert (np.diff(trace.minutes[0]) > 0).all()
    assert trace.minutes[2] == pytest.approx(20.0)
    assert (np.diff(trace.time_min, axis=0) >= 0).all()
    assert trace.time_min[-1] == pytest.approx(trace.minutes.sum(axis=0))
    again = run(
        pieces, [Phase([Leg(trace.minutes[0], roasting(120))])]
    )  # as long as each took, by one leg of its own length
    assert again.core_end_c[0] == pytest.approx(40.0, abs=0.05)
    assert set(trace.phase_of) == {0, 1, 2}


def test_a_core_that_is_there_leaves_at_once_and_one_that_never_comes_is_told():
    """No minutes for the first; for the second all of them, and `reached` is false."""
    piece = Bodies(0.02, 0.0, ALPHA, K, np.array([50.0, 4.0]))
    trace = run(piece, [Phase([Leg(30.0, roasting(150))], 49.0), Phase([Leg(5.0, ROOM)])])
    assert trace.minutes[0, 0] == 0
    cold = run(piece, [Phase([Leg(30.0, Face(45.0, 20.0))], 49.0)])
    assert cold.reached.tolist() == [[True, False]]
    assert cold.minutes[0].tolist() == [0.0, 30.0]


def test_cooling_ends_at_the_core_from_above():
    """A hot piece leaves when its core has fallen to the figure."""
    minutes = minutes_to(0.02, 1.0, Face(4.0, 15.0), 21.0, start_c=60.0)
    longer = minutes_to(0.02, 1.0, Face(4.0, 15.0), 5.0, start_c=60.0)
    assert 0 < minutes < longer


def test_thicker_colder_and_gentler_take_longer():
    """Minutes rise with thickness, and fall with start, air and flux."""
    base = minutes_to(0.03, 1.0, roasting(163), 60.0)
    assert minutes_to(0.033, 1.0, roasting(163), 60.0) > base * 1.1
    assert minutes_to(0.03, 1.0, roasting(163), 60.0, start_c=20.0) < base
    assert minutes_to(0.03, 1.0, roasting(190), 60.0) < base
    assert minutes_to(0.03, 2.0, roasting(163), 60.0) < base < minutes_to(
        0.03, 0.0, roasting(163), 60.0
    )  # fmt: skip


def test_a_thick_piece_rises_in_its_rest_and_a_thin_one_hardly():
    """Carry-over: a roast goes up by some degrees after the pull, a thin slow piece by little."""
    roast = run(Bodies(0.055, 1.3, ALPHA, K, 4.0),
                [Phase([Leg(400.0, roasting(163))], 62.8), Phase([Leg(60.0, ROOM)])])  # fmt: skip
    assert 4 < roast.peak_c[0] - 62.8 < 8
    assert 15 < roast.peak_min[0] < 45
    thin = run(Bodies(0.006, 0.0, ALPHA, K, 4.0),
               [Phase([Leg(400.0, roasting(110))], 62.8), Phase([Leg(60.0, ROOM)])])  # fmt: skip
    assert 0 <= thin.peak_c[0] - 62.8 < 0.6


@pytest.mark.parametrize(
    ("pieces", "phases"),
    [
        (STEAK, []),
        (STEAK, [Phase([])]),
        (Bodies(0.02, 0.0, ALPHA, K, 4.0), [Phase([Leg(1.0, (COALS, LID))])]),
        (Bodies(0.02, 2.5, ALPHA, K, 4.0), [Phase([Leg(1.0, ROOM)])]),
        (Bodies(np.ones(3), np.ones(2), ALPHA, K, 4.0), [Phase([Leg(1.0, ROOM)])]),
        (Slabs(float("nan"), ALPHA, K, 4.0), [Phase([Leg(1.0, ROOM)])]),
        (STEAK, [Phase([Leg(-1.0, ROOM)])]),
        (STEAK, [Phase([Leg(1.0, Face(float("inf"), 9.0))])]),
    ],
)
def test_what_cannot_be_stepped_is_refused(pieces, phases):
    """A ValueError names what is wrong."""
    with pytest.raises(ValueError, match=r"\w"):
        run(pieces, phases)


def test_without_its_history_a_run_ends_alike():
    """The last rows, the peak and the water are the same; only the rows between are not kept."""
    many = Slabs(np.linspace(0.02, 0.06, 9), ALPHA, K, 4.0)
    phases = [Phase(turns(4.0, 90.0, COALS, LID), 62.8), Phase([Leg(15.0, ROOM)])]
    whole, brief = run(many, phases), run(many, phases, keep_history=False)
    assert brief.core_c.shape == (2, 9)
    for name in ("minutes", "reached", "core_end_c", "peak_c", "peak_min", "mean_end_c",
                 "evaporated_kg_m2"):  # fmt: skip
        assert np.array_equal(getattr(whole, name), getattr(brief, name)), name
    assert np.array_equal(whole.core_c[-1], brief.core_c[-1])
    assert np.array_equal(whole.surface_c[:, -1], brief.surface_c[:, -1])


def test_many_samples_in_many_turns_stay_small():
    """Five thousand samples turned two hundred times take less than 100 MB."""
    problem = FACES | {
        "faces": [HOT, HOT | {"gas_c": 150, "q_rad_w_m2": 0, "cap_c": 100}], "samples": 5000,
        "turns_min": [0.5 * n for n in range(1, 201)], "half_thickness_m": 0.03,
        "spread": SPREAD, "at_min": [],
    }  # fmt: skip
    tracemalloc.start()
    try:
        assert heat(problem)["bands"]["reached"] == 1
        assert tracemalloc.get_traced_memory()[1] < 100e6
    finally:
        tracemalloc.stop()


def test_turns_closer_than_three_seconds_are_refused():
    """Nobody turns that often; neither does the engine."""
    with pytest.raises(ValueError, match="apart"):
        turns(0.01, 5.0, COALS, LID)


PLAIN = {
    "schema": "collop.heat/1", "shape": "slab", "half_thickness_m": 0.02, "alpha_m2_s": 1.3e-7,
    "k_w_mk": 0.48, "h_w_m2k": 95, "start_c": 5, "medium_c": 60, "at_min": [10, 20, 40],
    "until_core_c": 57, "position": 0.0,
}  # fmt: skip
FACES = {key: value for key, value in PLAIN.items() if key not in {"h_w_m2k", "medium_c"}}
HOT = {"gas_c": 250, "h_w_m2k": 20, "q_rad_w_m2": 8000, "cap_c": 150}
SPREAD = {"thickness_sd": 0.06, "h_sd": 0.2, "gas_sd_c": 5}


def test_the_plan_keeps_its_schema_and_its_order():
    """Theta at the centre is that of the core; further out it is smaller; the core is on time."""
    plan = heat(PLAIN)
    jsonschema.validate(plan, SCHEMAS["heat.plan"])
    for core, theta in zip(plan["core_c"], plan["theta"], strict=True):
        assert theta == pytest.approx((core - 60) / (5 - 60), abs=1e-4)
    outer = [heat(PLAIN | {"position": p})["theta"][1] for p in (0, 0.3, 0.6, 0.9, 0.99, 1)]
    assert outer == sorted(outer, reverse=True)
    assert outer[-2] == pytest.approx(outer[-1], abs=0.01)
    there = heat(PLAIN | {"at_min": [plan["minutes_to_core"]]})
    assert there["core_c"] == [pytest.approx(57, abs=0.05)]


def test_a_target_under_the_published_minimum_is_said_to_be_so():
    """57 degC is worked out and named as under every minimum; 63 degC is not named."""
    assert "under every published minimum" in " ".join(heat(PLAIN)["assumptions"])
    hot = heat(PLAIN | {"medium_c": 80, "until_core_c": 63})
    assert "under every published minimum" not in " ".join(hot["assumptions"])


@pytest.mark.parametrize(
    ("until", "told"),
    [
        ((144.9 - 32) / 1.8, "144.9 \N{DEGREE SIGN}F (62.7 "),
        ((144.99 - 32) / 1.8, "144.99 \N{DEGREE SIGN}F (62.77 "),
        ((144.9999 - 32) / 1.8, "144.9999 \N{DEGREE SIGN}F (62.7777 "),
        (62.77, "144.99 \N{DEGREE SIGN}F (62.77 "),
        ((145 - 32) / 1.8, ""),
        (62.78, ""),
        (62.8, ""),
        ((145.01 - 32) / 1.8, ""),
    ],
)
def test_only_a_core_under_the_minimum_is_called_so(until, told):
    """FSIS_MIN, 145 degF: at it and over it nothing is said; under it the figure reads as under."""
    plan = heat(PLAIN | {"medium_c": 80, "until_core_c": until})
    said = [one for one in plan["assumptions"] if "under every published minimum" in one]
    if not told:
        assert said == []
        return
    (one,) = said
    assert one.startswith(told)
    assert "the least is 145 \N{DEGREE SIGN}F (62.8 \N{DEGREE SIGN}C) and 3 min rest" in one


def test_bands_lie_around_the_piece_and_come_again():
    """10, 50 and 90 in a hundred in their order, the same for the same seed."""
    problem = PLAIN | {"medium_c": 75, "spread": SPREAD, "samples": 400,
                       "rest": {"air_c": 22, "minutes": 20}}  # fmt: skip
    plan = heat(problem)
    jsonschema.validate(problem, SCHEMAS["heat"])
    jsonschema.validate(plan, SCHEMAS["heat.plan"])
    minutes = plan["bands"]["minutes_to_core"]
    assert minutes["p10"] < minutes["p50"] < minutes["p90"]
    assert minutes["p50"] == pytest.approx(plan["minutes_to_core"], rel=0.04)
    # thickness alone: minutes grow as its square at high Biot numbers, so 1.28 sd is 16 %
    assert 1.15 < minutes["p90"] / minutes["p50"] < 1.35
    assert heat(problem) == plan
    assert heat(problem | {"seed": 2})["bands"] != plan["bands"]
    # the rise by the engine itself, six times as fine
    slab = Bodies(0.02, 0.0, 1.3e-7, 0.48, 5.0)
    cook = [Phase([Leg(300.0, Face(75.0, 95.0))], 57.0), Phase([Leg(20.0, Face(22.0, 9.0))])]
    fine = run(slab, cook, step_s=2.0, terms=50)
    assert plan["rest"]["rise_c"] == pytest.approx(fine.peak_c[0] - 57.0, abs=0.05)
    assert plan["rest"]["rise_c"] > 2
    assert plan["bands"]["rise_c"]["p50"] == pytest.approx(plan["rest"]["rise_c"], abs=0.5)


def test_a_medium_that_cannot_lift_every_core_leaves_a_band_open():
    """Samples that never get there count as later than all."""
    bands = heat(PLAIN | {"until_core_c": 59.5, "spread": {"gas_sd_c": 1}})["bands"]
    assert 0.5 < bands["reached"] < 0.9
    assert bands["minutes_to_core"]["p90"] is None
    assert bands["minutes_to_core"]["p50"] is not None


@given(st.fixed_dictionaries({
    "half_thickness_m": st.floats(0.0005, 0.5), "alpha_m2_s": st.floats(1e-9, 1e-3),
    "k_w_mk": st.floats(0.01, 1000), "h_w_m2k": st.floats(0.1, 1e6),
    "start_c": st.floats(-40, 300), "medium_c": st.floats(-80, 1000),
    "shape_factor": st.floats(0, 2), "until_core_c": st.floats(-40, 300),
    "at_min": st.lists(st.floats(0, 10_080), max_size=3),
}))  # fmt: skip
@settings(max_examples=30)
def test_any_figures_within_their_limits_give_a_plan_between_start_and_medium(figures):
    """No extreme breaks it: every temperature lies between; the core is there when it is said."""
    plan = heat(PLAIN | figures)
    low, high = sorted((figures["start_c"], figures["medium_c"]))
    slack = 0.5 + 0.03 * (high - low)
    for one in (*plan["core_c"], *plan["surface_c"]):
        assert low - slack <= one <= high + slack
    minutes, until = plan["minutes_to_core"], figures["until_core_c"]
    at = 10_080 if minutes is None else minutes
    core = heat(PLAIN | figures | {"at_min": [at], "until_core_c": None})["core_c"][0]
    side = 1 if until >= figures["start_c"] else -1
    if minutes is None:  # not there in a week
        assert side * (core - until) < slack
    else:  # told to a hundredth: what heats in less than a minute is not held to it
        assert minutes < 1 or abs(core - until) < slack
    json.dumps(plan, allow_nan=False)


@pytest.mark.parametrize(
    ("problem", "where"),
    [
        ([], "$"),
        (PLAIN | {"schema": "collop.heat/2"}, "$.schema"),
        ({key: value for key, value in PLAIN.items() if key != "shape"}, "$.shape"),
        (PLAIN | {"half_thickness_m": 0}, "$.half_thickness_m"),
        (PLAIN | {"half_thickness_m": float("nan")}, "$.half_thickness_m"),
        (PLAIN | {"alpha_m2_s": 10**400}, "$.alpha_m2_s"),
        (PLAIN | {"k_w_mk": True}, "$.k_w_mk"),
        (PLAIN | {"at_min": [1, "2"]}, "$.at_min[1]"),
        (PLAIN | {"at_min": [1.0] * 10_000}, "$.at_min"),
        (PLAIN | {"at_min": [], "until_core_c": None}, "$.at_min"),
        (PLAIN | {"faces": [HOT]}, "$.h_w_m2k"),
        (FACES | {"faces": []}, "$.faces"),
        (FACES | {"faces": [HOT, HOT], "shape_factor": 1}, "$.faces"),
        (FACES | {"faces": [HOT, HOT], "position": 0.5}, "$.position"),
        (FACES | {"faces": [HOT | {"colour": 1}]}, "$.faces[0].colour"),
        (FACES | {"faces": [HOT], "turns_min": [3]}, "$.turns_min"),
        (FACES, "$.medium_c"),
        (PLAIN | {"spread": {}}, "$.spread"),
        (PLAIN | {"spread": SPREAD, "until_core_c": None}, "$.spread"),
        (PLAIN | {"samples": 100}, "$.samples"),
        (PLAIN | {"spread": SPREAD, "samples": 10**9}, "$.samples"),
        (PLAIN | {"rest": {"air_c": 20}}, "$.rest.minutes"),
        (PLAIN | {"rest": []}, "$.rest"),
        (PLAIN | {"colour": "red"}, "$.colour"),
    ],
)
def test_a_bad_problem_is_refused_in_one_sentence_with_its_path(problem, where):
    """What is wrong, where, and what to do."""
    with pytest.raises(ProblemError) as caught:
        heat(problem)
    assert caught.value.where == where
    assert caught.value.message.startswith(where)
    assert caught.value.message.endswith(".")
    assert "\n" not in caught.value.message


@pytest.mark.parametrize("name", ["heat", "heat_faces"])
def test_the_examples_in_the_docstrings_hold(name):
    """They run as printed."""
    found = doctest.testmod(importlib.import_module(f"collop.fire.{name}"))
    assert found.attempted
    assert not found.failed
