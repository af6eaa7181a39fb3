"""Single words of the cutting room, the books and the sums, marked for the catalogue.

They stand in tables of other rooms as what they are; a template shows them by the filter ``said``.
Words of the counter are in `collop.web.shown_words`.
"""

from __future__ import annotations

from collop.words import N_

__all__ = ["SHOWN_BEHIND"]

_RAIL = (N_("hangs"), N_("hangs in part"), N_("broken"), N_("whole"), N_("side"),
         N_("forequarter"), N_("hindquarter"), N_("all gone"), N_(", late"), N_("days"),
         N_("from the freezer"), N_("to share"), N_("to stew"), N_("on skewers"))  # fmt: skip
_PLACES = (N_("waits on the block"), N_("back on the rail"), N_("trim bin"), N_("fat bin"),
           N_("bone bin"), N_("to the bin"), N_("fat tub"), N_("on the rail"), N_("on the block"),
           N_("in the case"), N_("in the case, free"), N_("in the case, booked"),
           N_("in the trim bins"), N_("lost to air and drip"), N_("lost to air"),
           N_("loss and drip"), N_("from other lots"), N_("case, free"), N_("case, booked"),
           N_("trim bins"), N_("bone barrel"), N_("rail"), N_("block"), N_("case"), N_("bin"),
           N_("washed out of the machine, or drip"))  # fmt: skip
_PARTS = (N_("trim"), N_("fat"), N_("bone"), N_("scrap"), N_("loss"), N_("drip"),
          N_("fat and bone"))  # fmt: skip
_BENCH = (N_("made"), N_("minutes"), N_("money"), N_("over the counter"), N_("bookings"),
          N_("bone, fat and such"), N_("trim sold as it is"), N_("past its days"),
          N_("worth of what is left"), N_("worth of what hangs"), N_("labour"), N_("overtime"),
          N_("casing and what is added"), N_("making"), N_("Ground"), N_("Spoilt"), N_("sold"),
          N_("sale"), N_("booking"), N_("mark-down"), N_("sold as trim"), N_("spoilt"),
          N_("by weight"), N_("no clean-down on record"), N_("No plan"),
          N_("the shop has moved since"))  # fmt: skip
_BOOK = (N_("cold check"), N_("clean-down"), N_("receive"), N_("batch"), N_("scale check"),
         N_("note"), N_("Mince lot"), N_("nothing came yet"), N_("name your fridges first"),
         N_("all read so far"), N_("all read today"), N_("no round today"),
         N_("none on record yet"), N_("not read"), N_("gaps"), N_("due"), N_("done"), N_("ahead"),
         N_("overdue"), N_("kept chilled"), N_("kept frozen"), N_("dry, needs no cold"),
         N_("inspection mark"), N_("invoice"), N_("not shown to be cold by its hour"), N_("rule"),
         N_("The book"), N_("the book begins"))  # fmt: skip
_LOCKUP = (N_("Carry"), N_("Convert"), N_("Freeze"), N_("Bin"), N_("carried"), N_("converted"),
           N_("binned"), N_("counted"), N_("skipped"), N_("carry"), N_("convert"), N_("freeze"),
           N_("kept"), N_("carried over"), N_("freezer"))  # fmt: skip
_MAKING = (N_("names of ingredients and meat"), N_("meat, with its lots"),
           N_("makers of ingredients"), N_("lot numbers of ingredients"),
           N_("allergens of ingredients"), N_("date and time produced"))  # fmt: skip
_SUMS = (N_("from memory"), N_("read in source"), N_("worked out"), N_("from memory, not checked"),
         N_("the shop's own sales"), N_("between own sales and published figures"),
         N_("published figures alone"), N_("from this line's own sales"),
         N_("between this line's own sales and published figures"),
         N_("from published figures; this line has too few sales of its own"), N_("at its floor"),
         N_("at its cap"), N_("stays"), N_("what clears it"), N_("sales value"), N_("net value"),
         N_("one margin"), N_("weight"), N_("off the cost"), N_("other income"), N_("most money"),
         N_("clear the stock"), N_("sells at"), N_("takes at most"), N_("chance that it sells"),
         N_("mean and spread"), N_("low to high"), N_("whole pieces"), N_("past days"),
         N_("packaging"), N_("Packaging"), N_("price"), N_("share"), N_("gives"), N_("keeps"),
         N_("Live"), N_("Hanging"), N_("In a box"), N_("lines"), N_("parts"), N_("products"),
         N_("live"), N_("hanging"), N_("take-home"), N_("bone-in"), N_("boneless"),
         N_("live shrink"), N_("dressing share"), N_("loss of the first day"),
         N_("loss of hanging"), N_("take-home share"), N_("live after the road"),
         N_("hung"))  # fmt: skip
_GRADE = (N_("start and 0.25 per 0.1 in of back fat"), N_("2.50 x adjusted fat"),
          N_("0.20 x kidney, pelvic and heart fat"), N_("0.0038 x hot carcass"),
          N_("-0.32 x ribeye area"), N_("0.3 per sq in of ribeye short of the required"),
          N_("0.1 per half point of inner fat from 3.5 %"))  # fmt: skip
_LEARNING = (N_("much was left, a third or so"), N_("some was left, a tenth or so"),
             N_("nothing was left, and it was enough"), N_("it was short by a tenth or so"),
             N_("it ran out, by how much nobody knows"))  # fmt: skip
_RECKONING = (N_("Invoice, for what was kept"), N_("Haulage, for what was kept"),
              N_("Labour at the block"), N_("Left, at the board"), N_("Result if it sells so"),
              N_("Left, sound"), N_("farm"))  # fmt: skip
_WAITING = (N_("the goods are over the glass and the money is in the drawer"),
            N_("the money has changed hands"), N_("the customer has gone with it"),
            N_("the work is done"), N_("the work is done and weighed"),
            N_("a reading is of its moment"), N_("a reading is of its moment, and the box is in"),
            N_("the part is off the scale"), N_("it lies where it was put"),
            N_("a count is of its moment"),
            N_("it is a wish until the server is back, and is told as one"),
            N_("a spread is worked out from what is free now"),
            N_("a cutting plan is worked out from what hangs now"),
            N_("orders to farms are worked out from what hangs now"),
            N_("what may be promised is worked out from what is free now"),
            N_("prices are changed for every counter at once"),
            N_("prices and lines are changed for every counter at once"),
            N_("who may come in is decided by the server alone"), N_("Sign-in"),
            N_("lists are looked through before anything of them is taken in"),
            N_("paper is written in whole, or not at all"),
            N_("settings are changed for every counter at once"), N_("it needs the server"),
            N_("a copy is made by the server"),
            N_("numbers of tickets are given by the server, each once"),
            N_("what comes back is looked up on its slip first"),
            N_("a day is closed with all that was written in it"),
            N_("it needs what is free, or what stands, at this moment"))  # fmt: skip
_CODES = (N_("the same, price of 5 digits"), N_("UPC-A, 12 digits"), N_("EAN-13, 13 digits"),
          N_("packed and sold here (A)"), N_("at the pack line of an inspected plant (B)"),
          N_("all but fluids"), N_("fluid when filled, such as lard"))  # fmt: skip
_RULES = (N_("all rules"), N_("what the shop may set"), N_("what the shop set"),
          N_("Your place comes first"), N_("Receiving"), N_("Cold, frozen and hot"), N_("Cooling"),
          N_("Dates on ready-to-eat food"), N_("Vacuum packs and curing"),
          N_("Keeping and shelves"), N_("Dry ageing"), N_("The scale"), N_("Weight and price"),
          N_("Checking packs"), N_("The label"), N_("Safe handling words"),
          N_("Nutrition and lean"), N_("What may be in it"), N_("Origin"), N_("Grind record"),
          N_("Records"), N_("What a shop may sell"), N_("Trace and recall"), N_("Hazard plan"),
          N_("Cash"), N_("Prices on the board"), N_("Our own figures"),
          N_("steaks, chops and roasts"), N_("liver, heart, tongue and kidney"),
          N_("clean-down of the grinder"), N_("meat bought and sold"),
          N_("check of the Day Book"))  # fmt: skip
_CHOICES = (N_("on a step"), N_("on one of the endings"), N_("once a class of the slip"),
            N_("on each line"), N_("to the cent"), N_("to the nearest 5 cents"),
            N_("down to 5 cents"), N_("Target margin, per cent of sales"),
            N_("Jump limit, per cent"), N_("Cap over the usual price, per cent"),
            N_("Moves shown from"), N_("Quote held, minutes"),
            N_("Over or under what was asked, per cent"), N_("Tax is rounded"), N_("Cash is paid"),
            N_("Deposit given back whole up to, hours before collection"),
            N_("Deposit kept after that, per cent"), N_("Deposit rule, in your own words"),
            N_("made from its figures"), N_("no limit"), N_("none"))  # fmt: skip
_LOG = (N_("act"), N_("signed in"), N_("signed out"), N_("refused"), N_("password set"),
        N_("device known"), N_("device forgotten"), N_("given up"))  # fmt: skip
_PAPER = (N_("US letter"), N_("Bench list"), N_("Bookings by hour"), N_("Order pad"))  # fmt: skip

#: All of them.
SHOWN_BEHIND = frozenset((
    *_RAIL, *_PLACES, *_PARTS, *_BENCH, *_BOOK, *_LOCKUP, *_MAKING, *_SUMS, *_GRADE, *_LEARNING,
    *_RECKONING, *_WAITING, *_CODES, *_RULES, *_CHOICES, *_LOG, *_PAPER,
))  # fmt: skip
