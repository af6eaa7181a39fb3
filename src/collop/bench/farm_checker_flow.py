"""A second look at where the weight of a farm call's plan comes from and goes to, in the mean."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Any

from collop.bench.farm_problem import FarmCut, FarmProblem
from collop.measures import minor_places

__all__ = ["flow_faults"]

Json = Mapping[str, Any]
_HALF_STEP = Fraction(1, 2000)
_FINE = Fraction(1, 10**5)


def flow_faults(problem: FarmProblem, plan: Json) -> list[str]:
    """Return what is wrong with the weights of a plan, one sentence each.

    Parameters
    ----------
    problem : FarmProblem
    plan : mapping
        The ``collop.farmcall.plan/1`` object.
    """
    return [
        *_pieces(problem, plan),
        *_made(problem, plan),
        *_gone(problem, plan),
        *_ends(plan),
        *_minutes(problem, plan),
    ]


def _cut_up(plan: Json) -> dict[str, Fraction]:
    """Return the weight that is cut of each kind."""
    found: dict[str, Fraction] = {}
    for line in plan["cutting"]:
        found[line["kind"]] = found.get(line["kind"], Fraction(0)) + Fraction(line["weight"])
    return found


def _given(problem: FarmProblem, plan: Json, to: str) -> tuple[dict[str, Fraction], Fraction]:
    """Return what the styles give of each cut, bin or kind, and what rounding may take."""
    styles = {(kind.id, style.id): style
              for kind in problem.kinds.values() for style in kind.styles}  # fmt: skip
    found: dict[str, Fraction] = {}
    for line in plan["cutting"]:
        for output in styles[line["kind"], line["style"]].outputs:
            if output.to == to:
                more = output.share * Fraction(line["weight"])
                found[output.id] = found.get(output.id, Fraction(0)) + more
    return found, _HALF_STEP * (len(plan["cutting"]) + 1)


def _pieces(problem: FarmProblem, plan: Json) -> Iterator[str]:
    """Yield where more is cut of a kind than was ordered, hangs, or comes off."""
    there: dict[str, Fraction] = {}
    for animal, line in zip(problem.animals, plan["orders"], strict=True):
        there[animal.kind] = there.get(animal.kind, Fraction(0)) + line["count"] * animal.weight
    for piece in problem.hanging:
        there[piece.kind] = there.get(piece.kind, Fraction(0)) + piece.weight
    large, slack = _given(problem, plan, "kind")
    cut = _cut_up(plan)
    for kind in problem.kinds.values():
        used, off = cut.get(kind.id, Fraction(0)), large.get(kind.id, Fraction(0))
        if used > there.get(kind.id, Fraction(0)) + off + slack:
            yield f"{kind.name}: more is cut than is there."
        if used < off - slack:
            yield f"{kind.name}: what comes off is not all cut."


def _made(problem: FarmProblem, plan: Json) -> Iterator[str]:
    """Yield where a cut or a bin gets other weights than styles, grinding and making give."""
    cuts, slack = _given(problem, plan, "cut")
    for make, line in zip(problem.makes, plan["makes"], strict=True):
        meat = sum((Fraction(one["weight"]) for one in line["from"]), Fraction(0))
        weight = Fraction(line["weight"])
        loose = _HALF_STEP * (len(line["from"]) + 1) / (1 - make.added)
        if abs(weight - meat / (1 - make.added)) > loose:
            yield f"{make.name}: it weighs other than what goes into it."
        fat = sum((Fraction(one["weight"]) * problem.bins[one["bin"]].fat
                   for one in line["from"]), Fraction(0))  # fmt: skip
        if make.fat_max is not None and fat > make.fat_max * meat + loose:
            yield f"{make.name}: it is fatter than it may be."
        if make.fat_min is not None and fat < make.fat_min * meat - loose:
            yield f"{make.name}: it is leaner than it may be."
        cuts[make.cut] = cuts.get(make.cut, Fraction(0)) + weight
    for line in plan["cuts"]:
        off = abs(Fraction(line["made"]) - cuts.get(line["id"], Fraction(0)))
        if off > slack + _HALF_STEP * len(plan["makes"]):
            yield f"{line['name']}: {line['made']} is not what cutting and making give."
    yield from _bins(problem, plan)


def _bins(problem: FarmProblem, plan: Json) -> Iterator[str]:
    bins, slack = _given(problem, plan, "bin")
    for line in plan["cuts"]:
        ground, weight = problem.cuts[line["id"]].ground, Fraction(line["ground"]["weight"])
        if ground is not None:
            bins[ground.bin] = bins.get(ground.bin, Fraction(0)) + weight * ground.gives
        elif weight:
            yield f"{line['name']}: it is ground, which it may not be."
    slack += _HALF_STEP * len(plan["cuts"])
    for line in plan["bins"]:
        made, used, sold = (Fraction(line[key]) for key in ("made", "used", "sold"))
        if abs(made - bins.get(line["id"], Fraction(0))) > slack:
            yield f"{line['name']}: {line['made']} is not what comes into it."
        if abs(problem.bins[line["id"]].on_hand + made - used - sold) > 3 * _HALF_STEP:
            yield f"{line['name']}: what comes in is not what goes out."
        into = sum((Fraction(one["weight"]) for make in plan["makes"] for one in make["from"]
                    if one["bin"] == line["id"]), Fraction(0))  # fmt: skip
        if abs(into - used) > _HALF_STEP * (len(plan["makes"]) + 1):
            yield f"{line['name']}: what is used is not what the makes take."


def _gone(problem: FarmProblem, plan: Json) -> Iterator[str]:
    """Yield where a cut goes elsewhere than it can, or brings other money."""
    if [line["id"] for line in plan["cuts"]] != list(problem.cuts):
        yield "The plan tells other cuts than were asked for."
        return
    gets: dict[str, Fraction] = {}
    for one in (*plan["standing"], *plan["bookings"]):
        gets[one["cut"]] = gets.get(one["cut"], Fraction(0)) + Fraction(one["gets"])
    lines = len(plan["standing"]) + len(plan["bookings"])
    for line in plan["cuts"]:
        yield from _cut_gone(problem, line, gets.get(line["id"], Fraction(0)), lines)


def _cut_gone(
    problem: FarmProblem, line: Json, gets: Fraction, promises: int
) -> Iterator[str]:  # fmt: skip
    cut, name = problem.cuts[line["id"]], line["name"]
    made, wanted, sold, short, surplus = (
        Fraction(line[key]) for key in ("made", "wanted", "sold", "short", "surplus")
    )
    board, down, ground, salvage = (
        Fraction(line[key]["weight"]) for key in ("at_board", "marked_down", "ground", "salvage")
    )
    had = cut.on_hand + made
    if abs(had - sold - ground - salvage) > 4 * _HALF_STEP:
        yield f"{name}: what is there is not what goes."
    if abs(sold - board - down - gets) > (promises + 4) * _HALF_STEP:
        yield f"{name}: what is sold is not counter and promises together."
    if abs(wanted - short + surplus - had) > 4 * _HALF_STEP:
        yield f"{name}: what is met and what is over are not what is there."
    # at a lower price more is sold than is met
    if short < wanted - sold - 3 * _HALF_STEP or surplus < ground + salvage - 3 * _HALF_STEP:
        yield f"{name}: short or surplus is less than the weights say."
    if short > wanted + _HALF_STEP or surplus > had + _HALF_STEP:
        yield f"{name}: short or surplus is more than there is."
    if not 0 <= line["chance_short"] <= 1 or (short > 2 * _HALF_STEP and not line["chance_short"]):
        yield f"{name}: the chance of running short does not go with what is short."
    yield from _cut_money(problem, cut, line)


def _ends(plan: Json) -> Iterator[str]:
    """Yield where the ways of what is over do not add up to it, or are not those of the cut."""
    cuts = {line["id"]: line for line in plan["cuts"]}
    for end in plan["ends"]:
        line, weight = cuts[end["cut"]], Fraction(end["weight"])
        ways = {one["way"]: Fraction(one["weight"]) for one in end["ways"]}
        if sum(ways.values(), Fraction(0)) != weight:
            yield f"{end['name']}: the ways of what is over do not add up to it."
        if abs(weight - Fraction(line["surplus"])) > 2 * _HALF_STEP:
            yield f"{end['name']}: what is over is told twice, and not alike."
        for way in ("ground", "salvage"):
            if abs(ways.get(way, 0) - Fraction(line[way]["weight"])) > 3 * _HALF_STEP:
                yield f"{end['name']}: of what is over, {way} is not what the cut says."


def _cut_money(problem: FarmProblem, cut: FarmCut, line: Json) -> Iterator[str]:
    cent = Fraction(1, 2 * 10 ** minor_places(problem.currency))
    full = [step for step in cut.steps if step >= 1]
    less = [step for step in cut.steps if step < 1]
    per = problem.bins[cut.ground.bin].worth * cut.ground.gives if cut.ground else Fraction(0)
    prices = {
        "at_board": [step * cut.price for step in full],
        "marked_down": [step * cut.price for step in less],
        "ground": [per],
        "salvage": [cut.salvage],
    }
    for key, allowed in prices.items():
        weight, money = Fraction(line[key]["weight"]), Fraction(line[key]["money"])
        low, high = (min(allowed), max(allowed)) if allowed else (Fraction(0), Fraction(0))
        slack = cent + high * _HALF_STEP
        if not weight * low - slack <= money <= weight * high + slack:
            yield f"{cut.name}: {line[key]['money']} is not what {key} can bring."


def _minutes(problem: FarmProblem, plan: Json) -> Iterator[str]:
    """Yield where more minutes are worked than there are, or paid otherwise than they cost."""
    labour = problem.labour
    paid = {key: -Fraction(plan["money"][key]) for key in ("labour", "overtime")}
    if labour is None:
        if any(paid.values()):
            yield "Labour is paid though none was given."
        return
    used = _used(problem, plan)
    # pieces are told to a millionth, weights to a thousandth
    slack = _FINE * (1 + used) + _HALF_STEP * sum(
        (one.ground.minutes_per_unit for one in problem.cuts.values() if one.ground), Fraction(0)
    ) + _HALF_STEP * sum((one.minutes_per_unit for one in problem.makes), Fraction(0))  # fmt: skip
    if used > labour.minutes + labour.overtime_minutes + slack:
        yield "More minutes are worked than there are."
    cheap, dear = labour.per_hour / 60, labour.overtime_per_hour / 60
    total = paid["labour"] + paid["overtime"]
    cent = Fraction(2, 2 * 10 ** minor_places(problem.currency))
    if not (used - slack) * cheap - cent <= total <= (used + slack) * dear + cent:
        yield "Labour is not paid for the minutes that are worked."


def _used(problem: FarmProblem, plan: Json) -> Fraction:
    styles = {(kind.id, style.id): style.minutes
              for kind in problem.kinds.values() for style in kind.styles}  # fmt: skip
    used = sum(
        (Fraction(line["pieces"]) * styles[line["kind"], line["style"]]
         for line in plan["cutting"]), Fraction(0))  # fmt: skip
    for line in plan["cuts"]:
        ground = problem.cuts[line["id"]].ground
        if ground is not None:
            used += Fraction(line["ground"]["weight"]) * ground.minutes_per_unit
    for make, line in zip(problem.makes, plan["makes"], strict=True):
        used += Fraction(line["weight"]) * make.minutes_per_unit
    return used
