"""What could be done and what it takes: methods side by side, over the years, the quote, what to buy."""

from __future__ import annotations

WORDS: dict[str, str] = {
    # -- methods
    "method.nothing": "nothing",
    "method.hands": "a job for trained hands",
    "method.drain": "one drain",
    "method.drains": "drains, a drive after each",
    "method.yearly": "one drain, again every year",
    "method.bursts": "one drain, then bursts through the cooler line",
    "method.machine stirred": "machine exchange, fully stirred",
    "method.machine plug": "machine exchange, nothing mixed",
    "method.drain and machine": "one drain, then machine exchange",
    "impossible.stop": "stop: {reason}",
    "impossible.no_reserve": "stop: the pump draws air before a burst delivers anything",
    "impossible.sealed": "a workshop with the maker's procedure checks the level of a sealed fill",
    "impossible.no_line": "no cooler line to open",
    "impossible.thermostat": "the thermostat shuts the cooler line until the fluid is hot",
    # -- methods side by side
    "methods.title": "Methods side by side",
    "methods.not_as_asked": "**Not as the job asks**: {method}: {reason}.",
    "methods.no_bursts": "the job states neither a target nor how many bursts",
    "methods.last": "The last {portion} of {method} makes the inside {points} percentage points fresher.",
    "methods.as_begun": "The log has begun that way; to plan another, name it as the method under target.",
    "methods.chosen": "Chosen: **{method}**.",
    "methods.none": "**Nothing is planned for the owner**: {reason}.",
    "methods.chosen_for": "Chosen: **{method}**, for a target of {target} fresh inside with a probability of at least {asked}.",
    "methods.not_sure": (
        "**The target is not certain**: {method}, as planned, reaches {fresh} fresh inside, but at least {target} with a "
        "probability of {probability}, not {asked}; {way}."
    ),
    "methods.missed": "**The target is missed**: {method}, as planned, reaches {fresh} fresh inside, not {target}; {way}.",
    "methods.would_reach": "{method} would reach it, with {fresh}",
    "methods.best_is_this": (
        "no method here reaches it, and this is the best there is (an exchange without any mixing is a limit, not a method)"
    ),
    "methods.best_is": (
        "no method here reaches it; the best there is: {method}, {fresh} (an exchange without any mixing is a limit, not a "
        "method)"
    ),
    "methods.meaning": (
        "Fresh inside is the share of new fluid in the whole fill, not what the hose shows and never the share of life left. ± is one "
        "standard uncertainty: the true value is within it about two times in three. Cost counts the fluid used at the price of the "
        "cheapest pack, washers and filters; what to buy comes in whole packs."
    ),
    "methods.outside": "Chance of ending outside the marks before the stick corrects the level: {chance}.",
    "methods.column.method": "method",
    "methods.column.fresh": "fresh inside",
    "methods.column.times": "times",
    "methods.column.fluid": "fluid",
    "methods.column.washers": "washers",
    "methods.column.filters": "filters",
    "methods.column.cost": "cost",
    "methods.column.point": "cost per % fresh",
    "methods.column.hours": "hours",
    "methods.column.outside": "chance of ending outside the marks",
    # -- over the years
    "years.title": "Over {years} {years#year|years}",
    "years.meaning": (
        "Mean age of the fluid inside over {years} {years#year|years}, each method repeated at its own interval. Best value: no other "
        "method is better on age, fluid and money at once. An age says nothing about the life left."
    ),
    "years.limit": "A limit cannot be reached by any machine: it would need new fluid that never mixes with the old.",
    "years.column.method": "method",
    "years.column.age": "mean age",
    "years.column.fluid": "fluid",
    "years.column.cost": "cost",
    "years.column.saved": "cost for a year younger",
    "years.column.best": "best value",
    "years.best": "yes",
    "years.bound": "a limit",
    # -- the quote
    "quote.title": "The shop's quote",
    "quote.claim": "A claim of {claim} new with {volume} is **{says}**: fully stirred, it gives {stirred}, at the very most {most}.",
    "quote.plausible": "plausible",
    "quote.only_plug": "possible only if new and old never mix",
    "quote.impossible": "impossible",
    "quote.takes": "Fully stirred, {claim} new takes {volume}.",
    "quote.point": "With the usual mixing, the quote costs {price} for each percent of new fluid.",
    # -- what to buy
    "buy.title": "What to buy{whole}",
    "buy.whole": ", for the whole job",
    "buy.packs": "Buy **{packs}**: {volume} for **{cost}**. Chance of running short: {short}; {left} is left over.",
    "buy.bare": "{packs}, {volume} for {cost}, would do on average. Chance of running short: {short}.",
    "buy.next": "The next size up is {packs}, {volume}: {more} more for another {price}.",
    "buy.pack": "{count} × {name}",
    "buy.nothing": "Nothing is planned that takes new fluid.",
    "buy.no_packs": "The job lists no packs, so nothing is priced.",
    "buy.no_packs_of": "The job lists no packs of it.",
    "buy.other": "**{fluid}**, a different fluid, never to be mixed with the one above:",
    "buy.need_of": "need of {fluid}",
    "buy.column.for": "for",
    "buy.column.amount": "amount",
    "buy.need": "need",
    "buy.refill": "refill after plug, pan and filter",
    "buy.refill_plug": "refill after the plug",
    "buy.bursts": "{count} {count#burst|bursts} of {burst}",
    "buy.rest": "the rest of the refill, after the last burst",
    "buy.trim": "trimming the level",
}  # fmt: skip
