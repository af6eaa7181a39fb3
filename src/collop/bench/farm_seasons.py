"""What a season figure of a farm call rests on: its source, and how it was obtained."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from collop.bench.farm_problem import FarmProblem
from collop.reference import FROM_MEMORY, Status, season_rows
from collop.reference.citing import known_sources

__all__ = ["season_notes"]


def season_notes(problem: FarmProblem) -> Iterator[str]:
    """Yield one sentence a season or holiday figure, with its cuts, its source and status."""
    groups: dict[tuple[str, Fraction, str], list[str]] = {}
    for one in problem.seasons:
        what = problem.cuts[one.what].name if one.what in problem.cuts else one.what
        whose = "all cuts" if one.what == "all" else what
        groups.setdefault((one.why, one.index, one.source), []).append(whose)
    for (why, index, source), names in groups.items():
        head = f"Season ({why})" if why else "Season"
        yield f"{head}: {', '.join(names)} x {float(index):g}; {_ground(index, source)}."


def _ground(index: Fraction, source: str) -> str:
    if not source:
        return "no source given, taken as the shop's own figure"
    known = known_sources().get(source)
    if known is None:
        return f"source as given: {source}, not among our tables"
    rows = [row for row in season_rows() if row.source.source_id == source
            and row.index == index]  # fmt: skip
    if not rows:
        return f"{source} {known.title} has no such figure, so it is the shop's own"
    # the figure as it was read, where the same one was also reckoned from another
    row = min(rows, key=lambda one: (not one.is_cited, one.status is not Status.SEEN))
    status = FROM_MEMORY if row.status is Status.MEMORY else row.status.value
    return f"{source} {known.title}, {row.item}, {row.window}: {status}"
