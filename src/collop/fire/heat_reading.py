"""A problem of heating, read from JSON: one piece, its faces, what is asked, and the spreads."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from collop.errors import BadValue, Contradiction
from collop.fire.surfaces import NO_CAP_C, Face
from collop.wire import Reader, checked_number

__all__ = ["LIMITS", "SCHEMA_ID", "SHAPES", "SPREADS", "HeatProblem", "Rest", "read_heat"]

SCHEMA_ID = "collop.heat/1"
SHAPES = {"slab": 0.0, "cylinder": 1.0, "sphere": 2.0}
MOST_TIMES, MOST_TURNS = 500, 200
MOST_MINUTES = 10_080.0
#: The least and the most of each figure, for the reading and the schema.
LIMITS: dict[str, tuple[float, float]] = {
    "shape_factor": (0.0, 2.0),
    "half_thickness_m": (0.0005, 0.5),
    "alpha_m2_s": (1e-9, 1e-3),
    "k_w_mk": (0.01, 1000.0),
    "h_w_m2k": (0.1, 1e6),
    "start_c": (-40.0, 300.0),
    "medium_c": (-80.0, 1000.0),
    "until_core_c": (-40.0, 300.0),
    "position": (0.0, 1.0),
    "gas_c": (-80.0, 1000.0),
    "q_rad_w_m2": (0.0, 100_000.0),
    "wetness": (0.0, 1.0),
    "cap_c": (0.0, 300.0),
    "p_air_pa": (0.0, 101_325.0),
    "air_c": (-80.0, 300.0),
    "minutes": (0.0, 1440.0),
}
SAMPLES = (50, 5000)
USUAL_SAMPLES = 1000
#: Spreads that may be stated, each with the most of it: a standard deviation as a share, or in
#: degrees, or half of a range.
SPREADS: dict[str, float] = {
    "thickness_sd": 0.5,
    "alpha_sd": 0.3,
    "k_sd": 0.3,
    "h_sd": 1.0,
    "q_rad_sd": 1.0,
    "gas_sd_c": 100.0,
    "start_sd_c": 20.0,
    "shape_range": 1.0,
    "wetness_range": 0.5,
    "cap_range_c": 60.0,
}
FACE_KEYS = ("h_w_m2k", "gas_c", "q_rad_w_m2", "wetness", "cap_c", "p_air_pa")
REST_KEYS = ("h_w_m2k", "air_c", "wetness", "p_air_pa", "minutes")
_KEYS = ("schema", "name", "shape", "shape_factor", "half_thickness_m", "alpha_m2_s", "k_w_mk",
         "h_w_m2k", "start_c", "medium_c", "at_min", "until_core_c", "position", "faces",
         "turns_min", "rest", "spread", "samples", "seed")  # fmt: skip
_ROOM_PA = 1200.0


@dataclass(frozen=True, slots=True)
class Rest:
    """Off the fire: still air and its minutes."""

    face: Face
    minutes: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatProblem:
    """One piece and what is asked of it.

    Attributes
    ----------
    shape : float
        0 slab, 1 long cylinder, 2 sphere.
    half_m, alpha, k, start_c : float
        Half thickness or radius [m], diffusivity [m2/s], conductivity [W/(m K)], start [degC].
    medium_c : float or None
        What theta is counted from [degC]; None where only faces are given.
    faces : tuple of Face
        One: alike all round. Two: lower and upper of a flat piece.
    at_min, turns_min : tuple of float
        When the temperatures are asked for, and when the two faces swap [min].
    spread : dict, or None
        Stated spreads, by the names of `SPREADS`.
    """

    name: str | None
    shape: float
    half_m: float
    alpha: float
    k: float
    start_c: float
    medium_c: float | None
    faces: tuple[Face, ...]
    at_min: tuple[float, ...]
    turns_min: tuple[float, ...]
    until_c: float | None
    position: float
    rest: Rest | None
    spread: dict[str, float] | None
    samples: int
    seed: int


def read_heat(value: object) -> HeatProblem:
    """Read one problem of heating.

    Parameters
    ----------
    value : object
        Parsed JSON of the ``collop.heat/1`` contract.

    Raises
    ------
    ProblemError
        With the path of the first bad value.
    """
    top = Reader(value, "$", _KEYS)
    top.choice("schema", [SCHEMA_ID])
    faces = _faces(top)
    shape = _shape(top)
    position = _number(top, "position", 0.0)
    if len(faces) == 2:
        if shape:
            raise top.fail("faces", "are two, which only a slab has; give one, or the shape slab.")
        if position:
            raise top.fail("position", "is not 0; with two faces only the core is told: use 0.")
    spread = _spread(top)
    problem = HeatProblem(
        name=top.text("name", None),
        shape=shape,
        half_m=_number(top, "half_thickness_m"),
        alpha=_number(top, "alpha_m2_s"),
        k=_number(top, "k_w_mk"),
        start_c=_number(top, "start_c"),
        medium_c=_number(top, "medium_c", None),
        faces=faces,
        at_min=_times(top, "at_min", MOST_TIMES),
        turns_min=_times(top, "turns_min", MOST_TURNS),
        until_c=_number(top, "until_core_c", None),
        position=position,
        rest=_rest(top),
        spread=spread,
        samples=top.whole("samples", *SAMPLES, USUAL_SAMPLES),
        seed=top.whole("seed", 0, 2**32 - 1, 1),
    )
    _asks_something(top, problem)
    return problem


def _number(row: Reader, key: str, *default: Any) -> Any:  # noqa: ANN401 -- number or default
    return row.number(key, *LIMITS[key], *default)


def _shape(top: Reader) -> float:
    factor = _number(top, "shape_factor", None)
    if factor is None or top.has("shape"):
        named = SHAPES[top.choice("shape", SHAPES)]
        return named if factor is None else float(factor)
    return float(factor)


def _faces(top: Reader) -> tuple[Face, ...]:
    if not top.has("faces"):
        return (Face(_number(top, "medium_c"), _number(top, "h_w_m2k")),)
    if top.has("h_w_m2k"):
        raise Contradiction(
            "$.h_w_m2k is given beside $.faces, which have their own; leave it out.",
            where="$.h_w_m2k",
        )
    found = tuple(_face(Reader(value, path, FACE_KEYS)) for path, value in top.each("faces"))
    if len(found) not in {1, 2}:
        raise top.fail("faces", f"are {len(found)}; give one, or a lower and an upper one.")
    return found


def _face(row: Reader) -> Face:
    return Face(
        gas_c=_number(row, "gas_c"),
        h=_number(row, "h_w_m2k"),
        q_rad=_number(row, "q_rad_w_m2", 0.0),
        wetness=_number(row, "wetness", 0.0),
        cap_c=_number(row, "cap_c", NO_CAP_C),
        p_air_pa=_number(row, "p_air_pa", _ROOM_PA),
    )


def _rest(top: Reader) -> Rest | None:
    if not top.has("rest"):
        return None
    row = Reader(top.value["rest"], "$.rest", REST_KEYS)
    face = Face(
        gas_c=_number(row, "air_c"),
        h=_number(row, "h_w_m2k", 9.0),
        wetness=_number(row, "wetness", 0.0),
        p_air_pa=_number(row, "p_air_pa", _ROOM_PA),
    )
    return Rest(face, _number(row, "minutes"))


def _times(top: Reader, key: str, most: int) -> tuple[float, ...]:
    found = top.items(key, [])
    if len(found) > most:
        raise top.fail(key, f"has more than {most} times; ask for fewer.")
    return tuple(
        checked_number(value, 0.0, MOST_MINUTES, f"{top.where(key)}[{index}]")
        for index, value in enumerate(found)
    )


def _spread(top: Reader) -> dict[str, float] | None:
    if not top.has("spread"):
        return None
    row = Reader(top.value["spread"], "$.spread", SPREADS)
    found = {key: row.number(key, 0.0, most, 0.0) for key, most in SPREADS.items()}
    if not any(found.values()):
        raise top.fail("spread", "spreads nothing; state at least one, or leave it out.")
    return found


def _asks_something(top: Reader, problem: HeatProblem) -> None:
    if not problem.at_min and problem.until_c is None:
        raise BadValue(
            "$.at_min and $.until_core_c are both missing; ask for one of them.", where="$.at_min"
        )
    if problem.turns_min and len(problem.faces) != 2:
        raise top.fail("turns_min", "turns a piece with one face; give two faces, or no turns.")
    if problem.spread is not None and problem.until_c is None:
        raise top.fail("spread", "has no core to reach; add until_core_c, or leave it out.")
    for key in ("samples", "seed"):
        if top.has(key) and problem.spread is None:
            raise top.fail(key, "is given without a spread; add one, or leave it out.")
