"""Parts of sentences with values that other rooms put together, marked for the catalogue.

They stand in the code of other rooms as pieces, or in tables; `collop.words.said` finds them here.
"""

from __future__ import annotations

from collop.words import pgettext

__all__ = ["SHOWN_MADE"]

_SPREAD = (
    pgettext("said", "%(names)s: %(each)s a head for %(heads)s, %(left)s left."),
    pgettext("said", "%(each)s a head for %(heads)s, %(left)s left."),
)  # fmt: skip
_FARM = (
    pgettext("said", "%(count)s beef sides"), pgettext("said", "%(count)s pork sides"),
    pgettext("said", "%(count)s lambs"), pgettext("said", "%(count)s goats"),
    pgettext("said", "%(count)s pigs"), pgettext("said", "%(count)s beef animals"),
    pgettext("said",
        "%(weight)s more sold by a lower price, %(money)s more than at the board price"
    ),
    pgettext("said", "%(weight)s ground, %(money)s"),
    pgettext("said", "%(weight)s left for salvage, %(money)s"),
    pgettext("said",
        "%(weight)s more sold by a lower price, %(money)s more than at the board "
        "price; %(rest)s"
    ),
    pgettext("said", "%(money)s %(way)s in a usual week."),
    pgettext("said",
        "%(money)s %(way)s in a usual week, and %(weight)s %(short)s is short of what "
        "is promised"
    ),
    pgettext("said",
        "%(money)s %(way)s in a usual week, and %(weight)s %(short)s is short of what "
        "is promised."
    ),
    pgettext("said", "%(changes)s; %(most)s is the most that may be ordered."),
    pgettext("said", "%(changes)s; %(least)s is the least that must be ordered."),
    pgettext("said", "%(changes)s; the rail has no room for it."),
    pgettext("said",
        "%(cut)s: %(weight)s is %(animals)s; %(count)s give %(gives)s. Served in full."
    ),
    pgettext("said",
        "%(cut)s: %(weight)s is %(animals)s; %(count)s gives %(gives)s. Served in full."
    ),
    pgettext("said",
        "%(cut)s: %(weight)s is %(animals)s; %(count)s give %(gives)s. %(short)s short "
        "in a usual week."
    ),
    pgettext("said",
        "%(cut)s: %(weight)s is %(animals)s; %(count)s gives %(gives)s. %(short)s "
        "short in a usual week."
    ),
    pgettext("said", "Season (%(why)s): %(names)s x %(index)s; %(ground)s."),
    pgettext("said", "No cutting style cuts %(name)s: it cannot be ordered here."),
    pgettext("said", "No price is known of %(name)s: it cannot be ordered here."),
)  # fmt: skip
_FREEZER = (
    pgettext("said",
        "A beef steak is taken as 1.2 lb for each inch on the bone and 0.8 lb "
        "boneless, as in %(text)s; a wider muscle weighs more."
    ),
    pgettext("said",
        "What a %(species)s chop weighs by its thickness is of the catalogue "
        "(%(memory)s), or a starting figure (%(custom)s)."
    ),
)  # fmt: skip
_DAY = (
    pgettext("said", "when something comes; %(words)s"), pgettext("said", "the last %(moment)s"),
    pgettext("said", "the last %(moment)s; the room at %(heat)s: every %(hours)s h at most"),
    pgettext("said", "to read: %(names)s"),
    pgettext("said", "read %(place)s again: over at %(moment)s, %(reading)s"),
    pgettext("said", "from clean-down to clean-down; the last %(code)s, %(moment)s"),
    pgettext("said", "its record lacks %(lacks)s"),
    pgettext("said", "record incomplete: %(codes)s"),
    pgettext("said", "open: %(code)s since %(moment)s"),
    pgettext("said", "write when %(tag)s is cold; it came warm"),
    pgettext("said", "over for at least %(least)s, at most %(most)s"),
    pgettext("said", "over for at least %(least)s; no good reading stands %(side)s it"),
    pgettext("said", "stripped, washed, sanitised, room at %(heat)s"),
    pgettext("said", "from paper: %(paper)s"), pgettext("said", "clean-down due %(when)s"),
    pgettext("said", "Clean-down due %(when)s"),
    pgettext("said", "clean first: %(animal)s was on it"),
    pgettext("said", "%(line)s, declares %(what)s"),
    pgettext("said", "date and time produced: weigh what was made, or say when"),
    pgettext("said", "Told: %(what)s"), pgettext("said", "animals %(tags)s"),
    pgettext("said", "plant %(number)s"), pgettext("said", "maker %(name)s"),
    pgettext("said", "killed %(day)s"), pgettext("said", "produced %(day)s"),
    pgettext("said", "contains %(what)s"), pgettext("said", "animals %(tags)s; %(rest)s"),
    pgettext("said", "before: %(first)s; after: %(then)s"),
)  # fmt: skip
_TELL = (
    pgettext("said", "%(day)s at %(hour)s:%(minute)s"), pgettext("said", "%(due)s so far"),
    pgettext("said", "%(due)s so far."), pgettext("said", "%(due)s with what is to come"),
    pgettext("said", "%(due)s with what is to come."),
    pgettext("said", "%(due)s so far, %(deposit)s paid down, %(rest)s to pay."),
    pgettext("said", "With it, %(money)s"),
    pgettext("said",
        "%(text)s of %(name)s is still to come, at the price of %(since)s, %(price)s "
        "per %(unit)s: %(money)s."
    ),
    pgettext("said", "%(text)s of %(name)s is still to come."),
    pgettext("said", "%(weight)s lb of %(name)s"), pgettext("said", "%(weight)s kg of %(name)s"),
    pgettext("said", "The %(name)s is %(part)s %% short: %(ready)s instead of %(booked)s."),
    pgettext("said", "The %(name)s is short: %(ready)s instead of %(booked)s."),
    pgettext("said", "%(asked)s no, none of %(name)s"),
    pgettext("said", "%(asked)s no, none of %(name)s, but %(cousin)s yes."),
    pgettext("said", "%(asked)s no, %(only)s of %(name)s, but %(cousin)s yes."),
    pgettext("said", "%(asked)s no, none of %(name)s."),
    pgettext("said",
        "%(asked)s no, none of %(name)s, but %(cousin)s yes. No other day of the next "
        "%(days)s has %(weight)s."
    ),
    pgettext("said",
        "%(asked)s no, none of %(name)s. No other day of the next %(days)s has "
        "%(weight)s."
    ),
    pgettext("said", "%(day)s yes; %(rest)s"),
)  # fmt: skip
_CHALK = (
    pgettext("said", "%(name)s down %(by)s: %(other)s up %(up)s, or %(more)s more must sell"),
    pgettext("said", "%(weight)s %(unit)s of %(name)s, %(days)s of trade."),
    pgettext("said", "%(weight)s %(unit)s of %(name)s, %(days)s of trade;"),
    pgettext("said", "Then %(weight)s %(unit)s of %(name)s, %(days)s of trade;"),
    pgettext("said", "Then %(weight)s %(unit)s of %(name)s, %(days)s of trade."),
    pgettext("said",
        "%(weight)s in this period, %(total)s over %(count)s periods: %(value)s in "
        "all, %(gain)s more than letting the rest pass its day unsold."
    ),
    pgettext("said", "at %(price)s a %(unit)s"),
    pgettext("said",
        "%(booked)s are booked and keep those prices; the board is worked out as for "
        "the next animal like it."
    ),
    pgettext("said", "spread of a day's sale: %(share)s of its mean"),
    pgettext("said", "%(figure)s days"), pgettext("said", "%(from)s (from memory, not checked)"),
    pgettext("said", "%(source)s; from memory, not checked"),
)  # fmt: skip
_FIRE = (
    pgettext("said", "as patties %(thick)s thick"),
    pgettext("said", "as patties %(thick)s thick, %(how)s"),
    pgettext("said", "on skewers, %(thick)s cubes"), pgettext("said", "sliced thin, %(thick)s"),
    pgettext("said", "own plate, own tool: %(good)s. Not: %(bad)s"),
    pgettext("said", "%(clock)s over the coals"), pgettext("said", "lid on until %(heat)s"),
    pgettext("said", "lid on until %(heat)s in the middle"),
    pgettext("said", "%(name)s: lid on until %(heat)s in the middle"),
    pgettext("said", "%(heat)s in the middle; rest %(rest)s min"),
    pgettext("said", "%(heat)s in the middle; rest %(rest)s min; waits %(wait)s min %(where)s"),
    pgettext("said", "%(heat)s in the middle;"), pgettext("said", "rest %(rest)s min;"),
    pgettext("said", "waits %(wait)s min %(where)s"),
    pgettext("said", "%(name)s: light the coals; ready when covered with ash."),
    pgettext("said", "%(what)s in %(round)s of 100 fires."),
    pgettext("said", "all ready at %(hour)s in %(round)s of 100 fires."),
    pgettext("said", "%(name)s: measured"), pgettext("said", "1 h in air over %(heat)s"),
    pgettext("said", "%(heat)s and %(rest)s min rest"),
    pgettext("said", "%(heat)s, then %(rest)s min rest"),
    pgettext("said", "Birds, %(more)s: done all through, at their number, whatever the colour."),
    pgettext("said", "whole cuts %(heat)s and %(rest)s min rest"),
    pgettext("said", "mince and links %(heat)s"), pgettext("said", "birds %(heat)s"),
    pgettext("said", "birds %(heat)s."),
    pgettext("said", "%(most)s h (%(hours)s h in air over %(heat)s)"),
    pgettext("said", "%(low)s to %(high)s g"),
)  # fmt: skip
_SELL = (
    pgettext("said", "%(lost)s, %(money)s of what was paid"),
    pgettext("said", "%(lost)s %%, %(money)s of what was paid"),
    pgettext("said",
        "Left: %(left)s that cost %(cost)s, %(board)s at the board; if it sells so, "
        "%(tag)s ends %(amount)s, less the cutting still to do."
    ),
    pgettext("said", "ahead by %(money)s"), pgettext("said", "behind by %(money)s"),
    pgettext("said", "Not on the board, so valued at the mean of the other cuts: %(names)s."),
    pgettext("said", "%(over)s over (%(share)s %%)"),
)  # fmt: skip

#: All of them.
SHOWN_MADE = frozenset(
    (
        *_SPREAD,
        *_FARM,
        *_FREEZER,
        *_DAY,
        *_TELL,
        *_CHALK,
        *_FIRE,
        *_SELL,
    )
)
