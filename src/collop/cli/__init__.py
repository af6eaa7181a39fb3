"""The ``collop`` command.  Heavy imports stay inside the commands: help is quick."""

from __future__ import annotations

from typing import Any

import click

from collop import __version__
from collop.cli.admit import admit
from collop.cli.asks import schema, spread
from collop.cli.backup import backup, restore
from collop.cli.barcode import barcode
from collop.cli.bench import bench
from collop.cli.bench_shop import benchplan, worths
from collop.cli.benches import benches
from collop.cli.blend import blend
from collop.cli.board import board, costs
from collop.cli.buying import buying
from collop.cli.carcass import cuts, styles, takehome, yieldgrade
from collop.cli.cards import cards
from collop.cli.chalk import chalk
from collop.cli.chalk_clear import clearing, demand
from collop.cli.chalk_cost import allocate, putout
from collop.cli.chalk_moves import markdown, whole
from collop.cli.chalk_shop import moves, piece
from collop.cli.choices import choices
from collop.cli.cutting import flow, rail, stock, trace
from collop.cli.daybook import cold, daybook
from collop.cli.exchange import export, import_
from collop.cli.farmcall import farmcall
from collop.cli.fire import fire
from collop.cli.firesheet import firesheet
from collop.cli.freezer import freezer
from collop.cli.heat import heat
from collop.cli.knife import balance, cuttingtest, yields
from collop.cli.learning import appetite, learned, pace
from collop.cli.lethality import lethality
from collop.cli.lockup import counting, lockup
from collop.cli.longlist import longlist
from collop.cli.making import mince
from collop.cli.netweight import netweight
from collop.cli.papers import papers
from collop.cli.people import log, people
from collop.cli.pickup import pickup
from collop.cli.promising import freeby, pickups, reminders
from collop.cli.recall import recall
from collop.cli.reckoning import drift, reckoning
from collop.cli.rehome import rehome
from collop.cli.replay import replay
from collop.cli.rules import rules
from collop.cli.scale import scale
from collop.cli.sell import pay, sell, takeback
from collop.cli.shop import check, demo, migrate, new, serve
from collop.cli.standing import standing
from collop.cli.takings import takings
from collop.cli.ticket import ticket
from collop.cli.tickets import tickets
from collop.cli.till import till

__all__ = ["main"]

_STOPPED = 130


class _Stoppable(click.Group):
    """A command that is stopped by Ctrl-C says so in one sentence and ends with 130 [1]_.

    References
    ----------
    .. [1] POSIX.1-2017, Shell Command Language, 2.8.2: 128 and the number of the signal, here 2.
    """

    def invoke(self, ctx: click.Context) -> Any:  # noqa: ANN401 -- as click has it
        """Run the command."""
        try:
            return super().invoke(ctx)
        except KeyboardInterrupt:
            click.echo("Stopped: nothing of what was in work is written.", err=True)
            ctx.exit(_STOPPED)


@click.group(cls=_Stoppable, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__)
def main() -> None:
    """Counter and bench of a whole-animal butcher: from the rail to the customer."""


_COMMANDS = (
    spread, schema, demo, new, migrate, admit, serve, check, rail, stock, trace, flow, cuts, styles,
    yieldgrade, takehome, cuttingtest, yields, balance, scale,
    whole, markdown,
    allocate, putout, chalk,
    clearing, demand,
    moves, piece,
    board, costs, choices,
    bench,
    benches, benchplan, worths,
    farmcall, buying, longlist,
    freeby, pickups, reminders, standing,
    blend,
    fire,
    firesheet,
    freezer,
    lethality,
    heat,
    daybook, cold,
    counting, lockup,
    mince,
    recall,
    replay,
    reckoning, drift,
    rules,
    netweight,
    till,
    barcode,
    ticket,
    tickets,
    pickup, rehome,
    appetite, pace, learned, cards,
    sell, takeback, pay, takings,
    papers, export, import_,
    backup, restore,
    people, log,
)  # fmt: skip
for command in _COMMANDS:
    main.add_command(command)
