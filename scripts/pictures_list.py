"""Which pictures there are: every screen of the shop, phones and walls, every paper."""

from __future__ import annotations

from dataclasses import dataclass

ASK = "/ask?heads=34&big=16&money=310&contains=sesame&no_n=7&no_what=pork&day=2026-06-12&time=18:30"


@dataclass(frozen=True, slots=True)
class Screen:
    """One picture of a page: its name, address and title, and how it is looked at.

    `buttons` are touched one after the other before it is taken. `device` is ``tablet``, ``phone``
    or ``wall``; `cookies` are what the device remembers.
    """

    name: str
    address: str
    title: str
    buttons: tuple[str, ...] = ()
    device: str = "tablet"
    cookies: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Paper:
    """One picture of a paper: its name, where it comes from, its title, and which page of it.

    `kind` is ``pdf``, ``png`` or ``page``: a page as the browser prints it.
    """

    name: str
    address: str
    title: str
    page: int = 0
    kind: str = "pdf"


COUNTER = (
    Screen("ask-empty", "/ask", "Ask, before anything is said"),
    Screen("ask", ASK, "Ask, with a spread"),
    Screen("ask-no", "/ask?heads=26&money=55&day=2026-06-12&time=18:30",
           "Ask: no, and the nearest yes"),
    Screen("ask-customer", "/ask/customer?heads=34&money=310&day=2026-06-12&time=18:30",
           "The customer's side"),
    Screen("book", ASK, "Book a spread", ("Book spread",)),
    Screen("sell", "/sell?line=cut%3DC11%26net%3D48987975960lb%26asked%3D45359237000lb&by=dot",
           "Sell"),
    Screen("sell-slip", "/sell/H8", "The slip of a booking"),
    Screen("takings", "/takings", "Takings"),
    Screen("case", "/case", "Case"),
    Screen("case-new", "/case/new", "A new line of the case"),
    Screen("cook", "/case/C17/cook", "How a line cooks"),
    Screen("hook", "/hook", "Hook: the fortnight"),
    Screen("slip", "/hook/H8", "A booking's slip"),
    Screen("add-to", "/hook/H8/add?cut=C11&amount=2", "Add to a booking"),
    Screen("pick-up", "/hook/H8/pick-up", "Pick-up: weigh ahead"),
    Screen("hand-over", "/hook/H8/hand-over", "Hand over"),
    Screen("ate", "/hook/H11/ate", "How it ate"),
    Screen("re-home", "/hook/H1/re-home", "Re-homing what an order left"),
    Screen("to-tell", "/hook/to-tell", "Whom to tell"),
    Screen("free-by", "/free-by?day=2026-06-11&cut=C10&amount=5", "Free by a date"),
    Screen("free-by-book", "/free-by/book?day=2026-06-13&cut=C01&amount=10", "Book for a date"),
    Screen("standing", "/standing?until=2026-06-24", "Standing orders"),
    Screen("standing-one", "/standing/S1", "A standing order"),
    Screen("standing-change", "/standing/S1/change", "Change a standing order"),
    Screen("standing-new", "/standing/new", "A new standing order"),
    Screen("freezer", "/freezer", "Freezer orders"),
    Screen("freezer-new", "/freezer/new?tag0=L-209&price0=7.40&bones0=take&tag1=B-41F.06",
           "A half to a family's choices"),
    Screen("freezer-order", "/freezer/H3", "A freezer order"),
    Screen("freezer-bench", "/freezer/H3/bench", "Its card for the bench"),
    Screen("freezer-pack", "/freezer/H3/pack", "Its packs"),
    Screen("fire-sheet", "/hook/H2/fire", "The fire of a booking"),
    Screen("fire", "{fire}", "The Fire Sheet, as the customer has it"),
    Screen("fire-sums", "/fire-sums", "Sums of the fire"),
    Screen("fire-heat",
           "/fire-sums/heat?thick=30&scale=F&start=41&medium=350&until=145&rest=10&at=5+10",
           "How a piece heats"),
    Screen("fire-lethality",
           "/fire-sums/lethality?scale=F&history=0+40%0A30+150%0A40+150", "What time and heat do"),
)  # fmt: skip
BENCH = (
    Screen("rail", "/rail", "Rail"),
    Screen("rail-receive", "/rail/receive", "Receive an animal"),
    Screen("delivery", "/rail/receive/1", "A delivery that was taken in"),
    Screen("knife-choose", "/knife", "Knife: what goes on the block"),
    Screen("knife-start", "/knife?tag=L-208&style=lamb-boned", "Knife: a lamb goes on the block"),
    Screen("knife", "/knife/2", "Knife: the parts of a lamb"),
    Screen("knife-closed", "/knife/1", "Knife: a piece that is closed"),
    Screen("put-away", "/put-away", "Put away"),
    Screen("styles", "/styles", "Cutting styles"),
    Screen("flow", "/flow?lot=B-41F", "Where every pound went"),
    Screen("bench", "/bench", "Bench"),
    Screen("bench-weigh", "/bench?line=H8-1", "Bench: done and weighed"),
    Screen("bench-clean", "/bench?do=clean", "Bench: cleaned down"),
    Screen("bench-plan", "/bench/plan", "The cutting plan"),
    Screen("bench-plan-try", "/bench/plan?keep=L-208&try=B-41H", "The plan, done otherwise"),
    Screen("works", "/works?what=H8-1", "Weigh a work before and after"),
    Screen("replay", "/replay", "A past day with another plan"),
    Screen("yields", "/yields", "Yields"),
    Screen("yields-test", "/yields/test", "Cutting test"),
    Screen("yields-combine", "/yields/combine", "Published and own yields"),
    Screen("yields-balance", "/yields/balance", "Weights that must close"),
    Screen("yields-tables", "/yields/tables", "Tables of yields"),
    Screen("yields-cuts", "/yields/cuts", "Cuts by any name"),
    Screen("yields-grade", "/yields/grade", "Yield grade"),
    Screen("yields-home", "/yields/take-home", "Live to take-home"),
)
PRICES = (
    Screen("chalk-choose", "/chalk", "Chalk: where to start"),
    Screen("chalk", "/chalk/B-41F", "Chalk: the board of one animal"),
    Screen("chalk-line", "/chalk/line/C01", "One line of the board"),
    Screen("chalk-costs", "/chalk/costs", "Costs on hand"),
    Screen("chalk-choices", "/chalk/choices", "Pricing choices"),
    Screen("board", "/board", "The board for customers"),
    Screen("sums", "/chalk/sums", "Pricing sheets"),
    Screen("sums-equation", "/chalk/sums/equation?tag=B-41F", "A board that pays"),
    Screen("sums-share-cost", "/chalk/sums/share-cost?tag=P-118", "A cost shared four ways"),
    Screen("sums-whole", "/chalk/sums/whole?tag=P-118", "Whole, or cut"),
    Screen("sums-mark-down", "/chalk/sums/mark-down?line=C31", "Mark down"),
    Screen("sums-put-out", "/chalk/sums/put-out?line=C11", "How much to put out"),
    Screen("sums-clearing", "/chalk/sums/clearing?from=shop", "Prices that sell everything"),
    Screen("sums-demand", "/chalk/sums/demand?line=C11", "How sales answer a price"),
    Screen("sums-blend", "/chalk/sums/blend", "Trim into mince and links"),
    Screen("case-moves", "/case?moves=1", "The moves of the day"),
    Screen("farm-call", "/farm", "Farm Call"),
    Screen("buying", "/buying", "What suppliers ask"),
    Screen("buying-new", "/buying/new", "A supplier's quote"),
    Screen("long-list", "/long-list", "Long List"),
    Screen("reckoning", "/reckoning", "Reckoning"),
    Screen("reckoning-animal", "/reckoning/B-41?explain=yes", "Did that animal pay?"),
    Screen("reckoning-slips", "/reckoning/slips?week=2026-06-09", "Money of slips, by animal"),
    Screen("reckoning-drift", "/reckoning/drift", "Do the yields drift?"),
    Screen("learning", "/learning", "What the shop learned"),
)
RECORDS = (
    Screen("tickets", "/tickets", "Tickets: which line"),
    Screen("ticket-new", "/tickets?case=C11&gross=2.04", "A ticket"),
    Screen("ticket-kept", "/tickets/T3", "A ticket that was printed"),
    Screen("tickets-booking", "/tickets/booking/H2", "Tickets of a booking"),
    Screen("ticket-facts", "/tickets/line/C25", "What stands on a line's label"),
    Screen("tares", "/tickets/tares", "Tares"),
    Screen("codes", "/codes?code=%2801%2990614141000015%283202%29000244%283922%291584",
           "What a code says"),
    Screen("net-weight", "/net-weight", "Net weight of a lot"),
    Screen("daybook", "/daybook", "Day Book"),
    Screen("cold", "/daybook/cold", "Cold check"),
    Screen("clean-down", "/daybook/clean", "Clean-down"),
    Screen("receive", "/daybook/receive", "Receive a box"),
    Screen("scale-check", "/daybook/scale", "Scale check"),
    Screen("probe-check", "/daybook/probe", "Thermometer check"),
    Screen("cold-places", "/daybook/places", "Cold places and limits"),
    Screen("note", "/daybook/note?line=D40", "A word in the book"),
    Screen("correct", "/daybook/line/D40/correct", "A correction: a further line"),
    Screen("cooled", "/daybook/cooled", "Was it cooled in time"),
    Screen("mince", "/daybook/mince", "Mince lots"),
    Screen("mince-begin", "/daybook/mince/begin", "Begin a mince lot"),
    Screen("mince-lot", "/daybook/mince/26159-G1-01", "A mince lot"),
    Screen("mince-own", "/daybook/mince/26159-G1-01/own", "What went into it"),
    Screen("batch", "/daybook/batch", "Batches"),
    Screen("batch-begin", "/daybook/batch/begin", "Begin a batch"),
    Screen("batch-one", "/daybook/batch/26159-B-01", "A batch"),
    Screen("batch-own", "/daybook/batch/26159-B-01/own", "What went into a batch"),
    Screen("trace", "/trace?lot=T3", "Trace"),
    Screen("recall", "/recall?lot=B-41F.03", "Recall"),
    Screen("rules", "/rules", "Rules"),
    Screen("rule", "/rules/SF006", "A rule, its source, and what the shop chose"),
    Screen("rules-sums", "/rules/sums", "Sums of the rules"),
    Screen("lock-up", "/lockup", "Lock-up"),
    Screen("lock-up-line", "/lockup/line/C02?do=freeze&weight=3", "A line at lock-up"),
    Screen("papers", "/papers", "Papers"),
    Screen("papers-back", "/papers/back", "Key back from paper"),
    Screen("papers-back-sales", "/papers/back/sales", "Key back a sheet of sales"),
    Screen("exchange", "/exchange", "Lists out and in"),
    Screen("waiting", "/waiting", "What waits on this device"),
    Screen("keeping", "/keeping", "Copies of the shop"),
    Screen("people", "/people", "People"),
    Screen("log", "/log?check=1", "Log"),
    Screen("device", "/device", "This device"),
    Screen("parts", "/parts", "Parts of the pages"),
    Screen("cards", "/cards", "Learn the case"),
    Screen("tour", "/tour", "A first day"),
)  # fmt: skip
PLACES = (
    Screen("phone-ask", ASK, "Ask", device="phone"),
    Screen("phone-hook", "/hook", "Hook", device="phone"),
    Screen("phone-slip", "/hook/H8", "A slip", device="phone"),
    Screen("phone-fire", "{fire}", "The customer's Fire Sheet", device="phone"),
    Screen("phone-case", "/case", "Case", device="phone"),
    Screen("phone-rail", "/rail", "Rail", device="phone"),
    Screen("phone-daybook", "/daybook", "Day Book", device="phone"),
    Screen("phone-trace", "/trace?lot=T3", "Trace", device="phone"),
    Screen("wall-bench", "/bench", "Bench on the wall", device="wall"),
    Screen("wall-knife", "/knife/2", "Knife on the wall", device="wall"),
    Screen("wall-rail", "/rail", "Rail on the wall", device="wall"),
    Screen("dark-bench", "/bench", "Bench in a room with little light", device="wall",
           cookies=(("collop_ground", "dark"),)),
    Screen("es-ask", ASK, "Ask in Spanish", cookies=(("collop_language", "es"),)),
)  # fmt: skip
PAPERS = (
    Paper("paper-bench", "/papers/set.pdf", "Bench list", 0),
    Paper("paper-board", "/papers/set.pdf?sheet=board", "Board"),
    Paper("paper-hours", "/papers/set.pdf?sheet=bookings", "Bookings by hour"),
    Paper("paper-cold", "/papers/set.pdf?sheet=cold", "Cold checks"),
    Paper("paper-orders", "/papers/set.pdf?sheet=orders", "Order pad"),
    Paper("paper-sales", "/papers/set.pdf?sheet=sales", "Sales"),
    Paper("paper-fire", "{fire}/sheet.pdf", "Fire Sheet"),
    Paper("paper-ticket", "/tickets/T3.png", "A ticket", kind="png"),
    Paper("paper-tickets", "/tickets/booking/H2.pdf", "Tickets of a booking"),
    Paper("paper-cards", "/tickets/card", "Cards for when the printer is out"),
    Paper("paper-wall", "/bench/paper", "The wall list, with boxes", kind="page"),
    Paper("paper-daybook", "/daybook/print", "Day Book, for the inspector", kind="page"),
    Paper("paper-checks", "/daybook/paper", "Day Book, a sheet for paper", kind="page"),
    Paper("paper-slip", "/sell/H8", "A slip", kind="page"),
    Paper("paper-prices", "/board?print=1", "The board, printed", kind="page"),
    Paper("paper-freezer", "/freezer/H3/bench", "Card of a freezer order", kind="page"),
)
GROUPS = (
    ("Counter", COUNTER),
    ("Bench and rail", BENCH),
    ("Prices and buying", PRICES),
    ("Records, closing and the machine", RECORDS),
    ("Phone, wall, dark, Spanish", PLACES),
)
#: Pages that no picture can show from the demo shop, and why.
LEFT_OUT = {
    "/sign-in": "only once somebody has a password",
    "/first-run": "only of a shop that is not the demo",
    "/people/me": "only once somebody is signed in",
    "/ask/book/{quote_id}": "shown after a touch, as `book`",
    "/bench/state": "a part of a page, fetched by itself",
}
