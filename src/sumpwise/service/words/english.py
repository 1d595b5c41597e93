"""Every sentence of a sheet in English: id -> text with `{slots}`, `{count#one|many}` and `**emphasis**`.

A translation is another table with the same keys; a test keeps the keys and the slots equal to what the facts ask for.
"""

from __future__ import annotations

from sumpwise.service.schema import COMMON, LISTS, LOOSELY, TABLES, UNPUBLISHED, UNSAID, Default, Doubt
from sumpwise.service.words.columns import COLUMNS

WORDS: dict[str, str] = {
    # -- joints and small words
    "join.comma": ", ",
    "join.plus": " + ",
    "join.semicolon": "; ",
    "none": "",
    "about": "about",
    "dash": "–",
    "yes": "yes",
    "no": "no",
    "money.unit": "units of money",
    "chance.under": "under 0.1 %",
    "chance.million": "less than 1 in a million",
    # -- methods
    "method.nothing": "nothing",
    "method.hands": "to trained hands",
    "method.drain": "one drain",
    "method.drains": "drains, a drive after each",
    "method.yearly": "one drain, again every year",
    "method.bursts": "pan off, then bursts by the cooler line",
    "method.machine stirred": "machine exchange, fully stirred",
    "method.machine plug": "machine exchange, nothing mixed",
    "method.drain and machine": "one drain, then machine exchange",
    "impossible.stop": "stop: {reason}",
    "impossible.no_reserve": "stop: the pump draws air before a burst has given anything",
    "impossible.sealed": "sealed fill: a workshop with the maker's procedure checks the level",
    "impossible.no_line": "no cooler line to open",
    "impossible.thermostat": "the thermostat shuts the cooler line until the fluid is hot",
    # -- what to buy
    "buy.title": "What to buy",
    "buy.packs": "Buy **{packs}**: {volume} for **{cost}**. Chance of running short: {short}; {left} is left over.",
    "buy.bare": "{packs}, {volume} for {cost}, would do on average. Chance of running short: {short}.",
    "buy.next": "The next size up is {packs}, {volume}: {more} more for another {price}.",
    "buy.pack": "{count} × {name}",
    "buy.no_packs": "The job lists no packs, so nothing is priced.",
    "buy.no_packs_of": "The job lists no packs of it.",
    "buy.other": "**{fluid}**, another fluid, which never goes in with the one above:",
    "buy.need_of": "need of {fluid}",
    "buy.column.for": "for",
    "buy.column.amount": "amount",
    "buy.need": "need",
    "buy.refill": "refill after plug, pan and filter",
    "buy.bursts": "{count} {count#burst|bursts} of {burst}",
    "buy.trim": "trim",
    # -- in short
    "summary.title": "In short",
    "summary.buy": "**Buy:** {packs}{besides}.",
    "summary.buy_nothing": "**Buy:** nothing yourself.",
    "summary.nothing": "",
    "summary.washer": "; {washers} new {washers#washer|washers}",
    "summary.filter": "; a new washer, filter and gasket",
    "summary.at_hand": "no packs are listed; have {volume} of the maker's fluid at hand",
    "summary.at_hand_of": "{volume} for {fluid}",
    "summary.do": "**Do:** {method}{times}; {fresh} of the fill is new fluid then.",
    "summary.times": ", {count} in all",
    "summary.do_nothing": "**Do:** {method} that an owner could do alone; see the steps.",
    "summary.set": "**Set:** {bolts}.",
    "summary.bolt": "wrench to {setting} for the {bolt} ({torque})",
    "summary.bolt_not": "{bolt} {torque}, {setting}",
    "summary.set_nothing": "**Set:** nothing yourself.",
    "summary.set_maker": "**Set:** the job lists no bolts; take torques from the maker's service information.",
    "summary.pour": "**Pour:** back what came out, expect {volume}, at {temperature}, the engine off.",
    "summary.pour_hole": "**Pour:** into the fill hole until it runs out, expect {volume}, at {temperature}, the engine off.",
    "summary.pour_nothing": "**Pour:** nothing yourself.",
    "summary.check stick": "**Check:** the level by the maker's procedure; look up its temperature and its marks before you begin.",
    "summary.check stick, window": "**Check:** the level by the stick at {window}, the target the middle of the marks.",
    "summary.check overflow plug": "**Check:** close the overflow plug while it trickles, at the maker's temperature.",
    "summary.check overflow plug, window": "**Check:** close the overflow plug while it trickles, at {window}.",
    "summary.check fill hole": "**Check:** full when it runs out of the fill hole, the unit level.",
    "summary.check fill hole, window": "**Check:** full when it runs out of the fill hole, the unit level, at {window}.",
    "summary.check sealed": "**Check:** the level is for trained hands with the maker's procedure.",
    "summary.check sealed, window": "**Check:** the level is for trained hands with the maker's procedure, at {window}.",
    "brief.more": "In full, with the methods side by side, the account of the log and all assumptions: --full.",
    "brief.pictures": "Pictures:",
    # -- now and next
    "now.title": "Where you are",
    "now.nothing": "Nothing is in the log yet.",
    "now.read": "The level was read; nothing has been drained or poured yet.",
    "now.lost": "The log cannot be followed, so nothing can be said of the fill.",
    "now.done": "So far {out} came out and {in_} went in, compared at {reference}.",
    "now.lacks": "**{amount} short** of the target level.",
    "now.lacks_start": "**{amount} short** of where the level stood before the work; no stick reading says where that was.",
    "now.over": "**{amount} is too much** for the target level.",
    "now.over_start": "**{amount} more is in** than before the work; no stick reading says where the level was.",
    "now.out": "So far {out} came out, compared at {reference}, and nothing went in.",
    "now.right": "The level is on its target as far as can be told, {off} off.",
    "now.even": "As much is in as before the work, {off} off, as far as can be told; no stick reading says where the level was.",
    "now.drive": "Too little is in to drive yet.",
    "now.fresh": "New fluid inside so far: {fresh} of the fill.",
    "now.halted": "**Do not start the engine and do not drive**: a stop sign was seen.",
    "now.engine": "**Do not start the engine**: the sump may be {below} below what the pump needs, and it would draw air.",
    "next.title": "What comes next",
    "next.stopped": "**Stop here**: do what the stop sign at the top asks, and nothing else before its cause is found.",
    "next.mend": "**Put log entry {entry} right** ({reason}), or read the level again; nothing is poured or started before.",
    "next.read_again": "**Read the stick again** in its window, and look for the wrong entry; nothing is poured by the count before.",
    "next.too_hot": "**Engine off**, let it cool, find out why it is so hot.",
    "next.count_lost": "**Read the level again**: the count is in doubt by {doubt} (standard), too much to pour by it.",
    "next.wait": "Wait until the fluid is in the window, then read again; {reading} over the lower mark is foreseen there.",
    "next.done": "**The level is right: leave it.** Write down date and odometer, and look for leaks after a day.",
    "next.add": "**Add {amount}**, then read again.",
    "next.add_steps": "**Add {amount}** in {steps} steps, then read again.",
    "next.take_out": "**Take out {amount}**, then read again. Do not drive before.",
    "next.too_full": "**By the count {amount} too much is in**: read the level before anything is driven, and take out what is too much.",
    "next.too_full_start": (
        "**By the count {amount} more is in than before the work**: start nothing. Unless it was that low before, take out what is too "
        "much; in doubt drain it and pour again what the maker's book gives."
    ),
    "next.expect": "**About {pour}** is to go in, at {temperature}, the engine off; what runs out of the hole says when it is full.",
    "next.pan": "Pan and filter still hold about {pan}: if they come off, enter it first, and it is poured back too.",
    "next.plug": "Before anything is poured: the plug back in with a new washer, {torque}.",
    "next.pour": "**Pour {pour}** as the {vessel} reads, at {temperature}, the engine off.",
    "next.pour_rest": "It holds no more: write that down, fill the {vessel} again, and pour about {rest} more.",
    "next.done_hole": (
        "**The level was right when it ran out of the hole: leave it.** Write down date and odometer, and look for leaks after a day."
    ),
    "next.pour_plain": "**Pour {pour}** of new fluid at {temperature}, the engine off.",
    "next.pour_packs": "**Pour {pour}** of new fluid, {packs}, at {temperature}, the engine off.",
    "next.whole": "{count} × {name}",
    "next.part": "{rest} out of {name}",
    "next.whole_and_part": "{count} × {name} and {rest} of another",
    "next.burst": (
        "**Burst {number} of {count}**: open the return line into {pail}, run the engine about {seconds} s for {burst}, engine off, "
        "read what came out and write it down."
    ),
    "next.drain": "**Drain number {number} of {count}**: expect {plug}; read what came out and its temperature, and write both down.",
    # -- methods side by side
    # what changed from one sheet to another
    "inputs.title": "What is written differently",
    "inputs.column.where": "where",
    "inputs.column.before": "before",
    "inputs.column.after": "after",
    "answers.title": "What comes out differently",
    "answers.column.answer": "answer",
    "answers.column.before": "before",
    "answers.column.after": "after",
    "answers.column.by": "moved by",
    "answers.column.clear": "more than its doubt",
    "answers.column.because": "because of",
    "said.title": "What is said differently",
    "same.title": "What is different",
    "changed.nothing": "Nothing.",
    "changed.unknown": "One of the sheets does not hold the job that it rests on.",
    "changed.absent": "–",
    "changed.entries": "{count} {count#entry|entries}",
    "changed.points": "{points} points",
    "changed.money": "{sign}{money}",
    "changed.clear": "yes",
    "changed.within": "no",
    "changed.together": "the changes together",
    "changed.not_tried": "not tried one by one",
    "changed.new": "New: {text}",
    "changed.gone": "Gone: {text}",
    "answer.need": "need of new fluid",
    "answer.packs": "packs to buy",
    "answer.cost": "cost of the packs",
    "answer.method": "method",
    "answer.fresh": "fresh inside afterwards",
    "answer.count": "drains, bursts or exchanges",
    "answer.volume": "fluid for the method",
    "answer.hours": "hands-on hours",
    "answer.mean_age": "mean age of the fluid over the years",
    "answer.alone_minutes": "time for the bursts, alone",
    "answer.helped_minutes": "time for the bursts, with a helper",
    "answer.setting": "setting of the wrench, {bolt}",
    "answer.fresh_now": "fresh inside now, by the log",
    "answer.off_now": "level off the target now",
    "answer.resident": "fresh inside by the outlet",
    "answer.sure": "chance that the target is met",
    "answer.joint": "level by count and stick together",
    "answer.pour": "next pour",
    "methods.title": "Methods side by side",
    "methods.not_as_asked": "**Not as the job asks**: {method}: {reason}.",
    "methods.no_bursts": "the job states neither a target nor how many bursts",
    "methods.last": "The last {portion} of {method} buys {points} points of fresh inside.",
    "methods.chosen": "Chosen: **{method}**.",
    "methods.none": "**Nothing is planned for its owner**: {reason}.",
    "methods.chosen_for": "Chosen: **{method}**, for a target of {target} fresh inside with a probability of at least {asked}.",
    "methods.not_sure": (
        "**The target is not sure**: {method}, which is planned, comes to {fresh} fresh inside, at least {target} only with a "
        "probability of {probability}, not {asked}; {way}."
    ),
    "methods.missed": "**The target is missed**: {method}, which is planned, comes to {fresh} fresh inside, not {target}; {way}.",
    "methods.would_reach": "{method} would reach it, with {fresh}",
    "methods.best_is_this": (
        "no method here reaches it, and this is the best that can be had (an exchange without any mixing is a limit, not a method)"
    ),
    "methods.best_is": (
        "no method here reaches it; the best that can be had is {method}, {fresh} (an exchange without any mixing is a limit, not a "
        "method)"
    ),
    "methods.meaning": (
        "Fresh inside is the share of new fluid in the whole fill, not what the hose shows and never the share of life left. ± is one "
        "standard uncertainty: the true value lies within it about two times in three. Cost counts the fluid used at the price of the "
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
        "method is better on age, fluid and money at once. A limit cannot be reached by any machine: it would need new fluid that never "
        "mixes with the old. An age says nothing about the life left."
    ),
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
    "quote.claim": "A claim of {claim} new with {volume} is **{says}**: fully stirred it makes {stirred}, at the very most {most}.",
    "quote.plausible": "plausible",
    "quote.only_plug": "possible only if new and old never mix",
    "quote.impossible": "impossible",
    "quote.takes": "Fully stirred, {claim} new takes {volume}.",
    "quote.point": "At the usual stirring the quote costs {price} for each per cent of new fluid.",
    # -- steps
    "steps.title": "Step by step: {method}",
    "steps.torque_values": "torque ({bolts})",
    "steps.torque_bolt": "{bolt} {torque}, wrench set to {setting}",
    "steps.torque_plain": "{bolt} {torque}, {setting}",
    "steps.closing": ", to its {torque}",
    "steps.torque_maker": "torque from the maker's service information",
    "steps.read_level": (
        "Read the level by the stick at {window}, as the maker says, and write it down with the temperature; look at the fluid for the "
        "stop signs below."
    ),
    "steps.read_level_maker": (
        "Look up the maker's level check before you begin: at which temperature, with the engine running or not, in which gear, and what "
        "must show. Read the level that way and write it down with the temperature; look at the fluid for the stop signs below."
    ),
    "steps.drain": "Drain the plug into {pail}, expect {plug}; read what came out and its temperature, and write both down.",
    "steps.vessel": "the {name}",
    "steps.a_pail": "a clean pail with a scale",
    "steps.refill": "Fit the plug with a new washer to its {torque}, pour back as much as came out, compared at one temperature.",
    "steps.drive": (
        "Start, move through the gears, drive until warm, check the level by the stick at {window}; add in steps of at most a third of "
        "what lies between the marks."
    ),
    "steps.drive_maker": (
        "Start, move through the gears, drive until warm, then check the level by the maker's procedure and at its temperature; add a "
        "little at a time, and never beyond the upper mark."
    ),
    "steps.machine": "Have the exchange done; ask how much fluid it pushes, and check the level yourself in the maker's window.",
    "steps.drain_and_pan": (
        "Drain the plug into {pail}, expect {plug}; pan and filter bring about {pan} more. Read, write down, empty it."
    ),
    "steps.drain_and_pan_off": (
        "Drain the plug into {pail}, expect {plug}; then pan and filter off, and catch what they bring. Read, write down, empty it."
    ),
    "steps.filter": "New filter, clean pan and magnet; bolts and plug to their {torque}.",
    "steps.pour_back": "Pour {refill} with the engine off.",
    "steps.burst": (
        "Open the return line into {pail}. Run the engine for one burst of {burst}, about {seconds} s at {flow}, stop, pour back what "
        "came out. {times} {times#time|times}."
    ),
    "steps.burst_helped": (
        "Open the return line into {pail}. One at the key, a helper at the funnel: run the engine for one burst of {burst}, about "
        "{seconds} s at {flow}, while the helper pours steadily, {rate}; stop, and pour the rest of what came out. {times} "
        "{times#time|times}."
    ),
    "steps.shortened": (
        "**Shorter bursts than the job asks**: one of {asked} takes {lasts} s, and the pump draws air after {air} s. Planned are {count} "
        "of {burst}."
    ),
    "steps.air_helped": (
        "With the helper pouring {rate} meanwhile it draws air after about {seconds} s. When the funnel stops, the engine stops."
    ),
    "steps.look": "Stand level. When the plug is out, look at what sticks to it and at the fluid for the stop signs below.",
    "steps.loosen_fill": "Loosen the fill plug before you drain anything: if it does not come loose, leave the drain plug shut.",
    "steps.gears": "Engine running, move through the gears and back to neutral or park, so that every passage is full.",
    "steps.overflow": (
        "At {window} in the fluid, engine running, open the overflow plug: with nothing coming out add fluid, with a stream wait, and "
        "close it while it only trickles{closing}."
    ),
    "steps.overflow_maker": (
        "At the maker's temperature, engine running, open the overflow plug: with nothing coming out add fluid, with a stream wait, and "
        "close it while it only trickles{closing}."
    ),
    "steps.again": "{times} times in all, with a drive after each.",
    "steps.fill_hole": (
        "Fit the drain plug with a new washer to its {torque}. Fill by the fill hole until it runs out of it, wait until it only drips, "
        "and close it{closing}; compare what went in with what came out."
    ),
    "steps.leaks": "Drive a little, and look for leaks.",
    "steps.sealed": (
        "A sealed unit has no level check for its owner: leave fluid and level to hands that have the maker's procedure and tool."
    ),
    "steps.sealed_after": (
        "Do not drive it like this: let hands that have the maker's procedure and tool set the level, with the temperature read out while "
        "they do."
    ),
    "steps.line_back": "Put the line back on, and look for leaks with the engine running.",
    "steps.outlet_ahead": (
        "The outlet runs ahead of the inside: at the last burst the hose shows about {shown} old while {inside} stays inside. A drive "
        "then darkens the fluid again as the pockets give up what they held."
    ),
    "steps.outlet_behind": (
        "The outlet lags behind the inside: at the last burst the hose still shows about {shown} old while {inside} is left inside."
    ),
    "steps.air": (
        "The pump draws air after about {seconds} s of running with nothing poured in (reserve {reserve} below the start level; "
        "{reaction} to react)."
    ),
    "steps.air_short": (
        "The pump draws air after about {seconds} s of running with nothing poured in (reserve {reserve} below the start level, less "
        "the {short} not poured back; {reaction} to react)."
    ),
    "steps.no_timetable": "No timetable can be made: {reason}.",
    "steps.tube": "Down this filler tube the cold fluid runs at about {rate} ({venting} of the tube's own rate, for air has to come out).",
    "steps.after_refill": "refill",
    "steps.after_burst": "burst {number} and pour",
    "steps.column.after": "after",
    "steps.column.poured": "poured in all",
    "steps.column.inside": "old inside",
    "steps.column.outlet": "old at the outlet",
    "steps.column.pail": "in the pail",
    # -- timetable
    "timetable.title": "Timetable of the bursts",
    "timetable.times": (
        "Alone, {alone} in all, {change} each way between engine and funnel. With a helper who pours while the pump runs, {helped}: "
        "bursts at {bursts}. Times are minutes and seconds from the first start."
    ),
    "timetable.no_tube": "the job states no filler tube (bore, length, head) or no viscosities of the fluid",
    "timetable.burst": "burst",
    "timetable.pour": "pour",
    "timetable.empty": "empty the pail",
    "timetable.column.start": "start",
    "timetable.column.what": "what",
    "timetable.column.amount": "amount",
    "timetable.column.pail": "in the pail",
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
    # -- events of a log
    "event.stick": "stick",
    "event.drained": "drained",
    "event.poured": "poured",
    "event.emptied": "emptied",
    "event.lost": "lost",
    "event.drive": "drive",
    "event.seen": "seen",
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
    # -- torque
    "torque.title": "Torque",
    "torque.no_bolts": "The job lists no bolts; take torques from the maker's service information.",
    "torque.makers": (
        "Torques are the maker's, copied from the job; the setting keeps every true torque inside the window. A torque in pounds is in "
        "pound-force."
    ),
    "torque.no_wrench": "no wrench in the job",
    "torque.not_this_wrench": "not with this wrench",
    "torque.no_band": "{bolt}: {reason}.",
    "torque.too_small": (
        "{bolt}: a setting of {setting} is below {least}, a fifth of full scale or the wrench's own minimum: use another wrench."
    ),
    "torque.too_small_adapter": (
        "{bolt} with the {adapter} adapter: a setting of {setting} is below {least}, a fifth of full scale or the wrench's own minimum: "
        "use another wrench."
    ),
    "torque.too_large": "{bolt}: a setting of {setting} is above the full scale of this wrench, {most}.",
    "torque.too_large_adapter": "{bolt} with the {adapter} adapter: a setting of {setting} is above the full scale of this wrench, {most}.",
    "torque.with_adapter": (
        "{bolt} with the {adapter} adapter: set to {setting} it puts {torque} on the bolt, and the band below is for this adapter too; "
        "set to {torque} the bolt would get {unadjusted}{limit}."
    ),
    "torque.over": ", over the limit",
    "torque.under": ", under the limit",
    "torque.within": "",
    "torque.column.bolt": "bolt",
    "torque.column.torque": "torque",
    "torque.column.window": "window",
    "torque.column.setting": "set the wrench to",
    # -- level
    "level.title": "Level",
    "level.overflow": (
        "The level is right when the overflow plug is closed while it only trickles, at {window} in the fluid, engine running. Closed "
        "at the cold end of that the unit holds {early} off the middle, at the hot end {late}."
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
    # -- refusals
    "refused.drained": "that is more than there was to drain (was a pour left out, or a reading entered twice?)",
    "refused.falls": (
        "a cumulative reading cannot fall; if the vessel was emptied in between, enter that, else the count is lost: stop and read the "
        "stick"
    ),
    "refused.emptied": "the vessel was emptied without being read since, so what it held is not in the count: stop and read the stick",
    "refused.holds": "that is more than the vessel holds",
    "refused.pail": "a burst does not go into the pail",
    "refused.no_room": "the doubt leaves no room between starving and overfilling: stop and read the stick",
    "refused.air": "the burst outlasts the reserve, and the pump draws air",
    "refused.sump": "the sump does not hold as much",
    "refused.matches": "no unit of this size shows what was seen: a match or an amount is wrong",
    "refused.compartment": (
        "the drain leaves nothing for the fluid that does not drain: check plug_drain and pan_and_filter against the total, or state "
        "the volumes under circuit"
    ),
    "refused.band": "this wrench cannot keep the torque inside the window: use one of smaller deviation",
    # -- assumptions
    "assumptions.title": "Assumptions",
    "assumed.total": "Total {amount} (scope: {scope}).",
    "assumed.book": "The book's refill {amount} (scope: {scope}).",
    "assumed.no_scope": "not stated",
    "assumed.reference": "Volumes are compared at {reference}; expansion of lubricating oils after API MPMS 11.1.",
    "assumed.mixing": "A drive mixes the whole fill; the compartments inside are stirred tanks.",
    "assumed.rhythm": (
        "Each method is repeated at the interval, the yearly drain every year; hands-on hours are common practice, no source."
    ),
    "assumed.drains": "Without a target nothing counts the drains: three of them stand as an example.",
    "assumed.machine_fluid": "An exchange by a machine costs its fluid; the work of the shop is not counted.",
    "assumed.machine_quote": "An exchange by a machine costs what the quote says, fluid included.",
    "assumed.no_prices": "The job prices no fluid, so the costs hold washers and filters alone.",
    "assumed.key": "{what}: {value} ({reason}).{matters}",
    "assumed.usually": "{what}: {value}, usually {low} to {high} ({reason}).{matters}",
    "assumed.between": "{what}: {low} to {high} ({shape}; {reason}).{matters}",
    "assumed.doubt": "{what}: good to {doubt}, one standard uncertainty ({reason}).{matters}",
    "assumed.moves": " Moves {effects}. To know better: {find}.",
    "assumed.mute_find": " To be sure: {find}.",
    "assumed.best": "**The measurement that helps most**: {find}. What is taken instead moves {effects}.",
    "assumed.mute": "The rest moves no number above by an amount worth a word; some of it decides which steps and methods there are:",
    "effect.fresh": "fresh inside by ± {size} points",
    "effect.buy": "the amount to buy by ± {size}",
    "effect.level": "the level by ± {size}",
    "effect.air": "the time until the pump draws air by ± {size} s",
    "assumed.whose": "{what} ({whose})",
    "assumed.of_total": "{share} of the total",
    "assumed.of_need": "{share} of the need",
    "shape.uniform": "any value alike",
    "shape.log-uniform": "any order of magnitude alike",
    "choice.automatic": "automatic",
    "choice.stick": "stick",
    "choice.overflow plug": "overflow plug",
    "choice.fill hole": "fill hole",
    "choice.sealed": "sealed",
    "choice.units of money": "units of money",
    # -- stop signs
    "stopped.title": "STOP",
    "stop.title": "Stop signs",
    "stop.any": "Any one of these stops the work, whatever a number on this sheet says: {signs}.",
    "stop.sign": "**Stop: {sign}** – {means}.",
    "sign.milky": "pink or milky fluid",
    "sign.milky.means": "coolant in the fluid: do not drive; the cooler and the fluid need a workshop",
    "sign.bubbles": "bubbles in the hose",
    "sign.bubbles.means": "the pump draws air: switch off, pour, and look for the cause before going on",
    "sign.no_flow": "no flow when hot",
    "sign.no_flow.means": "switch off; a thermostat, a blocked cooler or the wrong line: do not run the pump dry",
    "sign.flakes": "flakes or chunks",
    "sign.flakes.means": "parts are coming off: a fluid change does not mend it; have it looked at",
    "sign.burnt": "burnt smell with slip",
    "sign.burnt.means": "the clutches are worn: new fluid does not mend it; have it looked at",
    "sign.hot": "fluid at {limit} or more",
    "sign.hot.means": "switch off and let it cool; find out why before going on",
    "sign.foam": "foam on the stick",
    "sign.foam.means": "too full, air drawn in, or water: do not drive before the cause is known",
    "sign.thread": "plug torque does not build",
    "sign.thread.means": "the thread is stripping: stop tightening, and mend the thread before filling",
    "sign.bottle": "wrong bottle",
    "sign.bottle.means": "drain it again before the engine turns; mixtures of specifications are never called safe",
    "sign.count": "lost count",
    "sign.count.means": "stop pumping; restore the level by the maker's check before going on",
    # -- cautions
    "cautions.title": "Cautions",
    "caution.first": (
        "The vehicle maker's service information decides fluid, level procedure, torque and limits; local rules come next. This sheet "
        "computes consequences and supplies no specification."
    ),
    "caution.scald": "Fluid after a drive scalds: gloves, sleeves and eye protection; let it cool below {cool} before opening the plug.",
    "caution.running": "With the engine running keep hands, hair and hose clear of fans, belts and exhaust; never run it in a closed room.",
    "caution.stands": (
        "Parking brake on, wheels chocked, vehicle level and on stands, never on a jack alone; nobody under a running vehicle."
    ),
    "caution.line": (
        "The cooler line is under pressure: tie hose and pail down before starting, one person at the key, stop at the agreed volume."
    ),
    "caution.spill": "Spilled fluid is slippery and burns: absorb it at once and keep it from the exhaust.",
    "caution.waste": "Waste fluid goes in closed, labelled containers to a collection point, never into a drain or the ground.",
    "caution.own_fluid": (
        "A continuously variable unit runs on the fluid made for it: another one lets its belt or chain slip, and cannot be washed out."
    ),
    "caution.hands": (
        "A sealed fill, a fill checked by overflow plug, or a high-voltage drive belongs to trained hands where the maker says so."
    ),
    # -- pictures
    "picture.fresh.title": "{job}: new fluid inside",
    "picture.fresh.description": "By {method}, {fresh} of the fill is new fluid after {volume} is poured.{aim}",
    "picture.aim": " The target is {target}.",
    "picture.level.title": "{job}: the level on the stick",
    "picture.level.description": "Marks and target of the stick, which hold at {window}. Read: {readings}.",
    "picture.account.title": "{job}: what went in and came out",
    "picture.account.description": "{count} {count#entry|entries} of the log, one below the other; after the last one the count is {off}.",
    "picture.age.title": "{job}: mean age of the fluid",
    "picture.age.description": "After {years}, each method repeated at its own interval: {ages}.",
    "picture.ends": "{method} {age}",
    "picture.axis.poured": "new fluid poured, {unit}",
    "picture.axis.fresh": "new fluid, %",
    "picture.axis.temperature": "temperature of the fluid, {unit}",
    "picture.axis.reading": "above the lower mark, {unit}",
    "picture.axis.off": "off the target (− too little, + too much), {unit}",
    "picture.axis.balance": "against before the work (− too little, + too much), {unit}",
    "picture.axis.years": "years from now",
    "picture.axis.age": "mean age, years",
    "picture.inside": "inside, as planned",
    "picture.outlet": "out of the hose at the end of a burst, as planned",
    "picture.logged": "inside, by the log",
    "picture.seen": "× matched at the hose",
    "picture.aimed": "target {share}",
    "picture.stop": "stop: {volume}",
    "picture.lower": "lower mark",
    "picture.target": "target",
    "picture.upper": "upper mark",
    "picture.window": "check window",
    "picture.between": "between the marks",
    "picture.right": "what a right fill shows",
    "picture.foreseen": "what this fill shows",
    "picture.reading": "{reading} at {temperature}",
    "picture.read": "○ read, in the order of the log",
    "picture.unread": "nothing yet",
    "picture.row": "{number} {entry}",
    "picture.count": "by the count:",
    "picture.stick": "× by the stick",
    # -- a card of numbers
    "card.lead": (
        "The vehicle maker's service information decides fluid, level, torque and limits. These numbers are computed; they supply no "
        "specification."
    ),
    "card.coverage": "± is the expanded uncertainty, k = 2: about 95 times in 100 the true value lies within.",
    "card.as_written": "± after a written value is the half-width it was given with.",
    "card.signs": "Stop and find the cause at: {signs}.",
    "card.from_job": "the job",
    "card.from_maker": "the maker's, copied from the job",
    "card.scope": "the job, scope: {scope}",
    "card.expected": "the job: expected before the work",
    "card.computed": "computed",
    "card.computed_assumed": "computed; assumed: {assumed}",
    "card.from_deviation": "computed from the wrench's deviation",
    "card.total": "total fill",
    "card.book": "book refill",
    "card.plug": "plug drain",
    "card.component": "{name}",
    "card.fresh": "fresh inside after {method}",
    "card.used": "fresh fluid used for it",
    "card.torque": "{bolt}, torque",
    "card.bolt_window": "{bolt}, window",
    "card.window": "level window",
    "card.setting": "{bolt}, wrench set to",
    "card.marks_volume": "between the marks",
    "card.interval_distance": "interval",
    "card.interval_time": "interval, time",
}  # fmt: skip

REASONS = (
    COMMON, UNPUBLISHED, UNSAID, LOOSELY, "as old as the vehicle: no age was written", "new: no age was written", "usual in such a unit",
    "a book does not say how long it dripped, how level and how warm it stood, and what ran back of the converter",
    "how long it dripped, and how level it stood", "no uncertainty was written", "nobody weighed it",
    f"what ISO 6789 permits for its size: {UNSAID}",
    f"the pan stays on; {UNPUBLISHED}", f"{COMMON}: the maker's book or one drain says it better",
    "half a division either way: a meniscus, a cloudy wall, an eye above it", "a floor that falls by one in a hundred",
    "that of the new fluid: none was written", "as if cold: none was written, and warm fluid is less than it looks",
    "not corrected: from none to 0.6 %, most of it has risen when it is read",
    "what has not run down the wall after half a minute, half more or less",
)  # fmt: skip
"""Why the rules of the schema take what they take; the reasons of plain defaults stand in the schema itself."""


def catalogue() -> dict[str, str]:
    """All sentences, the meanings and reasons of the schema among them."""
    words = WORDS | {f"{head}.means": meaning for head, meaning in COLUMNS.items()}
    for table, keys in (TABLES | LISTS).items():
        for name, key in keys.items():
            words[f"meaning.{table}.{name}"] = key.meaning
            words[f"find.{key.find}"] = key.find
            for taken in (key.default, key.doubt):
                if isinstance(taken, (Default, Doubt)):
                    words[f"reason.{taken.reason}"] = taken.reason
    return words | {f"reason.{reason}": reason for reason in REASONS}
