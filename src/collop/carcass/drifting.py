"""Do hands or farms give other yields, or is it chance: ``collop.drift/1``.

For each style the saleable share, and each part, of its breaks is compared by hand and by farm:
each group with the others together, as `collop.carcass.drifting_chance` tells. Whoever looks at
many groups finds a difference somewhere by chance. So the intervals are widened (Bonferroni): half
of the chance to be wrong is shared out over all looks at the saleable share, half over all looks at
parts. With the confidence of 95 % all intervals hold together 19 times in 20.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from collop.carcass.drifting_chance import Contrast, Groups, contrasts, degrees_of_freedom
from collop.carcass.drifting_reading import FACTORS, Drifting, StyleRows, read_drifting

__all__ = ["PLAN_ID", "SALEABLE", "drift"]

PLAN_ID = "collop.drift.plan/1"
#: The quantity that is looked at first: all parts that are sold, together.
SALEABLE = "saleable"
_PLACES = 6
# breaks that are alike to the last digit are too few or too coarsely weighed to tell anything
_LEAST_SPREAD = 1e-9


@dataclass(frozen=True, slots=True)
class _Look:
    """One quantity of one style, by one factor; `looks` counts what can be told apart in it."""

    style: str
    factor: str
    part: str | None
    groups: Groups

    @property
    def is_told(self) -> bool:
        """Tell whether there is anything to compare with."""
        return degrees_of_freedom(self.groups) > 0

    @property
    def looks(self) -> int:
        """Return the comparisons in it; of two groups the one is the other turned round."""
        return 1 if len(self.groups) == 2 else len(self.groups)


def drift(problem: object) -> dict[str, Any]:
    """Compare yields by hand and by farm, given as parsed JSON; see `docs/drift.md`.

    Parameters
    ----------
    problem : object
        The ``collop.drift/1`` object.

    Returns
    -------
    dict
        The ``collop.drift.plan/1`` object; shares are of the weight on the block, 0 to 1.

    Raises
    ------
    ProblemError
        If it cannot be read.
    """
    asked = read_drifting(problem)
    looks = [look for style in asked.styles for look in _looks(style)]
    told = [look for look in looks if look.is_told]
    counts = {
        SALEABLE: sum(look.looks for look in told if look.part is None),
        "parts": sum(look.looks for look in told if look.part is not None),
    }
    levels = _levels(asked.confidence, counts)
    compared = [
        _told(look, one, asked)
        for look in told
        for one in contrasts(look.groups, levels[SALEABLE if look.part is None else "parts"])
    ]
    return {
        "schema": PLAN_ID,
        "name": asked.name,
        "confidence": asked.confidence,
        "looks": counts,
        "levels": {name: round(level, _PLACES) for name, level in levels.items()},
        "compared": compared,
        "not_compared": [_not_told(look) for look in looks
                         if not look.is_told and look.part is None],
        "same": list(_same(asked)),
        "say": _say(compared),
        "assumptions": _assumptions(asked, counts),
    }  # fmt: skip


def _levels(confidence: float, counts: dict[str, int]) -> dict[str, float]:
    """Return the level of one interval of each kind; half of the chance to be wrong is for each."""
    kinds = sum(1 for count in counts.values() if count) or 1
    return {
        name: 1 - (1 - confidence) / kinds / count if count else confidence
        for name, count in counts.items()
    }


def _looks(style: StyleRows) -> Iterator[_Look]:
    for at, factor in enumerate(FACTORS):
        names = list(dict.fromkeys(row.groups[at] for row in style.breaks))
        groups = {
            name: [row for row in style.breaks if row.groups[at] == name]
            for name in sorted(one for one in names if one is not None)
        }
        yield _Look(style.name, factor, None, {
            name: [
                float(sum(share for share, sold in zip(row.shares, style.saleable, strict=True)
                          if sold))
                for row in rows
            ]
            for name, rows in groups.items()
        })  # fmt: skip
        for index, part in enumerate(style.parts):
            yield _Look(style.name, factor, part, {
                name: [float(row.shares[index]) for row in rows] for name, rows in groups.items()
            })  # fmt: skip


def _verdict(one: Contrast) -> str:
    if one.high - one.low < _LEAST_SPREAD:
        return "chance"
    if one.low > 0:
        return "more"
    return "less" if one.high < 0 else "chance"


def _plain(value: float) -> float:
    """Return a figure to six places, and nothing without a sign."""
    return round(value, _PLACES) + 0.0


def _told(look: _Look, one: Contrast, asked: Drifting) -> dict[str, Any]:
    verdict = _verdict(one)
    return {
        "style": look.style,
        "factor": look.factor,
        "group": one.group,
        "part": look.part,
        "breaks": one.count,
        "others": one.others,
        "mean": _plain(one.mean),
        "others_mean": _plain(one.others_mean),
        "difference": _plain(one.difference),
        "low": _plain(one.low),
        "high": _plain(one.high),
        "best_guess": _plain(one.best_guess),
        "verdict": verdict,
        "say": _sentence(look, one, verdict, asked),
    }


def _pounds(share: float) -> str:
    """Return a share as weight out of each hundred."""
    return f"{abs(share) * 100:.1f}"


def _breaks(count: int) -> str:
    return f"{count} break" if count == 1 else f"{count} breaks"


def _sentence(look: _Look, one: Contrast, verdict: str, asked: Drifting) -> str:
    what = look.part or "saleable"
    facts = (
        f"{one.group}, {look.style}: {one.mean * 100:.1f} % {what} over {_breaks(one.count)},"
        f" the others {one.others_mean * 100:.1f} % over {one.others}"
    )
    if verdict == "chance":
        return f"{facts}: cannot be told from chance yet ({_breaks(one.count)})."
    near, far = sorted((abs(one.low), abs(one.high)))
    return (
        f"{facts}: {_pounds(one.difference)} {verdict} of each 100, somewhere from"
        f" {_pounds(near)} to {_pounds(far)} ({asked.confidence * 100:g} % sure of all looks"
        " together)."
    )


def _not_told(look: _Look) -> dict[str, Any]:
    count = sum(len(one) for one in look.groups.values())
    if not look.groups:
        why = f"No {look.factor} is told for any break."
    elif len(look.groups) == 1:
        these = f"All {count} breaks are" if count > 1 else "The one break is"
        why = f"{these} of one {look.factor}; there is nothing to compare with."
    else:
        why = f"One break of each {look.factor} tells nothing of chance; one more is needed."
    return {"style": look.style, "factor": look.factor, "breaks": count, "why": why}


def _same(asked: Drifting) -> Iterator[dict[str, Any]]:
    """Yield hands and farms whose breaks are the very same: what is of which cannot be told."""
    for style in asked.styles:
        by: list[dict[str, frozenset[int]]] = []
        for at in range(len(FACTORS)):
            names = {row.groups[at] for row in style.breaks} - {None}
            by.append({
                str(name): frozenset(
                    n for n, row in enumerate(style.breaks) if row.groups[at] == name)
                for name in names
            })  # fmt: skip
        for hand, own in sorted(by[0].items()):
            for farm, theirs in sorted(by[1].items()):
                if own == theirs and len(by[0]) > 1:
                    yield {"style": style.name, "hand": hand, "farm": farm, "say": (
                        f"{style.name}: {hand} broke all of {farm} and nothing else, so hand and"
                        " farm cannot be told apart.")}  # fmt: skip


def _is_said(one: dict[str, Any], before: list[dict[str, Any]]) -> bool:
    """Tell whether one of two groups is only the other, said before, turned round."""
    return any(
        all(one[key] == other[key] for key in ("style", "factor", "part"))
        and (one["breaks"], one["others"]) == (other["others"], other["breaks"])
        and (one["mean"], one["others_mean"]) == (other["others_mean"], other["mean"])
        for other in before
    )


def _say(compared: list[dict[str, Any]]) -> list[str]:
    """Return what stands out: the saleable share first; if nothing does, that."""
    found = sorted(
        (one for one in compared if one["verdict"] != "chance"),
        key=lambda one: (one["part"] is not None, -abs(one["difference"]), one["group"]),
    )
    if found:
        return [one["say"] for at, one in enumerate(found) if not _is_said(one, found[:at])]
    if compared:
        return ["No difference can be told from chance yet."]
    return ["There is nothing to compare yet."]


def _assumptions(asked: Drifting, counts: dict[str, int]) -> list[str]:
    whole = sum(counts.values())
    shared = (
        f"{whole} looks: the intervals are widened so that all of them hold together"
        f" {asked.confidence * 100:g} % of the time (Bonferroni; half of the chance to be wrong is"
        " for the saleable share, half for parts)."
    )
    alike = (
        "Breaks of a style spread alike, whoever breaks them, and each stands by itself; hands are"
        " compared without regard to farm, farms without regard to hand."
    )
    careful = (
        "A difference is of the carcasses as much as of the knife: look before anybody is told."
    )
    again = "Looking again each week finds more by chance than is told here; wait for more breaks."
    return [shared, alike, careful, again] if whole else [alike, careful]
