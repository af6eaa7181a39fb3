"""Our words for the rules of food safety the product acts on, and what it does with each."""

from __future__ import annotations

from collop.rules.book_model import Ours

__all__ = ["FOOD"]

FOOD: tuple[Ours, ...] = (
    Ours("SF125", "Which edition holds, and what the local authority adds to it, comes before all "
         "that stands here.",
         "The edition is a setting, and one that is laxer says so. Every figure can be made "
         "stricter, none laxer."),
    Ours("SF001", "Chilled meat is cold when it comes.",
         "A box or an animal at the door is held against what the shop set. Over it, the Day Book "
         "asks what was done with a box, and an animal is taken in only where the law lets it "
         "arrive warm."),
    Ours("SF003", "Frozen meat comes frozen hard, without signs of thaw.",
         "Receiving asks whether a box came frozen solid."),
    Ours("SF005", "Without mark of inspection and number of the plant nothing is taken in.",
         "Receiving asks for the number of the plant; it is the far end of every trace."),
    Ours("SF006", "Raw meat and other food that spoils is held cold, always.",
         "Each cold check is held against the limit; over it the Day Book asks what was done, and "
         "shows how long it was over, from at least to at most."),
    Ours("SF007", "Cooked food that is kept hot stays hot.",
         "The clock of cooling begins there, in the sums of the rules. Hot holding has no tile of "
         "its own in the Day Book."),
    Ours("SF008", "A freezer is at 0 F or below.",
         "Freezer checks are held against it. The food code itself only says that frozen food "
         "stays frozen."),
    Ours("SF010", "A food thermometer is right to within 2 F.",
         "The thermometer check of the Day Book holds a reading in melting ice against it.",
         also=("SF011",)),
    Ours("SF012", "Cooked food comes down fast at first: from 135 F to 70 F.",
         "The sums of the rules judge readings of it: kept, broken, not yet, or not shown."),
    Ours("SF013", "Cooked food is cold within six hours of 135 F.",
         "As for the first step; both clocks start together."),
    Ours("SF014", "What is made from things at room temperature is cold within four hours.",
         "The sums of the rules judge such food by it."),
    Ours("SF015", "Ready-to-eat food is gone by its seventh day; the day of making is the first.",
         "The sums of the rules give the last day; a ticket beyond the seventh day carries a "
         "caution."),
    Ours("SF016", "A mixture is as old as its oldest part.",
         "Take the oldest day in the sums of the rules."),
    Ours("SF017", "The freezer stops the clock and does not set it back.",
         "Days before freezing count on after thawing. The day of freezing is not counted, the day "
         "of thawing is, and each time in the cold is a day at least."),
    Ours("SF019", "Food may stand out of the cold for hours, if it starts cold or hot and the end "
         "is written on it.",
         "The sums of the rules give the time by which it is cooked, sold or thrown away.",
         also=("SF022",)),
    Ours("SF020", "Cold food may stand out for six hours if it never passes 70 F.",
         "The sums of the rules give the end; if it was ever over 70 F they end it at once.",
         also=("SF021",)),
    Ours("SF023", "Whole pieces the shop cooks: 145 F for 15 s.",
         "The sums of the rules tell it for food the shop cooks. Customers are told the higher "
         "figures for homes.",
         also=("SF029", "SF030")),
    Ours("SF024", "Mince and meat pierced or injected: the outside is inside, so more heat.",
         "The edition sets the hold. Bench order and shelf order go by this heat.",
         also=("SF025", "SF026", "SF027"), edition="2017 and later; older texts have 15 s"),
    Ours("SF028", "Poultry and stuffed meat need the most heat.",
         "As for mince; the edition sets the hold.",
         edition="2017 and later; older texts have 15 s"),
    Ours("SF031", "A whole roast may be held at less heat for longer.",
         "As for whole pieces. Between two rows the longer time counts; the row recalled from "
         "memory shortens nothing.",
         also=tuple(f"SF{number:03d}" for number in range(32, 48))),
    Ours("SF048", "An older roast table asks for 121 min at 130 F.",
         "It is taken for 2009 and older, since it is the longer time."),
    Ours("SF055", "At home: steaks, chops and roasts to 145 F, then rest 3 min.",
         "It stands on tickets and Fire Sheets. No plan ever goes under it.",
         also=("SF056", "SF057")),
    Ours("SF060", "A vacuum pack of raw meat is held cold.",
         "The ticket of a vacuum pack says so.", also=("SF063",)),
    Ours("SF061", "A vacuum pack of raw meat has an end: days from packing, not counting frozen "
         "time, never past the maker's date.",
         "The ticket carries the day to throw it away by and is refused beyond it.",
         also=("SF064",), edition="2013 and later"),
    Ours("SF062", "Older texts give a vacuum pack 14 days.",
         "It rules where that edition is chosen.", edition="2009 or older"),
    Ours("SF065", "Vacuum packing needs a written hazard plan.",
         "It is shown; nothing is decided by it."),
    Ours("SF069", "Curing or smoking to keep food, and custom processing, need a variance and a "
         "hazard plan.", "It is shown; nothing is decided by it."),
    Ours("SF070", "Grinder, saw, knives and boards are cleaned the sooner the warmer the room.",
         "The Bench and the Day Book tell when the next clean-down is due, by the room."),
    Ours("SF071", "In a room over 41 F to 45 F.", "As in a colder room."),
    Ours("SF072", "In a room over 45 F to 50 F.", "As in a colder room."),
    Ours("SF073", "In a room over 50 F to 55 F.", "As in a colder room."),
    Ours("SF074", "In a room that is not held cold.", "As in a colder room."),
    Ours("SF075", "Between kinds of raw meat the surface is cleaned.",
         "The Bench puts the work in an order that needs fewest clean-downs, and says where one is "
         "needed.", also=("SF076", "SF077")),
    Ours("SF078", "Each cleaning of the beef grinder is on record, with date and time.",
         "A clean-down in the Day Book closes the grind lot."),
    Ours("SF079", "A cutting room at 50 F or below is custom, not code.",
         "What the room is held at is a setting of the Bench; it sets the hours above."),
    Ours("SF080", "Hot water alone sanitises if it is hot enough.",
         "The sums of the rules tell the least temperature: of the water, or of a dish in a "
         "machine.", also=("SF081",)),
    Ours("SF082", "Chlorine needs the warmer water the weaker it is and the higher its pH.",
         "The sums of the rules give the least temperature for what the strip says; under 25 mg/L "
         "or over pH 10 they refuse. Contact is 10 s.",
         also=("SF083", "SF084", "SF085", "SF086", "SF087", "SF090")),
    Ours("SF088", "Iodine: strength, warmth and pH as its label says.",
         "It is shown; the label on the product rules.", also=("SF089",)),
    Ours("SF091", "The strip is read and written down.", "A clean-down has a field for it."),
    Ours("SF092", "What needs the most heat lies lowest: ready to eat on top, poultry at the "
         "bottom.", "It is shown; nothing is decided by it.",
         also=("SF093", "SF094", "SF095", "SF096", "SF097")),
    Ours("SF099", "Steaks, chops and roasts keep 3 to 5 days in the fridge.",
         "The sums of the rules give the last day by the fewest days; a shop may take more, up to "
         "the most. The date on a ticket is that of its lot.",
         also=("SF100", "SF101")),
    Ours("SF102", "Mince keeps 1 to 2 days in the fridge.", "As above."),
    Ours("SF103", "Raw sausage keeps 1 to 2 days in the fridge.", "As above."),
    Ours("SF104", "Bacon keeps 7 days in the fridge.", "As above."),
    Ours("SF105", "Poultry keeps 1 to 2 days in the fridge.", "As above.", also=("SF106",)),
    Ours("SF111", "Cooked meat keeps 3 to 4 days in the fridge.", "As above.", also=("SF112",)),
    Ours("SF113", "Liver, heart, tongue and kidney keep 1 to 2 days in the fridge.", "As above."),
    Ours("SF115", "Out of the fridge two hours, in heat over 90 F one.",
         "The take-home plan on the Fire Sheet says so."),
    Ours("SF119", "A piece that ages dry loses 6 to 15 % to the air.",
         "It is shown; nothing is decided by it.", also=("SF120",)),
    Ours("SF098", "Batches without allergens are made first.",
         "It is shown; clean between batches all the same."),
)  # fmt: skip
