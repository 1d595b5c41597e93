"""What to do: in short, where you are, what comes next, step by step, the timetable, the torques."""

from __future__ import annotations

WORDS: dict[str, str] = {
    # -- in short
    "summary.title": "In short",
    "summary.moved": "**Buy:** nothing more; {poured} went in for the {drained} that came out.",
    "summary.done": "**Do:** nothing more; {what} done.",
    "summary.done_fresh": "**Do:** nothing more; {what} done, and {fresh} of the fill is new fluid.",
    "summary.drains_done": "{count} {count#drain|drains}",
    "summary.bursts_done": "{count} {count#burst|bursts} by the cooler line",
    "summary.set_done": "**Set:** nothing more.",
    "summary.level": "**Pour:** nothing more; the level is {off} off its target.",
    "summary.level_checked": "**Pour:** nothing more; the level was right when it was checked.",
    "summary.look": "**Check:** for leaks after a day.{due}",
    "summary.due": " The next service is due {when}.",
    "summary.due_first": " The next service is due {when}, whichever comes first.",
    "summary.due_date": "on {date}",
    "summary.due_time": "{time} from now",
    "summary.due_distance": "at {distance}",
    "summary.due_unknown": " When the next service is due stands in the maintenance schedule.",
    "summary.buy": "**Buy:** {packs}{besides}.",
    "summary.buy_nothing": "**Buy:** nothing yourself.",
    "summary.nothing": "",
    "summary.washer": "; {washers} new {washers#washer|washers}",
    "summary.filter": "; a new washer, filter and gasket",
    "summary.at_hand": "no packs are listed; have {volume} of the maker's fluid at hand",
    "summary.at_hand_of": "{volume} for {fluid}",
    "summary.do": "**Do:** {method}{times}{so_far}; {fresh} of the fill is new fluid then.",
    "summary.so_far": " ({what} so far)",
    "summary.times": ", {count} in all",
    "summary.do_nothing": "**Do:** {method} that an owner could do alone; see the steps.",
    "summary.set": "**Set:** {bolts}.",
    "summary.bolt": "wrench to {setting} for the {bolt} ({torque})",
    "summary.bolt_not": "{bolt} {torque}, {setting}",
    "summary.set_nothing": "**Set:** nothing yourself.",
    "summary.set_maker": "**Set:** the job lists no bolts; take torques from the maker's service information.",
    "summary.pour": "**Pour:** back what came out, expect {volume}, at {temperature}, the engine off.",
    "summary.pour_hole": "**Pour:** into the fill hole until it runs out, expect {volume}, at {temperature}, the engine off.",
    "summary.pour_now": "**Pour:** {volume} now, as told below.",
    "summary.pour_nothing_now": "**Pour:** nothing right now.",
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
    "now.even": "As much is in as before the work, as far as can be told ({off}); no stick reading says where the level was.",
    "now.drive": "Too little is in to drive yet.",
    "now.fresh": "New fluid inside so far: {fresh} of the fill.",
    "now.fresh_unknown": "How much new fluid is inside cannot be said: {reason}.",
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
    "next.add": "**Add {pour}**, then read again.",
    "next.add_steps": "**Add {pour}** in {steps} steps, then read again.",
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
    "next.kept": (
        "That is {kept} less than what is short: the count is in doubt by {doubt}, and the level must not end over the upper mark. What "
        "then lacks, the stick says."
    ),
    "next.done_plug": (
        "**The level was right when the plug was closed on the last trickle: leave it.** Write down date and odometer, and look for leaks "
        "after a day."
    ),
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
    "steps.pour_back": "Pour back as much as came out, about {refill}, with the engine off.",
    "steps.pour_stated": "Pour {refill} with the engine off.",
    "steps.burst": (
        "Open the return line into {pail}. Run the engine for one burst of {burst}, about {seconds} s at {flow}, stop, pour back what "
        "came out. {times} {times#time|times}.{first}"
    ),
    "steps.burst_helped": (
        "Open the return line into {pail}. One at the key, a helper at the funnel: run the engine for one burst of {burst}, about "
        "{seconds} s at {flow}, while the helper pours steadily, {rate}; stop, and pour the rest of what came out. {times} "
        "{times#time|times}.{first}"
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
    "steps.first_burst": (
        " Stop the first burst after {seconds} s at the latest: what ran back out of the converter while the engine stood, {back}, is "
        "taken from the sump again before anything comes out of the line."
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
    "torque.applied": (
        "{bolt}: with the wrench set for its torque it gets {applied}; the wrench may be off by {off}, and its click repeats to {again} "
        "in the hand. Chance of missing the window: {chance}."
    ),
    "torque.with_adapter": (
        "{bolt} with the {adapter} adapter: set to {setting} it puts {torque} on the bolt, and the band below is for this adapter too; "
        "set to {torque} the bolt would get {unadjusted}{limit}."
    ),
    "torque.over": ", over the limit",
    "torque.under": ", under the limit",
    "torque.within": "",
    "torque.no_window": "one figure",
    "torque.one_figure": (
        "{bolt}: the job has one figure and no limits; with the wrench set for it the bolt gets {applied}. The wrench may be off by "
        "{off}, and its click repeats to {again} in the hand."
    ),
    "torque.column.bolt": "bolt",
    "torque.column.torque": "torque",
    "torque.column.window": "window",
    "torque.column.setting": "set the wrench to",
}  # fmt: skip
