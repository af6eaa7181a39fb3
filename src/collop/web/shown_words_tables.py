"""Words of tables and parts of sentences without a value, marked for the catalogue.

They stand in the code of other rooms as pieces, or in tables; `collop.words.said` finds them here.
"""

from __future__ import annotations

from collop.words import N_

__all__ = ["SHOWN_TABLES"]

_SPREAD = (
    N_("Showpiece"), N_("plates"), N_("wraps"), N_("less"), N_("total"),
)  # fmt: skip
_NUMBERS = (
    N_("one"), N_("two"), N_("three"), N_("four"), N_("five"), N_("six"), N_("seven"), N_("eight"),
    N_("nine"), N_("ten"), N_("eleven"), N_("twelve"),
)  # fmt: skip
_NUMBERS_FIRST = (
    N_("Two"), N_("Three"), N_("Four"), N_("Five"), N_("Six"), N_("Seven"), N_("Eight"), N_("Nine"),
    N_("Ten"), N_("Eleven"), N_("Twelve"),
)  # fmt: skip
_ANIMALS = (
    N_("one beef side"), N_("One beef side"), N_("one pork side"), N_("One pork side"),
    N_("one lamb"), N_("One lamb"), N_("one goat"), N_("One goat"), N_("one pig"), N_("One pig"),
    N_("one beef animal"), N_("One beef animal"), N_("no animals"), N_("Beef side"),
    N_("Beef animal"), N_("Pork side"), N_("Pig"), N_("Goat"), N_("Lamb"),
    N_("forequarter, one side"), N_("hindquarter, same side"), N_("half, left"), N_("half, right"),
    N_("whole side (quartered on rail)"), N_("beef side"), N_("pork side"), N_("lamb carcass"),
    N_("goat carcass"), N_("beef forequarter"), N_("beef hindquarter"), N_("whole chicken"),
    N_("whole duck"), N_("beef, whole animal"), N_("whole animal"), N_("fewer"),
)  # fmt: skip
_RECORD = (
    N_("supplying establishment number(s)"), N_("supplier lot numbers"),
    N_("supplier production dates"), N_("names of supplied materials incl. beef components"),
    N_("carry-over from one lot to the next, named"), N_("date and time the lot was produced"),
    N_("date and time grinder and contact surfaces cleaned and sanitised"), N_("carry over none"),
    N_("allergens not told"), N_("contains none of the allergens"),
)  # fmt: skip
_FARM = (
    N_("what is sound now less the usual sale up to then"),
    N_(
        "An animal weighs what such animals weighed at the door in the mean, and costs "
        "what the last one did."
    ),
)  # fmt: skip
_DAY = (
    N_("stripped, washed, sanitised"), N_("from clean-down to clean-down; none begun yet"),
    N_("grinder"), N_("Grinder"), N_("saw"), N_("slicer"), N_("stuffer"), N_("cutting room"),
    N_("Cutting room"), N_("What the scale says, tared"), N_("the trim bin of its species"),
    N_("counts"), N_("count"),
)  # fmt: skip
_TELL = (
    N_("today"), N_(" so far"), N_(" with what is to come"), N_("meat cut to order"),
)  # fmt: skip
_REASONS = (
    N_("cut gave less"), N_("cut light, rest in the case"), N_("taken by mistake"), N_("half up"),
    N_("half even"), N_("half of it"),
)  # fmt: skip
_ALLERGENS_MORE = (
    N_("barley"), N_("crustaceans"), N_("gluten"), N_("lupin"), N_("molluscs"), N_("nuts"),
    N_("oats"), N_("rye"), N_("seafood"), N_("soy sauce"), N_("sulphites"), N_("tree nuts"),
)  # fmt: skip
_FIRE = (
    N_("as the shop cuts it"), N_("as it usually is"), N_("measured"), N_("told"), N_("Measured"),
    N_("Half drum"), N_("coals"), N_("whole cuts"), N_("mince and links"), N_("birds"), N_("flat"),
    N_("long and round"), N_("ball"), N_("covered grill or still oven"), N_("oven with a fan"),
    N_("water bath"), N_("on a clean board under loose foil"), N_("Birds"), N_("turkey"),
    N_("tenderised"),
)  # fmt: skip
_RECALL = (
    N_("reasonable probability of serious harm or death"), N_("remote probability of harm"),
    N_("will not cause harm"), N_("Class I"), N_("Class II"), N_("Class III"),
)  # fmt: skip
_LISTS = (
    N_("lines of the case with their prices"), N_("prices of the board"),
    N_("bookings on the hook, a row for each line"), N_("standing orders, a row for each line"),
    N_("what each line sold by day, the last 26 weeks"), N_("slow sellers"), N_("who works here"),
)  # fmt: skip
_SUMS = (
    N_("bacon"), N_("cooked meat"), N_("cooked"), N_("chlorine"), N_("iodine"),
    N_("quaternary ammonium"), N_("hot water"), N_("hot water machine"), N_("veal"), N_("always"),
    N_("as much as there is"), N_("spice"), N_("binder"), N_("water"), N_("in a box"), N_("Chuck"),
    N_("Duck"), N_("Chicken"), N_("Pork"), N_("Beef"), N_("review"), N_("mechanically tenderized"),
)  # fmt: skip
_CHALK = (
    N_("from published figures alone."), N_("lowest price: half of the present one"),
    N_("grinding: its yield and its minutes of labour"),
    N_("freezing: its price, yield, cost and the chance that it sells"),
)  # fmt: skip

#: All of them.
SHOWN_TABLES = frozenset(
    (
        *_SPREAD,
        *_NUMBERS,
        *_NUMBERS_FIRST,
        *_ANIMALS,
        *_RECORD,
        *_FARM,
        *_DAY,
        *_TELL,
        *_REASONS,
        *_ALLERGENS_MORE,
        *_FIRE,
        *_RECALL,
        *_LISTS,
        *_SUMS,
        *_CHALK,
    )
)
