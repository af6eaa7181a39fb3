"""A cutting plan and a farm call written by hand, small enough to be checked by eye.

Figures are invented for these tests.
"""

from __future__ import annotations

from copy import deepcopy
from datetime import date, timedelta
from types import SimpleNamespace

from collop.shop import StillClock

DAYS = [(date(2026, 6, 9) + timedelta(days=number)).isoformat() for number in range(4)]


def _style(id_, name):
    return {"id": id_, "name": name, "minutes": "60", "outputs": []}


PROBLEM = {
    "unit": "lb",
    "days": [{"day": day, "open": number != 3} for number, day in enumerate(DAYS)],
    "kinds": [
        {"id": "hq", "name": "Beef hindquarter", "styles": [
            _style("hind", "Hindquarter for the case"), _style("hind-mince", "Round to mince")]},
        {"id": "lamb carcass", "name": "Lamb", "styles": [_style("lamb", "Lamb for the case")]},
    ],
    "rail": [
        {"tag": "B-41H", "kind": "hq", "from": 0, "until": None},
        {"tag": "L-207", "kind": "lamb carcass", "from": 0, "until": 2},
    ],
    "cuts": [
        {"id": "C13", "name": "Beef rump", "price": "16.40", "usual": ["3.0", "3.0", "4.0", "5.0"]},
        {"id": "C01", "name": "Lamb leg", "price": "11.20", "usual": ["2.0", "2.0", "2.0", "0"]},
    ],
}  # fmt: skip


def cut(id_, name, *, days, worth, spoilt="0"):
    """Return one cut of a plan; `days` holds what is sold and what is then on hand."""
    lines = [
        {"day": number, "in": "0", "booked": "0", "sold": sold, "at": [], "ground": "0",
         "spoilt": "0", "on_hand": on_hand}
        for number, (sold, on_hand) in enumerate(days)
    ]  # fmt: skip
    sold = str(sum(float(one) for one, _ in days))
    return {"id": id_, "name": name, "opening": "11.0", "made": "14.0", "booked": "4.0",
            "sold": sold, "ground": "0", "spoilt": spoilt, "left": days[-1][1], "worth": worth,
            "days": lines}  # fmt: skip


_RUMP = cut("C13", "Beef rump", worth=["16.40", "16.40", "12.10", "0"],
            days=[("3.0", "8.0"), ("3.0", "5.0"), ("4.0", "15.0"), ("0", "15.0")])  # fmt: skip
_LEG = cut("C01", "Lamb leg", worth=["11.20", "11.20", "11.20", "0"],
           days=[("2.0", "2.0"), ("2.0", "0"), ("0", "0"), ("0", "0")])  # fmt: skip

_BREAK = {
    "id": "B-41H", "tag": "B-41H", "of": None, "kind": "hq", "style": "hind",
    "style_name": "Hindquarter for the case", "day": 2, "date": DAYS[2], "weight": "146.2",
    "claimed": "0", "minutes": "110", "outputs": [],
    "covers": [
        {"cut": "C13", "name": "Beef rump", "booking": None, "weight": "12.4", "first_day": 2,
         "last_day": 3},
        {"cut": "C12", "name": "Beef fillet", "booking": "H9", "weight": "2.1", "first_day": 2,
         "last_day": 2},
    ],
    "surplus": [{"cut": "C15", "name": "Beef shin", "weight": "6.0", "way": "mark-down", "day": 3,
                 "say": "6.00 lb of shin sells at 0.8 of its price on Friday."}],
    "runner_up": {"style": "hind-mince", "style_name": "Round to mince", "day": 2,
                  "loses": "31.20", "wins_if": {"cut": "C11", "name": "Mince", "price": "9.10"},
                  "say": "Round to mince brings 31.20 less; it wins if mince sells at 9.10."},
    "say": "Thursday: rump runs out on Thursday, and H9 takes fillet.",
}  # fmt: skip

PLAN = {
    "unit": "lb", "days": DAYS, "answer": "short", "contribution": "1234.56",
    "proof": {"status": "optimal", "gap": 0.0006, "bound": "1235.10"},
    "money": {"bookings": "300.00", "sales": "800.00", "left": "60.00", "labour": "58.00"},
    "breaks": [_BREAK],
    "kept": [{"tag": "L-207", "kind": "lamb carcass", "weight": "50.5", "worth_left": "320.00",
              "say": "Two lambs cover the week."}],
    "makes": [{"cut": "C11", "name": "Beef mince", "day": 2, "weight": "10.0", "from": [],
               "fat": 0.198, "minutes": "5"}],
    "grinds": [{"cut": "C15", "name": "Beef shin", "bin": "beef-trim", "day": 2, "weight": "2.0",
                "gives": "1.9"}],
    "cuts": [_RUMP, _LEG],
    "bins": [{"id": "beef-trim", "name": "Beef trim", "spoilt": "0", "left": "0",
              "worth": ["3.00"] * 4}],
    "pieces": [{"tag": "B-41H", "kind": "hq", "worth": "1022.10",
                "worth_per_unit": "6.99", "style": "hind"}],
    "hands": [{"name": "Marek", "used": ["0", "0", "115", "0"], "overtime": ["0", "0", "12.5", "0"],
               "idle": ["480", "480", "365", "480"]}],
    "minute_worth": ["0", "0", "0.05", "0"],
    "case_room": {"most": "600", "used": ["400", "390", "512.5", "300"]},
    "bookings": [{"id": "H9", "name": "Rowing club", "met": True},
                 {"id": "H4", "name": "Restaurant", "met": False}],
    "claims": [{"booking": "H3", "tag": "B-41H", "weight": "20.0", "due": 3, "day": 2,
                "met": True}],
    "short": [{"booking": "H4", "name": "Restaurant", "cut": "C14",
               "cut_name": "Beef hanger and skirt", "weight": "2.2", "due": 2,
               "say": "H4 asks 6.0 lb; 3.8 is there.",
               "saves": [{"change": "animal", "to": "side", "say": "One more side gives 1.9 lb."},
                         {"change": "date", "to": "2026-06-16", "say": "Or on Tuesday 16 June."}]}],
    "assumptions": ["A figure of these tests."],
}  # fmt: skip


def changed_plan():
    """Return the plan in which the rump goes to mince: 3 lb are missed on Thursday, 54.56 lost."""
    plan = deepcopy(PLAN)
    plan["contribution"] = "1180.00"
    rump = [("3.0", "8.0"), ("3.0", "5.0"), ("1.0", "0"), ("0", "0")]
    leg = [("2.0", "2.0"), ("2.0", "1.0"), ("2.0", "0"), ("0", "0")]
    plan["cuts"] = [
        cut("C13", "Beef rump", days=rump, worth=["0"] * 4, spoilt="1.5"),
        cut("C01", "Lamb leg", days=leg, worth=["0"] * 4),
    ]
    plan["bookings"][0]["met"] = False
    return plan


class HandBench:
    """Stands for the shop's bench: keeps what it was asked."""

    def __init__(self):
        self.kept = SimpleNamespace(
            number=1, at=StillClock().now(), plan=PLAN, problem=PROBLEM,
            changes=("B-41H moved from Wed to Thu",), is_current=True,
        )  # fmt: skip
        self.asked, self.forced = [], []

    def latest(self):
        """Return the plan in force."""
        return self.kept

    newest = latest

    def refresh(self, *, force=False, shown=None):
        """Note that a plan was asked for."""
        self.forced.append((force, shown))
        return self.kept

    def rival(self, kept, locks):
        """Return the changed plan."""
        assert kept is self.kept
        self.asked.append(list(locks))
        return changed_plan()


FARM = {
    "week_of": "2026-06-15", "unit": "lb",
    "animals": [{"id": "lamb", "name": "Lamb", "least": 0, "most": 6},
                {"id": "side", "name": "Beef side", "least": 0, "most": 3}],
}  # fmt: skip


def _more(money, say):
    return {"money": money, "say": say}


def farm_plan(problem):
    """Return the farm call's plan: two lambs are best; three, if they are asked for, bring less."""
    lambs = next(one for one in problem["animals"] if one["id"] == "lamb")
    count = lambs["least"] or 2
    return {
        "orders": [
            {"id": "lamb", "name": "Lamb", "count": count, "weight": str(52 * count),
             "cost": "660.00", "one_more": _more("-12.40", "One more lamb brings 12.40 less."),
             "one_less": _more("-31.00", "One lamb less brings 31.00 less.")},
            {"id": "side", "name": "Beef side", "count": 1, "weight": "310", "cost": "1705.00",
             "one_more": _more("-210.00", "One more side brings 210.00 less."), "one_less": None},
        ],
        "expected": "2310.40" if count == 2 else "2298.00",
        "spread": {"low": "1900.00", "usual": "2300.00", "high": "2650.00"},
        "cuts": [
            {"id": "C01", "name": "Lamb leg", "on_hand": "1.5", "made": "31.5",
             "wanted": "36.0", "sold": "32.5", "short": "4.0", "surplus": "1.0",
             "chance_short": 0.45},
            {"id": "C03", "name": "Lamb breast", "on_hand": "0", "made": "12.0",
             "wanted": "6.0", "sold": "8.0", "short": "0", "surplus": "6.0",
             "chance_short": 0.02},
            {"id": "C31", "name": "Goat shoulder", "on_hand": "0", "made": "0",
             "wanted": "0", "sold": "0", "short": "0", "surplus": "0", "chance_short": 0},
        ],
        "ends": [{"cut": "C03", "name": "Lamb breast", "weight": "6.0",
                  "ways": [{"way": "marked_down", "weight": "2.0", "money": "4.08"},
                           {"way": "ground", "weight": "4.0", "money": "7.20"}],
                  "say": "6.0 lb of lamb breast: 2.0 lb marked down to 4.08, the rest ground."}],
        "standing": [{"name": "Restaurant", "cut": "C14", "asks": "6.0", "gets": "1.9",
                      "animals_needed": 7,
                      "say": "6.0 lb of hanger and skirt is 7 sides; two sides give 1.9."}],
        "bookings": [{"name": "Wedding supper", "cut": "C01", "asks": "9.0",
                      "gets": "9.0" if count > 2 else "8.5", "animals_needed": 1,
                      "say": "9.0 lb of leg is one lamb."}],
        "room": {"most": "1600", "used": "1550", "binds": True}, "worth": {},
        "say": ["Two lambs and one beef side for the week of 15 June 2026."],
        "proof": {"status": "optimal", "gap": 0.0, "bound": None},
        "assumptions": ["Beef in a summer week: 1.075 (E05, computed)."],
    }  # fmt: skip
