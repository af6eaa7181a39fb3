"""The rooms of a shop: one object for each kind of work, all over the same books.

A page, a command or a test reaches them as attributes of `Shop`.
"""

from __future__ import annotations

from collop.shop.access import AccessRoom
from collop.shop.acts import Room
from collop.shop.bench_room import BenchRoom
from collop.shop.chalk_room import ChalkRoom
from collop.shop.cutting_room import CuttingRoom
from collop.shop.day_room import DayRoom
from collop.shop.exchange_room import ExchangeRoom
from collop.shop.fire_room import FireRoom
from collop.shop.freezer_room import FreezerRoom
from collop.shop.learning import LearningRoom
from collop.shop.lockup_room import LockUpRoom
from collop.shop.making_room import MakingRoom
from collop.shop.money_room import MoneyRoom
from collop.shop.papers_room import PapersRoom
from collop.shop.pickup_room import PickupRoom
from collop.shop.promising import PromisingRoom
from collop.shop.recall_room import TracingRoom
from collop.shop.reckoning_room import ReckoningRoom
from collop.shop.replaying import ReplayingRoom
from collop.shop.rule_choices import RuleChoices
from collop.shop.season_room import SeasonRoom
from collop.shop.selling_room import SellingRoom
from collop.shop.standing import StandingRoom
from collop.shop.ticket_room import TicketRoom
from collop.shop.tour import TourRoom
from collop.shop.waiting_room import WaitingRoom

__all__ = ["MeatRooms", "TradeRooms"]


class MeatRooms:
    """What is done with meat, from the rail to its account.

    Parameters
    ----------
    room : Room
        Database and clock.
    """

    def __init__(self, room: Room) -> None:
        #: Who may come in and do what, and the log of it.
        self.access = AccessRoom(room)
        #: What happens to meat before the case.
        self.cutting = CuttingRoom(room)
        #: The board and how its prices are found.
        self.chalk = ChalkRoom(room)
        #: The cutting plan and the list of the cutting room.
        self.bench = BenchRoom(room)
        #: Mince lots and recipe batches.
        self.making = MakingRoom(room)
        #: Fire sheets, and how each line cooks.
        self.fire = FireRoom(room)
        #: The Day Book.
        self.day = DayRoom(room)
        #: What the shop chose among the rules.
        self.rules = RuleChoices(room)
        #: Tickets, tares, and what a label says of each line.
        self.tickets = TicketRoom(room)
        #: From a ticket to the farm, and to everybody who has of it.
        self.tracing = TracingRoom(room)
        #: The account of each animal.
        self.reckoning = ReckoningRoom(room)
        #: A past day or week with another cutting plan.
        self.replaying = ReplayingRoom(room)


class TradeRooms:
    """What is done with customers and their money.

    Parameters
    ----------
    room : Room
        Database and clock.
    """

    def __init__(self, room: Room) -> None:
        #: Sales at the glass, and what comes back.
        self.selling = SellingRoom(room)
        #: Money noted, deposits, and the takings of a day.
        self.money = MoneyRoom(room)
        #: The end of the day: count, carry, convert, freeze, bin, lock.
        self.lockup = LockUpRoom(room)
        #: The paper set and what was written on it; everything out, and lists in and out.
        self.papers, self.exchange = PapersRoom(room), ExchangeRoom(room)
        #: What may be promised for a date, reminders, and the feed of pick-ups.
        self.promising = PromisingRoom(room)
        #: Standing orders.
        self.standing = StandingRoom(room)
        #: What its orders, its knife and its glass taught the shop.
        self.learning = LearningRoom(room)
        #: The weeks ahead: Long List, animals ordered, what suppliers ask.
        self.season = SeasonRoom(room)
        #: A household's half or quarter, cut to its choices.
        self.freezer = FreezerRoom(room)
        #: Work on bookings, weighing ahead, and what a customer chooses.
        self.pickup = PickupRoom(room)
        #: What a device sells by while the server is away, and what it gave up.
        self.waiting = WaitingRoom(room)
        #: A first day on the demo week.
        self.tour = TourRoom(room)
