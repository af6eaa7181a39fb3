"""Single words that other rooms give and pages show, marked for the catalogue.

States, posts, ways, kinds of meat and of fire stand in the code as what they are; a template shows
them by the filter ``said``, which finds their translation by this list.
"""

from __future__ import annotations

from collop.words import N_

__all__ = ["SHOWN_WORDS"]

_PEOPLE = (N_("owner"), N_("cutter"), N_("counter hand"), N_("apprentice"), N_("the owner"),
           N_("the cutter"), N_("the counter hand"), N_("the apprentice"))  # fmt: skip
_STATES = (N_("asked"), N_("booked"), N_("cut"), N_("packed"), N_("gone"), N_("off"), N_("on"),
           N_("paused"), N_("ended"), N_("late"), N_("short"), N_("use-by"))  # fmt: skip
_MEAT = (N_("beef"), N_("pork"), N_("lamb"), N_("goat"), N_("chicken"), N_("duck"), N_("poultry"),
         N_("meat"), N_("fish"), N_("other"))  # fmt: skip
_ALLERGENS = (N_("sesame"), N_("wheat"), N_("milk"), N_("egg"), N_("soy"), N_("peanut"),
              N_("tree nut"), N_("shellfish"), N_("mustard"), N_("celery"))  # fmt: skip
_STYLES = (N_("mixed"), N_("plate"), N_("shared"), N_("hand"), N_("wrap"), N_("stew"),
           N_("on a plate"), N_("sliced to share"), N_("in the hand"), N_("in a wrap"))  # fmt: skip
_SLOTS = (N_("centre"), N_("goes far"), N_("bird"), N_("meat-free"))
_LIMITS = (N_("the money"), N_("the free stock"), N_("the fire"), N_("the time until the meal"),
           N_("the style"), N_("what is wanted in it"), N_("the variety"), N_("the cuts asked for"),
           N_("the pinned lines"), N_("how much the table eats"),
           N_("the number of cuts"))  # fmt: skip
_MONEY = (N_("cash"), N_("card"), N_("put on account"), N_("Sum"))
_FORMS = (N_("fresh"), N_("frozen"), N_("chilled"), N_("none: minutes of the case"),
          N_("steak, chop"), N_("thin: hanger, skirt"), N_("patty"), N_("links"), N_("skewer"),
          N_("small joint, thigh"), N_("roast, large joint"), N_("bird, opened flat"),
          N_("bird, whole"))  # fmt: skip
_COOKED = (N_("as the case says"), N_("over the coals"), N_("beside the coals, lid on"),
           N_("beside, then over the coals"), N_("plate or pan"), N_("oven, then over the coals"),
           N_("pot"), N_("whole cut"), N_("mince, links, patties, needled"),
           N_("food without meat"), N_("direct grill"), N_("covered grill"),
           N_("covered grill or oven"), N_("low oven or smoke"), N_("braise"), N_("ready to eat"),
           N_("tenderised: needle or mallet"), N_("injected"), N_("rolled"),
           N_("ground"))  # fmt: skip
_SHARES = (N_("half"), N_("quarter"), N_("all of it"))
_LINES = (N_("all lines"), N_("with free weight"), N_("two days or less"), N_("Mark down"))
_CODES = (N_("till code with the price (UPC-A)"), N_("till code with the price (EAN-13)"),
          N_("weight, price, day and lot (DataBar)"), N_("weight, price, day and lot (GS1-128)"),
          N_("ticket and lot (DataMatrix)"), N_("ticket and lot (QR)"),
          N_("the same as DataMatrix"), N_("the same as QR"))  # fmt: skip
_TOOLS = (N_("raw tool"), N_("cooked tool"), N_("meat-free tool"))
_PAPER = (N_("YOUR FIRE"), N_("Carve."), N_("Take care."), N_("Afterwards."), N_("Waiting:"),
          N_("How sure:"), N_("What would work:"), N_("off, cooked tool"), N_("on, raw tool"),
          N_("middle at least"), N_("coals"), N_("cool side"), N_("rest"), N_("eat"),
          N_("hatched: done in it, 8 fires of 10"), N_("cool side, lid on"), N_("on the plate"),
          N_("in the oven"), N_("in the pot"), N_("own tray"), N_("see the page"), N_("bars"),
          N_("ask at the counter"), N_("what was taken as given"), N_("more taken as given"),
          N_("more carving"), N_("what comes before"), N_("carving"), N_("rests"), N_("fridge"),
          N_("salt"), N_("leftovers"), N_("steps"), N_("turning"), N_("Meat-free"),
          N_("no rule"), N_("light the coals; ready when covered with ash"), N_("light it"),
          N_("heat it"), N_("straight to the fridge"), N_("light it, lid down"), N_("lid on"),
          N_("opened flat"), N_("in a stew"), N_("a full plate"), N_("dishes sliced to share"),
          N_("food in the hand"), N_("a stew"), N_("thick line: full"), N_("into the oven"),
          N_("into the pot"), N_("no minimum"), N_("meat-free, own tool"), N_("own tool"),
          N_("as told"), N_("with its lid on"), N_("open, without a lid"),
          N_("on its own tray"), N_("own plate"))  # fmt: skip
_FIRES = (N_("half drum"), N_("big drum"), N_("balcony kettle"), N_("boathouse pit"), N_("oven"),
          N_("another size"), N_("no packing"), N_("Coals last"), N_("Weather"),
          N_("People at the fire"), N_("Ride home"), N_("Pots"), N_("usual"),
          N_("none, or tared on the scale"))  # fmt: skip
_FREEZER = (N_("steaks or chops"), N_("roasts"), N_("stew, diced"), N_("mince"),
            N_("in the case"))  # fmt: skip
_LABELS = (N_("raw whole"), N_("raw ground"), N_("raw sausage"), N_("raw marinated"))
_WEEK = (N_("Monday"), N_("Tuesday"), N_("Wednesday"), N_("Thursday"), N_("Friday"),
         N_("Saturday"), N_("Sunday"))  # fmt: skip

#: All of them.
SHOWN_WORDS = frozenset((
    *_PEOPLE, *_STATES, *_MEAT, *_ALLERGENS, *_STYLES, *_SLOTS, *_LIMITS, *_MONEY, *_FORMS,
    *_COOKED, *_SHARES, *_LINES, *_CODES, *_TOOLS, *_PAPER, *_FIRES, *_FREEZER, *_LABELS, *_WEEK,
))  # fmt: skip
