"""What the log shows: count against stick, the account, the outlet, the level."""

from __future__ import annotations

WORDS: dict[str, str] = {
    # -- conflict
    "conflict.title": "{what}",
    "conflict.cannot_be": "The log cannot be right",
    "conflict.disagree": "Count and stick disagree",
    "conflict.not_followed": "**The count cannot be followed**: log entry {entry}, {read}: {reason}.",
    "conflict.nothing_rests": "Nothing on this sheet rests on the log until that is put right.",
    "conflict.compared": "The stick {reading} at {temperature} says {stick} off the target, the count {count}.",
    "conflict.stick": "The stick {reading} at {temperature} says {stick} off the target.",
    "conflict.chance": (
        "By reading errors alone they would be so far apart with a chance of {chance}: most likely an entry is wrong. Until it is "
        "found, no figure joins the two and nothing is poured by the count."
    ),
    "conflict.stands_out": (
        "Reading errors alone may take them so far apart, but one entry stands out from the rest of the log: most likely it is wrong. "
        "Until that is settled, no figure joins the two and nothing is poured by the count."
    ),
    "conflict.read_again": "Read the stick again in its window.",
    "conflict.named": "An entry that alone would explain it, the likeliest first:",
    "conflict.none_named": "No single entry written otherwise explains it.",
    "conflict.entry": "{event} {read}",
    "conflict.entry_of": "{event} {what} {read}",
    "conflict.instead": "Log entry {number}, {entry}: {instead} instead ({mistake}).",
    "conflict.doubled": "Log entry {number}, {entry}: entered twice.",
    "conflict.forgotten": "After log entry {number}, {entry}: one like it was left out.",
    "conflict.more": "{count} further {count#entry|entries} could explain it, but {count#is|are} less likely.",
    "mistake.digit": "one digit",
    "mistake.division": "one division",
    "mistake.sign": "the sign",
    "mistake.swapped": "two digits swapped",
    "mistake.point": "the decimal point",
    # -- balance
    "balance.title": "What went in against what came out",
    "balance.not_followed": "**The count cannot be followed**: see the top of this sheet.",
    "balance.raw": (
        "All that went in less all that came out, as read: **{raw}**. At {reference} and by the vessels' true scale: **{true}**. Hot "
        "fluid and a pail that reads wrong mislead: pouring to the raw figure would be off by {misleads}."
    ),
    "balance.no_start": "No stick reading stands before the first entry, so the count cannot say where the level is now.",
    "balance.level_now": "By the count the level is now {level} off the target.",
    "balance.unexplained": "Unexplained after the stick {reading} at {temperature}: {rest}.",
    "balance.unexplained_z": (
        "Unexplained after start level and stick {reading} at {temperature}: {rest}, which is {z} times its own standard uncertainty "
        "(look for a mistake beyond 2)."
    ),
    "balance.best_level": "Best next measurement: {advice}; the level would then be known to ± {left}.",
    "balance.best_count": "To hold the count against the stick: {advice} (would leave ± {left} between them).",
    "balance.best_next": "Best next measurement: {advice} (would leave ± {left} between count and stick).",
    "balance.taken_start": "Taken for granted: the level was on the target before the work.",
    "balance.compared": "Stick {reading} at {temperature}: the count says {count} off the target, the stick {stick}.",
    "balance.joint": "Now, count and all stick readings together: {joint} off the target.",
    "balance.book": "The book's refill of {book}, at the right level and {reference}: {weighed}; {says}.",
    "balance.meaning": "{name} {amount} ({weight})",
    "balance.plug_alone": "the plug alone",
    "balance.plug_and_pan": "plug, pan and filter",
    "balance.too_close": "too close to call",
    "balance.none_fits": "none of these fits",
    "balance.it_means": "it means {name}",
    "balance.share": "{cause}: ± {amount}, {share} of the variance",
    "balance.column.cause": "cause",
    "balance.column.amount": "amount",
    "balance.column.doubt": "standard uncertainty",
    "cause.readings": "vessels alone as read: poured less drained",
    "cause.temperature": "temperature",
    "cause.scale": "vessel scale",
    "cause.together": "temperature and scale together",
    "cause.start": "start level",
    "cause.level": "level found",
    "cause.unexplained": "unexplained",
    "source.drained": "{whose}, drained {read}",
    "source.poured": "{whose}, poured {read}",
    "source.scale": "{whose}, its scale",
    "source.residue": "{whose}, what stays in it",
    "source.tilt": "{whose}, not standing level",
    "source.growth": "{whose}, its growth with heat",
    "source.air": "{whose}, froth",
    "source.temperature": "temperature and density",
    "source.thermometer": "{whose}",
    "source.lost": "{whose}, how much",
    "advice.scale": "weigh water in the {whose}",
    "advice.thrice": "read the stick three times",
    "advice.turned": "turn the vehicle round on its place, and read the stick again",
    "advice.weigh": "weigh the {whose} with what is in it",
    "advice.tilt": "mark where the {whose} stands, set it level there and read it again",
    "advice.growth": "read the {whose} when it is cool, or say what it is made of",
    "advice.air": "let the froth in the {whose} settle before it is read",
    "advice.residue": "weigh what stays in the {whose}",
    "advice.thermometer": "check the {whose} against another",
    "advice.lost": "weigh it: {whose}",
    # -- what the outlet told
    "outlet.title": "What the outlet told of the inside",
    "outlet.in_doubt": "**Cannot say**: what is seen at the outlet is weighed with the amounts in the log, and they are in doubt.",
    "outlet.cannot_follow": "The log cannot be followed through the unit: {reason}.",
    "outlet.enough": "**Enough**: the inside is at least {target} fresh with probability {probability} ({asked} asked).",
    "outlet.go_on": (
        "**Go on**: the inside is at least {target} fresh with probability {probability} only ({asked} asked); about {more} more would "
        "do."
    ),
    "outlet.not_to_be_had": (
        "**Not to be had by more of the same**: the inside is at least {target} fresh with probability {probability} only ({asked} "
        "asked), and {more} more would not do."
    ),
    "outlet.inside": (
        "By all matches together {old} old is left inside (95 % interval {low} to {high}) while the line carries {line}. {drive}"
    ),
    "outlet.darkens": "A long drive will darken what the line shows by about {points} {points#point|points}.",
    "outlet.brightens": "A long drive will brighten what the line shows by about {points} {points#point|points}.",
    "outlet.stays": "A long drive will hardly change what the line shows.",
    "outlet.next": "The next {portion} buys {points} points of fresh inside.",
    "outlet.next_priced": "The next {portion} buys {points} points of fresh inside at {price} a point.",
    "outlet.odd": "Caution: the match of {match} does not fit the others: {expected} old was to be expected.",
    "outlet.wider": "Caution: the matches hardly fit each other and the amounts, and are taken for {times} times as doubtful as usual.",
    "outlet.few_draws": "Caution: only {draws} of the circuits tried bear on what was seen, so the answer is rough.",
    "outlet.starving": (
        "Caution: as the sump stands now, the pump draws air in the next burst with probability {probability}: pour first, or pump less "
        "at a time."
    ),
    "outlet.column.match": "match",
    "outlet.column.seen": "seen old",
    "outlet.column.expected": "expected old",
    # -- level
    "level.title": "Level",
    "level.overflow": (
        "The level is right when the overflow plug is closed while it only trickles, at {window} in the fluid, engine running. Closed "
        "at the cold end of that it is {early} fuller than in the middle, at the hot end {late} less full."
    ),
    "level.overflow_maker": "The level is set by an overflow plug: follow the maker's procedure and temperatures.",
    "level.fill_hole": "The level is right when fluid stands at the lower edge of the fill hole, the unit level and its fluid at rest.",
    "level.sealed": "The unit is sealed: its level is not for its owner to check. Hands with the maker's procedure and tool do it.",
    "level.no_stick": (
        "The job describes no stick, so no reading can be judged here. In the maker's service information look for the level check: its "
        "temperatures, whether the engine runs, and the marks. With these written under level in the job, and with what lies between the "
        "marks (pour a known amount between two readings at one temperature), this sheet says what a reading means at any temperature."
    ),
    "level.grows": (
        "The whole fill grows by {growth} and shows it all in the sump: {rise} on the stick. Window {window}, target the middle of the "
        "marks. Outside the window a reading predicts, it never instructs."
    ),
    "level.stopped": "stop: see above",
    "level.disputed": "read it again: see above",
    "level.too_hot": "stop: engine off, let it cool",
    "level.predicts": "predicts {reading} in mid window",
    "level.predicts_wait": "predicts {reading} in mid window; wait",
    "level.since": "the work has gone on since",
    "level.leave": "leave it",
    "level.add": "add {amount}, then read again",
    "level.add_steps": "add {amount} in {steps} steps, then read again",
    "level.take_out": "take out {amount}, then read again",
    "level.column.reading": "reading",
    "level.column.at": "at",
    "level.column.off": "against the middle",
    "level.column.follows": "what follows",
}  # fmt: skip
