"""Command of the cutting room's week: ``bench``, what to break, how and when."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from decimal import Decimal
from typing import Any

import click

from collop.cli.telling import answer_file

__all__ = ["bench", "tell_bench"]

Plan = dict[str, Any]


@click.command()
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
def bench(file: str, *, as_json: bool) -> None:
    """Plan what to break, in which style and on which day, from FILE (- for standard input).

    Example: collop bench docs/examples/bench.json
    """

    def solve() -> Callable[[object], Plan]:
        from collop.bench import bench as work_out

        return work_out

    answer_file(file, solve, _bench_lines, as_json=as_json)


def tell_bench(plan: Plan) -> None:
    """Print a ``collop.bench.plan/1`` for people."""
    for line in _bench_lines(plan):
        click.echo(line)


def _row(name: str, *cells: str) -> str:
    return f"  {name:<28}" + "".join(f"{cell:>14}" for cell in cells)


def _bench_lines(plan: Plan) -> Iterator[str]:
    if plan["name"]:
        yield plan["name"]
    yield from _short_lines(plan)
    yield from _break_lines(plan)
    yield from _made_lines(plan)
    yield from _hand_lines(plan)
    yield from _worth_lines(plan)
    proof = plan["proof"]
    surely = "proven to within" if proof["status"] == "optimal" else "not proven; within"
    yield (
        f"  brings {plan['contribution']}; {surely} {proof['gap']:.2%} of the best, which is no "
        f"more than {proof['bound']}"
    )
    for note in plan["assumptions"]:
        yield f"Assumed: {note}"


def _short_lines(plan: Plan) -> Iterator[str]:
    """Yield the promises that cannot be kept, and what would keep each."""
    unit = plan["unit"]
    if plan["answer"] == "all":
        yield "Every booking is met."
        return
    yield "SHORT:"
    for one in plan["short"]:
        what = one["cut_name"] or "a share of a piece"
        who = one["name"] or one["booking"]
        yield f"  {who}, {plan['days'][one['due']]}: {one['weight']} {unit} {what}"
        yield f"    {one['say']}"
        for way in one["saves"]:
            yield f"    or: {way['say']}"


def _break_lines(plan: Plan) -> Iterator[str]:
    """Yield the breaks day by day, and what is kept."""
    unit = plan["unit"]
    for day, date in enumerate(plan["days"]):
        here = [one for one in plan["breaks"] if one["day"] == day]
        if here:
            yield f"{date} (day {day})"
        for one in here:
            yield (
                f"  {one['id']:<28}{one['style_name']:<28}{one['weight'] + ' ' + unit:>14}"
                f"{_plain(one['minutes']) + ' min':>12}"
            )
            runner_up = one["runner_up"] or {"say": ""}
            says = [one["say"], *(over["say"] for over in one["surplus"]), runner_up["say"]]
            yield from (f"    {say}" for say in says if say)
    for one in plan["kept"]:
        yield f"  {one['tag']:<28}{'kept':<28}{one['weight'] + ' ' + unit:>14}"
        if one["say"]:
            yield f"    {one['say']}"


def _made_lines(plan: Plan) -> Iterator[str]:
    unit = plan["unit"]
    for one in plan["grinds"]:
        yield _row(f"{one['name']} to trim", f"day {one['day']}", f"{one['weight']} {unit}")
    for one in plan["makes"]:
        fat = "" if one["fat"] is None else f"{one['fat']:.1%} fat"
        yield _row(one["name"], f"day {one['day']}", f"{one['weight']} {unit}", fat)


def _hand_lines(plan: Plan) -> Iterator[str]:
    yield _row("minutes used (over)", *(f"day {day}" for day in range(len(plan["days"]))))
    for one in plan["hands"]:
        cells = [
            _plain(used) + (f" ({_plain(over)})" if Decimal(over) else "")
            for used, over in zip(one["used"], one["overtime"], strict=True)
        ]
        yield _row(one["name"], *cells)
    yield _row("a minute is worth", *plan["minute_worth"])


def _worth_lines(plan: Plan) -> Iterator[str]:
    """Yield what one more unit of each cut and of trim is worth on each day, then of the pieces."""
    unit = plan["unit"]
    yield _row(f"one more {unit} is worth", *(f"day {day}" for day in range(len(plan["days"]))))
    for one in [*plan["cuts"], *plan["bins"]]:
        yield _row(one["name"], *one["worth"])
    yield _row("as it hangs", f"one more {unit}", "the piece")
    for one in plan["pieces"]:
        yield _row(one["tag"], one["worth_per_unit"], one["worth"])
    for one in plan["kinds"]:
        yield _row(f"another {one['name']}", one["worth_per_unit"])


def _plain(minutes: str) -> str:
    """Return minutes without closing zeros."""
    return f"{Decimal(minutes).normalize():f}"
