"""What each cut must earn: cost allocation, the board, break-even, mark-down, clearing prices."""

from collop.chalk.allocating import allocate
from collop.chalk.clearing_plan import clearing
from collop.chalk.demand_plan import demand
from collop.chalk.demand_published import published_prior
from collop.chalk.equation_plan import chalk
from collop.chalk.margins import (
    margin_from_markup,
    margin_of,
    markup_from_margin,
    markup_of,
    price_from_margin,
    price_from_markup,
)
from collop.chalk.markdown_plan import markdown
from collop.chalk.putting_out import putout
from collop.chalk.relatives import Relative, published_relatives
from collop.chalk.whole_or_cut import most_loss, whole

__all__ = [
    "Relative",
    "allocate",
    "chalk",
    "clearing",
    "demand",
    "margin_from_markup",
    "margin_of",
    "markdown",
    "markup_from_margin",
    "markup_of",
    "most_loss",
    "price_from_margin",
    "price_from_markup",
    "published_prior",
    "published_relatives",
    "putout",
    "whole",
]
