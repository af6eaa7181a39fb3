"""Seeded random menus for the fire, with courses built straight from lognormal samples."""

from __future__ import annotations

import random
from datetime import datetime, timedelta
from fractions import Fraction

import numpy as np

from collop.fire.problem import (
    METHODS,
    Course,
    FireItem,
    FireProblem,
    Serving,
    StageTime,
    Zone,
)  # fmt: skip
from collop.reference import cook_minimum

SUPPER = datetime(2026, 6, 13, 19, 0)  # noqa: DTZ001 -- local time of the kitchen
# name, cook_as, method, 10th and 90th percentile of each stage [min], area [sq in], rest, hold
DISHES = (
    ("Chicken, opened", "poultry", "indirect", [(45, 60)], 130, 5, 30),
    ("Pork shoulder steaks", "whole", "direct", [(9, 14)], 90, 3, 10),
    ("Beef chuck steaks", "whole", "direct", [(8, 12)], 80, 5, 10),
    ("Goat skewers", "whole", "direct", [(8, 13)], 60, 3, 10),
    ("Links", "ground", "indirect then direct", [(12, 18), (3, 5)], 50, 0, 20),
    ("Patties", "ground", "direct", [(8, 12)], 70, 0, 5),
    ("Lamb leg", "whole", "indirect then direct", [(60, 85), (4, 7)], 110, 15, 45),
    ("Thin-sliced skirt", "whole", "direct", [(3, 5)], 60, 3, 5),
    ("Thighs", "poultry", "indirect then direct", [(25, 35), (3, 6)], 80, 3, 20),
    ("Beans", "none", "pot", [(30, 45)], 0, 0, 60),
    ("Corn", "none", "direct", [(10, 15)], 70, 0, 15),
    ("Peppers", "none", "direct", [(6, 10)], 40, 0, 20),
    ("Pork belly", "whole", "oven", [(120, 170)], 90, 10, 45),
    ("Brisket ends", "whole", "oven then direct", [(150, 200), (3, 6)], 60, 10, 45),
    ("Flat breads", "none", "plate", [(3, 5)], 60, 0, 10),
)


def course(
    cook_as: str,
    method: str,
    bands: list[tuple[float, float]],
    *,
    rest: int = 3,
    hold: int = 10,
    seed: int = 1,
    samples: int = 200,
    fire: float = 0.5,
) -> Course:
    """Return a course with lognormal stages through the given 10th and 90th percentiles."""
    common = np.random.Generator(np.random.PCG64(99)).standard_normal(samples)
    own = np.random.Generator(np.random.PCG64(seed)).standard_normal((len(bands), samples))
    stages = []
    for (low, high), draw, heat in zip(bands, own, METHODS[method], strict=True):
        spread = np.log(high / low) / (2 * 1.2815515594)
        z = np.sqrt(fire) * common + np.sqrt(1 - fire) * draw
        stages.append(StageTime(heat, np.sqrt(low * high) * np.exp(spread * z)))
    rule = None if cook_as == "none" else cook_minimum(cook_as)
    least = None if rule is None else float(rule.temperature.in_celsius(6)) + 1e-6
    rest = rest if rule is None else max(rest, rule.rest_min)
    return Course(tuple(stages), least, least, rest, hold, None, None, "shop")


def fixed(*minutes: int, heats: tuple[str, ...] = ("direct",), cook_as: str = "whole",
          rest: int = 3, hold: int = 10, samples: int = 20) -> Course:  # fmt: skip
    """Return a course whose samples are all alike."""
    rule = None if cook_as == "none" else cook_minimum(cook_as)
    least = None if rule is None else float(rule.temperature.in_celsius(6)) + 1e-6
    stages = tuple(
        StageTime(heat, np.full(samples, float(m))) for heat, m in zip(heats, minutes, strict=True)
    )
    return Course(stages, least, least, rest, hold, None, None, "shop")


def item(name: str, *, area: float = 60, cook_as: str = "whole", method: str = "direct",
         pieces: int | None = None, weight_mlb: int = 3000,
         serving: str = "main") -> FireItem:  # fmt: skip
    """Return an item with its name as its id."""
    return FireItem(id=name, name=name, species=None, serving=serving, weight_mlb=weight_mlb,
                    area_sq_in=Fraction(area), cook_as=cook_as, method=method,
                    pieces=pieces)  # fmt: skip


def kettle(area: float = 300, *, minutes: int | None = None, name: str = "grill",
           meat_free: bool = False) -> Zone:  # fmt: skip
    """Return a covered grill with two heats."""
    return Zone(name, name.capitalize(), frozenset({"direct", "indirect"}), Fraction(area),
                meat_free, minutes)  # fmt: skip


OVEN = Zone("oven", "Oven", frozenset({"oven"}), None)
POT = Zone("pot", "Side burner", frozenset({"pot"}), None)
PLATE = Zone("plate", "Plate", frozenset({"plate"}), Fraction(200))


def fire(items, zones, *, servings=((0, "main"),), **more) -> FireProblem:
    """Return a problem served at 19:00 and at the given minutes after it."""
    told = tuple(Serving(name, SUPPER + timedelta(minutes=at), at) for at, name in servings)
    return FireProblem("Test supper", told, tuple(zones), tuple(items), **more)


def random_menu(
    seed: int, items: int | None = None, samples: int = 200
) -> tuple[FireProblem, dict[str, Course]]:
    """Return a random fire and the courses of its items; the same for the same seed."""
    rng = random.Random(seed)
    count = items or rng.randint(1, 12)
    room = rng.choice([123, 200, 300, 450, 900, 1200])
    lasts = rng.choice([None, None, 60, 120, 240])
    zones = [kettle(room, minutes=lasts), OVEN, POT, PLATE]
    if rng.random() < 0.3:
        zones.append(kettle(rng.choice([100, 200]), name="clean", meat_free=rng.random() < 0.6))
    servings = [(0, "main")] + ([(rng.choice([30, 60, 90]), "later")] if rng.random() < 0.3 else [])
    chosen, courses = [], {}
    for place in range(count):
        name, cook_as, method, bands, area, rest, hold = rng.choice(DISHES)
        size = rng.choice([0.5, 1, 1, 1.5, 2.5])
        one = FireItem(
            id=f"{place}", name=name, species=None, serving=rng.choice(servings)[1],
            weight_mlb=int(area * size * 30) + rng.randint(200, 900),
            area_sq_in=Fraction(int(area * size * 7), 7), cook_as=cook_as, method=method,
            pieces=rng.choice([None, 1, 2, 6]),
        )  # fmt: skip
        chosen.append(one)
        courses[one.id] = course(
            cook_as,
            method,
            bands,
            rest=rest,
            hold=hold,
            seed=seed * 50 + place,
            samples=samples,
        )
    now = SUPPER - timedelta(minutes=rng.choice([90, 200, 400])) if rng.random() < 0.3 else None
    problem = fire(chosen, zones, servings=servings, now=now, hands=rng.choice([1, 1, 2]),
                   waves=rng.random() < 0.8)  # fmt: skip
    return problem, courses
