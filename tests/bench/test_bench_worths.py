"""What one more unit is worth, against the same week with a little more or a little less of it.

The reference is the plain model (`bench.plain_bench`) with the plan's own breaks, solved again by
``scipy.optimize.linprog``.  A told worth is right if it lies between the gain of a little more and
the loss of a little less; nearly always it is what a little more brings.
"""

from __future__ import annotations

import pytest

from bench.benched import week
from bench.plain_bench import chosen_by, plain
from collop.bench import bench

LITTLE = 0.1
NEAR = 0.002  # money per unit: worths are told to four decimals, weights to three


class Around:
    """A plan and the plain model of its week with the same breaks."""

    def __init__(self, seed):
        self.problem = week(seed)
        self.plan = bench(self.problem)
        self.model = plain(self.problem)
        self.chosen = chosen_by(self.plan)
        self.base = self.model.settle(self.chosen)

    @property
    def is_met(self):
        """Tell whether all is met: a worth of what is short has no price."""
        return self.plan["answer"] == "all"

    def slopes(self, row):
        """Return money per unit of a little more, and of a little less (None if there is none)."""
        sign = -1 if row[0] == "sold" else 1  # a unit less that leaves is a unit more
        found = []
        for more in (LITTLE, -LITTLE):
            there = self.model.settle(self.chosen, {row: sign * more})
            is_whole = there is not None and abs(there.short - self.base.short) < 1e-6
            found.append((there.money - self.base.money) / more if is_whole else None)
        return found


def judged(around, rows):
    """Return (worths that are wrong, how many are just what a little more brings, how many)."""
    wrong, pinned, tried = [], 0, 0
    for name, row, told in rows:
        if row not in around.model.rows:
            continue
        more, less = around.slopes(row)
        tried += 1
        pinned += more is not None and abs(told - more) < NEAR
        if more is not None and told < more - NEAR:
            wrong.append(
                f"{around.problem['name']}: {name} told {told}, a little more brings {more}"
            )
        if less is not None and told > less + NEAR:
            wrong.append(
                f"{around.problem['name']}: {name} told {told}, a little less costs {less}"
            )
    return wrong, pinned, tried


def fresh(around):
    """Yield (name, flow row, told worth) of one more unit that comes in on each day."""
    for word, key in (("flow", "cuts"), ("trim", "bins")):
        keeps = {one["id"]: one["keeps_days"] for one in around.problem[key]}
        for told in around.plan[key]:
            for day, worth in enumerate(told["worth"]):
                row = (word, told["id"], day + keeps[told["id"]], day)
                yield f"{told['id']} on day {day}", row, float(worth)


def parting(around):
    """Yield (name, row of what is sold, told worth) of a unit that leaves on each day."""
    for told in around.plan["cuts"]:
        for day, worth in enumerate(told["parting"]):
            yield f"{told['id']} leaving on day {day}", ("sold", told["id"], day), float(worth)


def minutes(around):
    """Yield (name, row of the first hand, told worth) of a minute where all may do all."""
    if any(hand["cannot"] for hand in around.problem["hands"]):
        return
    for day, worth in enumerate(around.plan["minute_worth"]):
        yield f"a minute of day {day}", ("hand", 0, day), float(worth)


@pytest.mark.parametrize("rows", [fresh, parting, minutes])
def test_a_worth_lies_between_a_little_more_and_a_little_less(rows):
    """Each worth of a week is what a tenth of a unit more brings, or less costs, per unit."""
    wrong, pinned, tried = [], 0, 0
    for seed in range(3000, 3040):
        around = Around(seed)
        if around.base is None:
            wrong.append(f"{around.problem['name']}: no plain plan has these breaks")
        elif around.is_met:
            found = judged(around, rows(around))
            wrong, pinned, tried = wrong + found[0], pinned + found[1], tried + found[2]
    assert not wrong, "\n".join(wrong)
    assert tried >= 20
    assert pinned > tried / 2


def test_a_piece_is_worth_what_its_cuts_bring():
    """A told worth of a broken piece is its outputs at the worths of that day, less its labour."""
    seen = 0
    for seed in range(3000, 3040):
        problem = week(seed, large=False)
        plan = bench(problem)
        styles = {one["id"]: one for kind in problem["kinds"] for one in kind["styles"]}
        worth = {one["id"]: one["worth"] for key in ("cuts", "bins") for one in plan[key]}
        broken = {one["tag"]: one for one in plan["breaks"]}
        for told in plan["pieces"]:
            if told["tag"] not in broken:
                continue
            one = broken[told["tag"]]
            style, day, weight = styles[one["style"]], one["day"], float(one["weight"])
            brings = sum(
                float(output["share"]) * float(
                    output["worth"] if "worth" in output
                    else worth[output.get("cut") or output["bin"]][day]
                )
                for output in style["outputs"]
            ) * weight - float(style["minutes"]) * float(plan["minute_worth"][day])  # fmt: skip
            assert float(told["worth"]) == pytest.approx(brings, abs=0.01 + 2e-4 * weight)
            assert float(told["worth_per_unit"]) * weight == pytest.approx(brings, abs=0.05)
            seen += 1
    assert seen >= 20
