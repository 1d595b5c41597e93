"""What the log shows: count and stick compared, the account, the outlet, the level."""

from __future__ import annotations

WORDS: dict[str, str] = {
    # -- conflict
    "conflict.title": "{what}",
    "conflict.cannot_be": "The log cannot be right",
    "conflict.disagree": "Count and stick disagree",
    "conflict.not_followed": "**The count cannot be followed**: log entry {entry}, {read}: {reason}.",
    "conflict.nothing_rests": "Until that is corrected, nothing on this sheet is based on the log.",
    "conflict.compared": "The stick {reading} at {temperature} says {stick} off the target, the count {count}.",
    "conflict.stick": "The stick {reading} at {temperature} says {stick} off the target.",
    "conflict.chance": (
        "The chance that reading errors alone put them this far apart is {chance}: most likely an entry is wrong. Until it is found, no "
        "figure combines the two, and nothing is poured by the count."
    ),
    "conflict.stands_out": (
        "Reading errors alone could put them this far apart, but one entry stands out from the rest of the log: most likely it is wrong. "
        "Until that is settled, no figure combines the two, and nothing is poured by the count."
    ),
    "conflict.read_again": "Read the stick again in its window.",
    "conflict.named": "Single entries that would explain it, the most likely first:",
    "conflict.none_named": (
        "No single wrong entry explains it. Perhaps something poured was not entered: by the stick, {amount} more went in than the log has."
    ),
    "conflict.none_named_out": (
        "No single wrong entry explains it. Perhaps something drained or spilled was not entered: by the stick, {amount} more came out "
        "than the log has."
    ),
    "conflict.entry": "{event} {read}",
    "conflict.entry_of": "{event} {read} ({what})",
    "conflict.instead": "Log entry {number}, {entry}: {instead} instead ({mistake}).",
    "conflict.misread": "Log entry {number}, {entry}: misread: everything else agrees without it, so leave it out.",
    "conflict.doubled": "Log entry {number}, {entry}: entered twice.",
    "conflict.forgotten": "After log entry {number}, {entry}: one like it was left out.",
    "conflict.more": "{count} further {count#entry|entries} could explain it, but {count#is|are} less likely.",
    "mistake.digit": "one digit",
    "mistake.division": "one division",
    "mistake.sign": "the sign",
    "mistake.swapped": "two digits swapped",
    "mistake.point": "the decimal point",
    # -- log
    "log.title": "The log, entry by entry",
    "log.meaning": (
        "What each entry moved, by the vessels' true scale and at {reference}; poured is positive. Then everything that went in so far "
        "minus everything that came out."
    ),
    "log.column.entry": "entry",
    "log.column.event": "what",
    "log.column.of": "vessel or part",
    "log.column.read": "read",
    "log.column.at": "at",
    "log.column.moved": "moved",
    "log.column.against": "in minus out so far",
    "log.column.note": "note",
    # -- balance
    "balance.title": "What went in against what came out",
    "balance.not_followed": "**The count cannot be followed**: see the top of this sheet.",
    "balance.raw": (
        "Everything that went in minus everything that came out, as read: **{raw}**. At {reference} and by the vessels' true scale: "
        "**{true}**. Hot fluid and a pail that reads wrong are misleading: pouring by the raw figure would be off by {misleads}."
    ),
    "balance.raw_fair": (
        "Everything that went in minus everything that came out, as read: **{raw}**. At {reference} and by the vessels' true scale: "
        "**{true}**, the same to {within}."
    ),
    "balance.no_start": "The level before the first entry is not known, so the count cannot say where the level is now.",
    "balance.level_now": "By the count the level is now {level} off the target.",
    "balance.unexplained": "Unexplained after the stick {reading} at {temperature}: {rest}.",
    "balance.unexplained_z": (
        "Unexplained after start level and stick {reading} at {temperature}: {rest}, which is {z} times its own standard uncertainty "
        "(beyond 2, look for a mistake)."
    ),
    "balance.best_level": "Best next measurement: {advice}; the level would then be known to ± {left}.",
    "balance.best_count": "To check the count against the stick: {advice} (would leave ± {left} between them).",
    "balance.best_next": "Best next measurement: {advice} (would leave ± {left} between count and stick).",
    "balance.taken_start": "Assumed: the level was on the target before the work.",
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
    "cause.readings": "vessels alone, as read: poured minus drained",
    "cause.temperature": "temperature",
    "cause.scale": "vessel scale",
    "cause.together": "temperature and scale together",
    "cause.start": "start level",
    "cause.level": "level found",
    "cause.unexplained": "unexplained",
    "source.drained": "{whose}, drained {read}",
    "source.poured": "{whose}, poured {read}",
    "source.scale": "{whose}, its scale",
    "source.residue": "{whose}, what stays behind in it",
    "source.tilt": "{whose}, not standing level",
    "source.growth": "{whose}, its expansion with heat",
    "source.air": "{whose}, foam",
    "source.temperature": "temperature and density",
    "source.thermometer": "{whose}",
    "source.lost": "{whose}, how much",
    "advice.scale": "weigh water in the {whose}",
    "advice.thrice": "read the stick three times",
    "advice.turned": "turn the vehicle around on the spot and read the stick again",
    "advice.weigh": (
        "weigh the {whose} with what is in it, take off what it weighs empty, and write that in place of the reading of its last log "
        "entry, with cumulative = true"
    ),
    "advice.tilt": "mark where the {whose} stands, set it level there and read it again",
    "advice.growth": "read the {whose} when it is cool, or say what it is made of",
    "advice.air": "let the foam in the {whose} settle before you read it",
    "advice.residue": "weigh what stays behind in the {whose}",
    "advice.thermometer": "check the {whose} against another one",
    "advice.lost": "weigh it: {whose}",
    # -- what the outlet told
    "outlet.title": "What the outlet says about the inside",
    "outlet.in_doubt": "**Cannot say**: what is seen at the outlet is weighed with the amounts in the log, and those are disputed.",
    "outlet.cannot_follow": "The log cannot be followed through the unit: {reason}.",
    "outlet.pour_first": "**Pour back first** what is short, as said above; whether it is enough can be judged after that.",
    "outlet.enough": "**Enough**: the probability that the inside is at least {target} fresh is {probability} ({asked} wanted).",
    "outlet.go_on": (
        "**Not enough yet**: the probability that the inside is at least {target} fresh is {probability} ({asked} wanted); about {more} "
        "more through the line would do."
    ),
    "outlet.not_to_be_had": (
        "**More of the same will not get there**: the probability that the inside is at least {target} fresh is {probability} "
        "({asked} wanted), and {more} more would not be enough."
    ),
    "outlet.not_pumped": (
        "**Not enough yet**: the probability that the inside is at least {target} fresh is {probability} ({asked} wanted). What more "
        "would bring is not worked out, since the sump as it stands now may not hold the {portion} asked about: give a "
        "smaller portion under target."
    ),
    "outlet.inside": (
        "By all matches together, {old} old is left inside (95 % interval {low} to {high}), while the line shows {line}. {drive}"
    ),
    "outlet.darkens": "A long drive will darken what the line shows by about {points} {points#point|points}.",
    "outlet.brightens": "A long drive will brighten what the line shows by about {points} {points#point|points}.",
    "outlet.stays": "A long drive will hardly change what the line shows.",
    "outlet.next": "The next {portion} makes the inside {points} percentage points fresher.",
    "outlet.next_priced": "The next {portion} makes the inside {points} percentage points fresher, at {price} a point.",
    "outlet.odd": "Caution: the match of {match} does not fit the others: {expected} old was expected.",
    "outlet.wider": "Caution: the matches hardly fit each other and the amounts, so they count as {times} times as uncertain as usual.",
    "outlet.few_draws": "Caution: only {draws} of the circuits tried agree with what was seen, so the answer is rough.",
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
        "at the cold end of that window it is {early} fuller than in the middle, at the hot end {late} less full."
    ),
    "level.overflow_time": (
        "Warming by {rate} at idle, it stays in that window for {left}: have tray, key and new fluid at hand before it gets there."
    ),
    "level.overflow_maker": "The level is set by an overflow plug: follow the maker's procedure and temperatures.",
    "level.fill_hole": "The level is right when the fluid is at the lower edge of the fill hole, with the unit level and the fluid still.",
    "level.sealed": "The unit is sealed: its level is not for the owner to check. That takes the maker's procedure and tool.",
    "level.no_stick": (
        "The job describes no stick, so no reading can be judged here. Look up the level check in the maker's service information: its "
        "temperatures, whether the engine runs, and the marks. With these under level in the job, and with the volume between the marks "
        "(pour a known amount between two readings at one temperature), this sheet says what a reading means at any temperature."
    ),
    "level.grows": (
        "The whole fill expands by {growth}, and all of that shows in the sump: {rise} on the stick. The window is {window}, and the "
        "target is the middle of the marks. Outside the window a reading predicts; it never instructs."
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
    "level.column.off": "off the middle",
    "level.column.follows": "what follows",
}  # fmt: skip
