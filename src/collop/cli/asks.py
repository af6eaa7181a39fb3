"""Commands on an ask: ``spread``; and ``schema`` of every problem and plan."""

from __future__ import annotations

import click

from collop.cli.progress import told_while_it_works
from collop.cli.telling import one_sentence, read_text, tell_json, tell_spread

__all__ = ["schema", "spread"]


@click.command()
@click.argument("file")
@click.option("--json", "as_json", is_flag=True, help="Print the plan as JSON.")
def spread(file: str, *, as_json: bool) -> None:
    """Answer an ask from FILE (- for standard input) with up to five spreads.

    Example: collop spread docs/examples/spread.json --json
    """
    with one_sentence(as_json=as_json):
        from collop.wire import load_json

        problem = load_json(read_text(file))
        from collop.spread import answer

        with told_while_it_works():
            plan = answer(problem)
    if as_json:
        tell_json(plan)
    else:
        tell_spread(plan)


#: The module that holds the schemas of each problem, with those of its plan.
_SCHEMA_MODULES = {
    "spread": "collop.spread.schema",
    "cuttingtest": "collop.carcass.cuttingtest_schema",
    "yields": "collop.carcass.combining_schema",
    "balance": "collop.carcass.reconciling_schema",
    "drift": "collop.carcass.drifting_schema",
    "freezer": "collop.carcass.freezer_schema",
    "styles": "collop.carcass.schema",
    "yieldgrade": "collop.carcass.schema",
    "takehome": "collop.carcass.schema",
    "whole": "collop.chalk.whole_schema",
    "markdown": "collop.chalk.markdown_schema",
    "allocate": "collop.chalk.allocating_schema",
    "putout": "collop.chalk.putting_out_schema",
    "chalk": "collop.chalk.chalk_schema",
    "clearing": "collop.chalk.clearing_schema",
    "demand": "collop.chalk.demand_schema",
    "counting": "collop.chalk.counting_schema",
    "buying": "collop.chalk.buying_schema",
    "bench": "collop.bench.bench_schema",
    "benches": "collop.bench.many_schema",
    "farmcall": "collop.bench.farmcall_schema",
    "blend": "collop.bench.blend_schema",
    "replay": "collop.bench.replaying_schema",
    "lethality": "collop.fire.lethality_schema",
    "heat": "collop.fire.heat_schema",
    "fire": "collop.fire.fire_schema",
    "ticket": "collop.ticket.ticket_schema",
    "netweight": "collop.rules.netweight_schema",
    "till": "collop.rules.till",
    "appetite": "collop.spread.appetites_schema",
    "pace": "collop.chalk.pace_schema",
}
_SCHEMA_NAMES = [name for one in _SCHEMA_MODULES for name in (one, f"{one}.plan")]


@click.command()
@click.argument("name", type=click.Choice(_SCHEMA_NAMES))
def schema(name: str) -> None:
    """Print the JSON Schema of a problem or plan.

    Example: collop schema spread
    """
    from importlib import import_module

    module = import_module(_SCHEMA_MODULES[name.removesuffix(".plan")])
    tell_json(module.SCHEMAS[name])
