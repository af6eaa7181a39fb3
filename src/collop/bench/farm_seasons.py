"""What a season figure of a farm call rests on: its source, and how it was obtained."""

from __future__ import annotations

from collections.abc import Iterator

from collop.bench.farm_problem import FarmProblem, Season
from collop.reference import FROM_MEMORY, Status, season_rows
from collop.reference.citing import known_sources

__all__ = ["season_notes"]


def season_notes(problem: FarmProblem) -> Iterator[str]:
    """Yield one sentence a season or holiday figure, with its source and status."""
    for one in problem.seasons:
        why = f" ({one.why})" if one.why else ""
        what = problem.cuts[one.what].name if one.what in problem.cuts else one.what
        whose = "all cuts" if one.what == "all" else what
        yield f"Season{why}: {whose} x {float(one.index):g}; {_ground(one)}."


def _ground(season: Season) -> str:
    if not season.source:
        return "no source given, taken as the shop's own figure"
    known = known_sources().get(season.source)
    if known is None:
        return f"source as given: {season.source}, not among our tables"
    rows = [row for row in season_rows() if row.source.source_id == season.source
            and row.index == season.index]  # fmt: skip
    if not rows:
        return f"{season.source} {known.title} has no such figure, so it is the shop's own"
    # the figure as it was read, where the same one was also reckoned from another
    row = min(rows, key=lambda one: (not one.is_cited, one.status is not Status.SEEN))
    status = FROM_MEMORY if row.status is Status.MEMORY else row.status.value
    return f"{season.source} {known.title}, {row.item}, {row.window}: {status}"
