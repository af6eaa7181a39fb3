"""Lines of the published charts as pieces on a fire; one rule for each kind of line.

No line has figures of its own. A line that states no end is taken as the beef chart's 145 to
160 degF; the lower time goes with the lower end. Twice a time a side is the whole time.
"""

from __future__ import annotations

import re
import sys
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

import numpy as np

from collop.errors import BadValue
from collop.fire.courses_model import Cook, cook_samples, usual_minutes
from collop.fire.problem import BANDS, Body
from collop.reference import GrillTimeRow, grill_time_rows

#: Lines the heat model does not speak of: done when tender, or seared first.
NO_MODEL = ("braise", "simmer", "direct then indirect")
_METHODS = {"oven bake": "oven", "skillet": "plate"}


@dataclass(frozen=True)
class Held:
    """One line beside its prediction [min]; the end temperatures used [degF]."""

    row: GrillTimeRow
    low: float
    high: float
    predicted_low: float
    predicted_high: float

    @property
    def name(self) -> str:
        """Return source, cut, size and heat."""
        sizes = {self.row.size_low, self.row.size_high}
        size = "-".join(f"{one:g}" for one in sorted(one for one in sizes if one is not None))
        heat = self.row.heat.split(" (")[0]
        return f"{self.row.source.source_id}: {self.row.cut}, {size} {self.row.size_unit}, {heat}"

    @property
    def off(self) -> float:
        """Return the middle predicted over the middle printed, less one."""
        return (self.predicted_low + self.predicted_high) / (self.low + self.high) - 1

    @property
    def inside(self) -> bool:
        """Tell whether the middle predicted lies within the printed range."""
        return self.low <= (self.predicted_low + self.predicted_high) / 2 <= self.high


def celsius(fahrenheit: float) -> float:
    """Return degrees Celsius."""
    return (fahrenheit - 32) / 1.8


def form_of_cut(cut: str) -> str:
    """Return the form of a line that gives a thickness."""
    if "patty" in cut:
        return "patty"
    return "skewer" if "cubes" in cut else "steak"


def ends_f(row: GrillTimeRow) -> tuple[float, float]:
    """Return the cores at which it comes off, by the chart's own pull table where it has one."""
    low, high = float(row.end_f_low or 145), float(row.end_f_high or 160)
    if "remove at 140" in row.note:
        return 140.0, 155.0
    return (135.0, 150.0) if "remove at 135" in row.note else (low, high)


def cooks_by_thickness(row: GrillTimeRow) -> tuple[Cook, Cook]:
    """Return a line that gives a thickness as two cooks, to its lower and to its higher end."""
    assert row.size_low is not None
    assert row.size_high is not None
    thickness = float(row.size_low + row.size_high) / 2 * 25.4
    low, high = (
        Cook(
            key="",
            body=Body(form_of_cut(row.cut), thickness, measured=True),
            method=_METHODS.get(row.method, "direct"),
            pull_c=celsius(end),
            lid="open grill" not in row.heat,
            species=row.species,
        )
        for end in ends_f(row)
    )
    return low, high


def held_by_thickness(row: GrillTimeRow) -> Held:
    """Return a line that gives a thickness beside what the heat model says."""
    times = 2.0 if row.minutes_basis == "per_side" else 1.0
    low, high = (usual_minutes(cook) for cook in cooks_by_thickness(row))
    return Held(row, float(row.minutes_low) * times, float(row.minutes_high) * times, low, high)


@lru_cache(maxsize=512)
def band(cook: Cook, samples: int = 300) -> tuple[float, float] | None:
    """Return the 10th and 90th percentile of a cook [min]; None if the fire cannot do it."""
    try:
        minutes = sum(cook_samples(replace(cook, key="chart"), samples).minutes)
    except BadValue:
        return None
    low, _, high = np.quantile(minutes, BANDS)
    return float(low), float(high)


def in_band(one: Held, cooks: tuple[Cook, Cook]) -> bool:
    """Tell whether the printed middle lies from the 10th of the lower to the 90th of the higher.

    A cook that the fire cannot bring to its end in enough samples is in no band.
    """
    low, high = (band(cook) for cook in cooks)
    if low is None or high is None:
        return False
    return low[0] <= (one.low + one.high) / 2 <= high[1]


def rows_by_thickness(source_id: str = "") -> list[GrillTimeRow]:
    """Return the lines that give a thickness and that the model speaks of."""
    return [row for row in grill_time_rows(source_id, unit="in") if row.method not in NO_MODEL]


#: Density of meat [kg/m3], to read a radius from a weight; a working value.
DENSITY = 1050.0
#: Air that a chart's words stand for [degF]; common practice, no published source.
WORDS_F = {
    "medium-hot": 400.0, "medium-low": 300.0, "medium": 350.0, "covered grill, drip pan": 350.0,
    "grill": 350.0,
}  # fmt: skip
_TENDER = ("shoulder", "ribs", "brisket", "Boston butt")


def body_of_weight(cut: str, species: str, pounds: float) -> Body:
    """Return a piece of a weight: one stated shape for each form.

    A bird is the one of 3.5 lb (flattened 22 mm to its middle, whole 34 mm) grown as the cube root
    of its weight. A roast is a solid cylinder, twice as long as thick; loins, tenderloins and racks
    four times as long.
    """
    kilograms = pounds * 0.45359237
    if species in {"chicken", "turkey"} and "breast" not in cut:
        flat = "butterflied" in cut
        middle = (22.0 if flat else 34.0) * (pounds / 3.5) ** (1 / 3)
        return Body("bird-flat" if flat else "bird-whole", 2 * middle, measured=True)
    long = "loin" in cut or "rack" in cut
    radius = (kilograms / (DENSITY * 3.141592653589793 * (8.0 if long else 4.0))) ** (1 / 3)
    return Body("roast", 2000 * radius, measured=True, shape=1.0 if long else 1.3)


def air_f(heat: str) -> float:
    """Return the air a line speaks of [degF]: its figure, the middle of its two, or its words."""
    figures = [float(one) for one in re.findall(r"\d{3}", heat)]
    return sum(figures) / len(figures) if figures else WORDS_F[heat]


def rows_by_weight() -> list[GrillTimeRow]:
    """Return the lines of whole roasts and birds, in an oven or beside the coals, with an end.

    Left out: what is done when tender, and lines that state neither weight nor end.
    """
    return [
        row
        for row in grill_time_rows()
        if row.method in {"oven roast", "indirect"}
        and row.size_low is not None
        and (row.size_unit == "lb" or "hen" in row.cut)
        and row.end_f_low is not None
        and not any(word in row.cut for word in _TENDER)
    ]


def pounds_of(row: GrillTimeRow) -> float:
    """Return the middle weight of a line [lb]."""
    assert row.size_low is not None
    assert row.size_high is not None
    return float(row.size_low + row.size_high) / 2 / (16 if row.size_unit == "oz" else 1)


def cooks_by_weight(row: GrillTimeRow) -> tuple[Cook, Cook]:
    """Return a line that gives a weight as two cooks, to its lower and to its higher end."""
    ends = (150.0, 150.0) if "remove at 150" in row.note else ends_f(row)
    low, high = (
        Cook(
            key="",
            body=body_of_weight(row.cut, row.species, pounds_of(row)),
            method="oven" if row.method == "oven roast" else "indirect",
            pull_c=celsius(end),
            species=row.species,
            poultry=row.species in {"chicken", "turkey"},
            gas_c=celsius(air_f(row.heat)),
        )
        for end in ends
    )
    return low, high


def held_by_weight(row: GrillTimeRow) -> Held:
    """Return a line that gives a weight beside what the heat model says."""
    times = pounds_of(row) if row.minutes_basis == "per_lb" else 1.0
    low, high = (usual_minutes(cook) for cook in cooks_by_weight(row))
    return Held(row, float(row.minutes_low) * times, float(row.minutes_high) * times, low, high)


def missed(held: list[Held], share: float) -> list[Held]:
    """Return the lines whose middle is further off than a share, and not in the printed range."""
    return [one for one in held if abs(one.off) > share and not one.inside]


def told(one: Held) -> str:
    """Return a line as it stands in the document of misses."""
    middle = (one.predicted_low + one.predicted_high) / 2
    printed = f"{one.low:.0f}" if one.low == one.high else f"{one.low:.0f}-{one.high:.0f}"
    return f"| {one.name} | {printed} | {middle:.0f} | {one.off:+.0%} |"


def root_mean_square(shares: list[float]) -> float:
    """Return the root mean square."""
    return (sum(share**2 for share in shares) / len(shares)) ** 0.5


def documented(heading: str) -> list[str]:
    """Return the lines of the table under a heading of docs/courses.md."""
    text = (Path(__file__).parents[2] / "docs" / "courses.md").read_text("utf-8")
    part = text.partition(f"### {heading}\n")[2].partition("\n#")[0]
    return [line for line in part.splitlines() if line.startswith("| ")][1:]


def tables_of_misses() -> str:
    """Return the three tables of misses as they are to stand in docs/courses.md."""
    rows = rows_by_thickness()
    beef = [held_by_thickness(row) for row in rows if row.source.source_id == "NCBA_GRILL"]
    others = [held_by_thickness(row) for row in rows if row.source.source_id != "NCBA_GRILL"]
    weighed = [held_by_weight(row) for row in rows_by_weight()]
    head = "| line | printed [min] | model [min] | off |\n|---|---|---|---|"
    parts = []
    for heading, held, share in (
        ("Beef grill chart", beef, 0.20),
        ("Other charts by thickness", others, 0.20),
        ("Roasts and birds by weight", weighed, 0.25),
    ):
        lines = "\n".join(told(one) for one in missed(held, share))
        parts.append(f"### {heading}\n\n{head}\n{lines}\n")
    return "\n".join(parts)


if __name__ == "__main__":
    sys.stdout.write(tables_of_misses())
