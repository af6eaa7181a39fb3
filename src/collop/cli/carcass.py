"""Commands on a carcass: ``cuts``, ``styles``, ``yieldgrade``, ``takehome``."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import click

from collop.cli.telling import one_sentence, read_text, tell_json

__all__ = ["cuts", "styles", "takehome", "yieldgrade"]

_Plan = dict[str, Any]


def _tell(plan: _Plan, lines: Callable[[_Plan], Iterator[str]], *, as_json: bool) -> None:
    if as_json:
        tell_json(plan)
        return
    for line in lines(plan):
        click.echo(line)


def _mark(told: _Plan) -> str:
    """Return the mark of a figure that was not read in a source."""
    marks = {"memory": " (from memory)", "shop": " (shop's starting figure)"}
    return marks.get(told["standing"], "")


@click.command()
@click.argument("text")
@click.option("--species", default="", help="Only this animal, e.g. lamb.")
@click.option("--json", "as_json", is_flag=True, help="Print the cuts as JSON.")
def cuts(text: str, species: str, *, as_json: bool) -> None:
    """Find every cut that TEXT may mean, by any of its names.

    Example: collop cuts "butcher's steak"
    """
    with one_sentence(as_json=as_json):
        from collop.carcass.problems import cuts_plan

        plan = cuts_plan(text, species)
    _tell(plan, _cut_lines, as_json=as_json)


def _cut_lines(plan: _Plan) -> Iterator[str]:
    if not plan["cuts"]:
        yield f"No cut is called {plan['text'][:40]!r}; try another name, or a part of it."
    for cut in plan["cuts"]:
        numbers = [f"IMPS {cut['imps']}"] if cut["imps"] else []
        numbers += [f"UNECE {cut['unece']}"] if cut["unece"] else []
        others = f"; also {', '.join(cut['other_names'])}" if cut["other_names"] else ""
        where = f"{cut['species']}, {cut['large_cut']}"
        yield f"{cut['id']}  {cut['name']} ({where}){others}"
        tender = cut["tenderness"]
        yield (
            f"      {cut['bone']}, {cut['grain']} grain, {tender['class']}{_mark(tender)}. "
            f"Slice: {cut['slice']}."
        )
        value = "  Eats better than its price." if cut["value_cut"] else ""
        yield f"      {', '.join([*cut['methods'], *numbers])}.{value}"


@click.command()
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
def styles(file: str, *, as_json: bool) -> None:
    """Tell what a piece is expected to give, cut in the chosen styles, from FILE (- for input).

    Example: collop styles docs/examples/carcass-styles.json
    """
    with one_sentence(as_json=as_json):
        from collop.carcass.problems import styles_plan
        from collop.wire import load_json

        plan = styles_plan(load_json(read_text(file)))
    _tell(plan, _style_lines, as_json=as_json)


def _style_lines(plan: _Plan) -> Iterator[str]:
    yield f"{plan['piece'].upper()}  {plan['weight_lb']} lb"
    known = {cut["name"]: cut for cut in plan["large_cuts"]}
    told = None
    for output in plan["outputs"]:
        name = output["large_cut"]
        if name != told:
            told = name
            cut = known.get(name)
            minutes = f", {cut['minutes']:g} min" if cut and cut["minutes"] else ""
            yield f"\n{name}: {output['style']}{minutes}"
        yield (
            f"  {output['part']:<48} {output['kind']:<9} {output['weight_lb']:>9} lb"
            f"  {output['share_pct']:>6.2f} %{_mark(output)}"
        )
    sums = ", ".join(f"{kind} {weight}" for kind, weight in plan["sum_lb"].items())
    yield f"\nSum {plan['weight_lb']} lb: {sums}."


@click.command()
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
def yieldgrade(file: str, *, as_json: bool) -> None:
    """Grade a beef carcass for yield, by the equation and the short method, from FILE.

    Example: collop yieldgrade docs/examples/carcass-yieldgrade.json
    """
    with one_sentence(as_json=as_json):
        from collop.carcass.problems import yield_grade_plan
        from collop.wire import load_json

        plan = yield_grade_plan(load_json(read_text(file)))
    _tell(plan, _grade_lines, as_json=as_json)


def _grade_lines(plan: _Plan) -> Iterator[str]:
    for name in ("equation", "short"):
        grade = plan[name]
        if grade is None:
            yield plan["short_refused"]
            continue
        yield f"{name}: {grade['value']:.2f}, yield grade {grade['grade']} (decimals dropped)"
        for step in grade["steps"]:
            yield f"  {step['what']:<48} {step['amount']:>8.3f}"


@click.command()
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
def takehome(file: str, *, as_json: bool) -> None:
    """Tell every weight from the live animal to what is taken home, from FILE.

    Example: collop takehome docs/examples/carcass-takehome.json
    """
    with one_sentence(as_json=as_json):
        from collop.carcass.problems import take_home_plan
        from collop.wire import load_json

        plan = take_home_plan(load_json(read_text(file)))
    _tell(plan, _home_lines, as_json=as_json)


def _home_lines(plan: _Plan) -> Iterator[str]:
    for step in plan["steps"]:
        low, high = step["low_lb"], step["high_lb"]
        weight = f"{low} lb" if low == high else f"{low} to {high} lb"
        yield f"{step['name']:<20} {weight:<28} {step['rule']}{_mark(step)}"
