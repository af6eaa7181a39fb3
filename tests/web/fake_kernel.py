"""A kernel that answers at once, with plans of the right form, for tests of the pages alone.

It divides the meals evenly over the dearest edible offers and works out money exactly; it proves
nothing.  A budget under 20.00 gets the answer no.
"""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal

from collop.errors import BadValue, Contradiction

CENT = Decimal("0.01")
AIMS = {
    "best-value": "Best value",
    "least-money": "Least money",
    "showpiece": "Showpiece",
    "variety": "Most variety",
    "helps-the-animal": "Helps the animal",
}


def answer(problem):
    """Return a plan for a problem of the spread contract."""
    offers = [offer for offer in problem["offers"] if edible(offer, problem)]
    heads = sum(group["count"] for group in problem["groups"])
    check_pins(problem, offers)
    budget = Decimal(problem.get("budget_total", "100000"))
    if budget < 20 or not offers:
        return no_plan(problem, heads)
    spreads = []
    for place, (aim, title) in enumerate(AIMS.items()):
        chosen = sorted(offers, key=lambda offer: Decimal(offer["price_per_lb"]))
        chosen = chosen[place : place + 3] or chosen[:1]
        spreads.append(spread(problem, chosen, (aim, title), heads, budget))
    totals = sorted({Decimal(one["total"]) for one in spreads})
    curve = [{"total": str(total), "eating": 0.5 + 0.06 * at, "aim": None}
             for at, total in enumerate(totals)]  # fmt: skip
    return {
        "schema": "collop.spread.plan/1", "answer": "yes", "currency": "USD", "heads": heads,
        "need": {"meals": float(heads), "planned_meals": heads * 1.05, "boneless_oz": heads * 7.0},
        "assumptions": ["A usual plate is 7 oz of raw boneless meat."], "spreads": spreads,
        "curve": curve, "more_money": None, "blocked_by": [], "nearest_yes": None,
    }  # fmt: skip


def edible(offer, problem):
    """Tell whether an offer suits the styles and carries none of the whole table's allergens."""
    banned = {avoid.removeprefix("allergen:") for avoid in problem["groups"][0]["avoids"]}
    styles = set(offer["styles"]) & set(problem["need_oz"])
    return bool(styles) and not banned & {str(one) for one in offer["contains"]}


def check_pins(problem, offers):
    """Refuse a pin on something that is not offered, as the kernel does."""
    ids = {offer["id"] for offer in offers}
    for index, pin in enumerate(problem["pinned"]):
        where = f"$.pinned[{index}]"
        if pin["id"] not in {offer["id"] for offer in problem["offers"]}:
            raise BadValue(f"{where} is {pin['id']!r}, which is not on offer.", where=where)
        if pin["id"] not in ids:
            raise Contradiction(f"{pin['id']} is pinned but nobody eats it.", where=where)


def spread(problem, chosen, named, heads, budget):
    """Return one spread of equal parts."""
    aim, title = named
    lines = [line(problem, offer, heads, len(chosen)) for offer in chosen]
    total = sum((Decimal(one["line_total"]) for one in lines), Decimal(0))
    head = (total / heads).quantize(CENT, ROUND_HALF_UP)
    return {
        "aim": aim, "title": title, "proof": {"status": "optimal", "gap": 0.0}, "lines": lines,
        "total": f"{total:.2f}", "per_head": f"{head:.2f}",
        "left": f"{budget - total:.2f}", "over_by": None, "boneless_oz": heads * 7.0,
        "eating": 0.7, "feeds": {"light": heads * 7 // 5, "usual": heads, "hungry": heads * 7 // 8},
        "chance_enough": 0.97, "chance_each": [], "chance_everyone": 0.96,
        "loads": [{"at_min": 0, "minutes": 20, "zone": "direct", "area_sq_in": 640.0,
                   "id": chosen[0]["id"]}],
        "binds": ["budget"], "say": f"{chosen[0]['name']} first, {head:.2f} a head.",
        "gave_up": "It gave up a dearer centre.", "differs": 0.6, "help": "4.20",
    }  # fmt: skip


def line(problem, offer, heads, parts):
    """Return one line that feeds its part of the heads."""
    style = next(style for style in offer["styles"] if style in problem["need_oz"])
    ounces = Decimal(str(problem["need_oz"][style])) * heads / parts
    pounds = ounces / 16 / Decimal(str(offer["boneless_fraction"]))
    pounds = min(pounds.quantize(CENT), Decimal(offer["free_lb"]))
    pieces = None
    if offer["pieces_lb"]:
        pieces = offer["pieces_lb"][:1]
        pounds = Decimal(pieces[0])
    price = Decimal(offer["price_per_lb"])
    return {
        "id": offer["id"], "name": offer["name"], "weight_lb": f"{pounds:.2f}", "pieces": pieces,
        "style": style, "slot": (offer["slots"] or [None])[0], "price_per_lb": str(price),
        "line_total": f"{(price * pounds).quantize(CENT, ROUND_HALF_UP)}", "serving_cost": "2.10",
        "portion_oz": 7.0, "share": 1 / parts, "meals": heads / parts, "slow": True,
        "pinned": any(pin["id"] == offer["id"] for pin in problem["pinned"]), "meat_free": False,
        "not_for": ["no pork"], "contains": [str(one) for one in offer["contains"]],
        "cook_to": {"f": 145, "c": 63, "rest_min": 3, "source": "FSIS"},
        "reason": "Costs 38 % less a portion than the loin chop beside it.",
        "cousins": [{"id": "C01", "name": "Lamb leg, bone in", "price_per_lb": "11.20",
                     "serving_cost": "2.91", "less_per_lb": "2.80", "less_per_serving": "0.81",
                     "percent": 38}],
    }  # fmt: skip


def no_plan(problem, heads):
    """Return the answer no with three ways out."""
    return {
        "schema": "collop.spread.plan/1", "answer": "no", "currency": "USD", "heads": heads,
        "need": {"meals": float(heads), "planned_meals": float(heads), "boneless_oz": heads * 7.0},
        "assumptions": [], "spreads": [], "curve": [], "more_money": None,
        "blocked_by": ["budget"],
        "nearest_yes": [
            {"change": "budget_total", "to": "81.26", "why": "A full plate costs 81.26.",
             "patch": {"budget_total": "81.26"}},
            {"change": "style", "to": "stew", "why": "A dish that stretches costs 46.22.",
             "patch": {"need_oz": {"plate": None, "shared": None, "hand": None, "stew": 4.0},
                       "budget_total": "46.22"}},
            {"change": "use_at", "to": "2026-06-13T18:00", "why": "By Saturday more is cut.",
             "patch": {"use_at": "2026-06-13T18:00", "budget_total": "60.00"}},
        ],
    }  # fmt: skip
