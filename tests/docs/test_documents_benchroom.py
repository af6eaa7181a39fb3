"""docs/benchroom.md gives the figures that the code has."""

from __future__ import annotations

import re
from pathlib import Path

from collop.shop import Settings
from collop.shop import bench_figures as figures
from collop.shop.farm_problem import USUAL_CV
from collop.shop.pricing_choices import OF_THE_BENCH

TEXT = (Path(__file__).parents[2] / "docs" / "benchroom.md").read_text(encoding="utf-8")
ROWS = dict(re.findall(r"^\| `?([^|`]+)`? \| ([^|]+) \|", TEXT, re.MULTILINE))


def test_every_figure_of_ours_is_the_one_in_use():
    """Fat, waiting time, shrink, minutes, rusk, casing, shares: as the code has them."""
    fat = ", ".join(f"{name} {float(share):.0%}" for name, share in figures.TRIM_FAT.items())
    told = f"{fat}, other {float(figures.OTHER_FAT):.0%}".replace("%", " %")
    assert ROWS["fat of trim as sorted at the block"] == told
    assert ROWS["trim waits for the grinder"] == f"{figures.TRIM_KEEPS_DAYS} days"
    shrink = f"{float(figures.SHRINK_PER_DAY):.1%}".replace("%", " %")
    assert ROWS["shrink of a piece weighed once"].startswith(f"{shrink} a day")
    block = f"{float(figures.BLOCK_SHARE):.0%}".replace("%", " %")
    assert ROWS["a cut without a line of the case"].startswith(block)
    minutes = (figures.MINCE_MINUTES_PER_LB, figures.LINKS_MINUTES_PER_LB)
    assert ROWS["a pound of mince, of links"] == ", ".join(f"{float(one):g} min" for one in minutes)
    assert ROWS["links with rusk"] == (
        f"{float(figures.ADDED_SHARE):.0%}".replace("%", " %")
        + f" rusk and water, at {float(figures.RUSK_COST_PER_LB):.2f} a pound of it"
    )
    casing = f"{float(figures.CASING_COST_PER_LB):.2f} a pound of links"
    assert ROWS["casing and wrapping"] == casing
    assert ROWS["scatter of a week's sale, for the farm call"].startswith(f"{USUAL_CV:.0%}"[:2])


def test_every_setting_of_the_cutting_room_stands_with_what_it_begins_at():
    """The table names each, and a new shop has what it says."""
    usual = Settings("x")
    assert set(ROWS) >= set(OF_THE_BENCH)
    assert (ROWS["hands"], usual.hands) == ("nobody", ())
    assert (ROWS["case_room"], usual.case_room) == ("no limit", None)
    assert ROWS["cut_room_f"] == str(usual.cut_room_f)
    assert f"{figures.USUAL_MINUTES} minutes on open days" in TEXT
