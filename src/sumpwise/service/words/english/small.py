"""Small words: connectors, choices, events of a log, reasons of a refusal, units in words."""

from __future__ import annotations

WORDS: dict[str, str] = {
    # -- joints and small words
    "join.comma": ", ",
    "join.plus": " + ",
    "join.or": " or ",
    "join.and": " and ",
    "join.semicolon": "; ",
    "none": "",
    "about": "about",
    "dash": "–",
    "yes": "yes",
    "no": "no",
    "chance.under": "under 0.1 %",
    "likely.only": "only {probability}",
    "likely.hardly": "under 1 %",
    "likely.surely": "over 99 %",
    "chance.million": "less than 1 in a million",
    # -- choices of a job
    "choice.automatic": "automatic",
    "choice.stick": "stick",
    "choice.overflow plug": "overflow plug",
    "choice.fill hole": "fill hole",
    "choice.sealed": "sealed",
    "choice.units of money": "units of money",
    # -- events of a log
    "event.stick": "stick",
    "event.drained": "drained",
    "event.poured": "poured",
    "event.emptied": "emptied",
    "event.lost": "lost",
    "event.drive": "drive",
    "event.seen": "seen",
    # -- refusals
    "refused.drained": "that is more than there was to drain (was a pour left out, or a reading entered twice?)",
    "refused.falls": "a cumulative reading cannot fall; if the vessel was emptied in between, enter that",
    "refused.emptied": "the vessel was emptied without being read, so what it held is not in the count: enter that before it",
    "refused.holds": "that is more than the vessel holds (did it take several fillings? enter each by itself)",
    "refused.pail": "a burst does not fit into the pail",
    "refused.no_room": "the uncertainty leaves no room between starving the pump and overfilling: stop and read the stick",
    "refused.air": "the sump does not hold enough for that, and the pump draws air",
    "refused.sump": "the sump does not hold that much",
    "refused.matches": "no unit of this size shows what was seen: a match or an amount is wrong",
    "refused.compartment": (
        "the drain leaves nothing for the fluid that does not drain: check plug_drain and pan_and_filter against the total, or state "
        "the volumes under circuit"
    ),
    "refused.band": "this wrench cannot keep the torque inside the window: use a more accurate one",
}  # fmt: skip
