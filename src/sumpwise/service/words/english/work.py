"""What to do: in short, where you are, what comes next, step by step, the timetable, the torques."""

from __future__ import annotations

WORDS: dict[str, str] = {
    # -- in short
    "summary.title": "In short",
    "summary.moved": "**Buy:** nothing more; {poured} went in for the {drained} that came out.",
    "summary.done": "**Do:** nothing more; {what} done.",
    "summary.done_fresh": "**Do:** nothing more; {what} done, and {fresh} of the fill is new fluid.{aim}",
    "summary.missed": " The chance that it is at least {target} is {probability} ({asked} wanted).",
    "summary.missed_by": (
        " The chance that it is at least {target} is {probability} ({asked} wanted); if that is not enough for you, about "
        "{more} more through the line would do."
    ),
    "summary.drains_done": "{count} {count#drain|drains}",
    "summary.bursts_done": "{count} {count#burst|bursts} through the cooler line",
    "summary.set_done": "**Set:** nothing more.",
    "summary.level": "**Pour:** nothing more; the level is {off} off target.",
    "summary.level_checked": "**Pour:** nothing more; the level was correct when it was checked.",
    "summary.look": "**Check:** for leaks after a day.{due}",
    "summary.due": " The next service is due {when}.",
    "summary.due_first": " The next service is due {when}, whichever comes first.",
    "summary.due_date": "on {date}",
    "summary.due_time": "{time} from now",
    "summary.due_distance": "at {distance}",
    "summary.due_unknown": " See the maintenance schedule for when the next service is due.",
    "summary.buy": "**Buy:** {packs}{besides}.",
    "summary.buy_in_all": "**Buy:** {packs}{besides} (for the whole job).",
    "summary.buy_nothing": "**Buy:** nothing yourself.",
    "summary.packs_of": "{packs} of {fluid}",
    "summary.nothing": "",
    "summary.washer": "; {washers} new {washers#washer|washers}",
    "summary.filter": "; a new washer, filter and gasket",
    "summary.at_hand": "no packs are listed; have {volume} of {fluid} at hand",
    "summary.own_fluid": "the maker's fluid",
    "summary.at_hand_of": "{volume} for {fluid}",
    "summary.do": "**Do:** {method}{times}{so_far}; {fresh} of the fill will then be new fluid.",
    "summary.do_check": "**Do:** only the level check is left; {what} done, and {fresh} of the fill is new fluid.{aim}",
    "summary.so_far": " ({what} so far)",
    "summary.times": ", {count} in all",
    "summary.do_nothing": "**Do:** {method} yourself: no method here is for the owner alone; see the steps.",
    "summary.set": "**Set:** {bolts}.",
    "summary.bolt": "wrench to {setting} for the {bolt} ({torque})",
    "summary.bolt_not": "{bolt} {torque}, {setting}",
    "summary.set_nothing": "**Set:** nothing yourself.",
    "summary.set_maker": "**Set:** the job lists no bolts; take torques from the maker's service information.",
    "summary.pour": "**Pour:** back what came out, expect {volume}{how}, at {temperature}, engine off.",
    "summary.pour_stated": "**Pour:** {volume}{how}, at {temperature}, engine off, before the first burst.",
    "summary.pour_hole": "**Pour:** into the fill hole until it runs out, expect {volume}{how}, at {temperature}, engine off.",
    "summary.labelled": ", as labelled",
    "summary.pour_now": "**Pour:** {volume} now, as described below.",
    "summary.pour_nothing_now": "**Pour:** nothing right now.",
    "summary.pour_nothing": "**Pour:** nothing yourself.",
    "summary.check stick": "**Check:** the level by the maker's procedure; look up its temperature and marks before you begin.",
    "summary.check stick, window": "**Check:** the level on the stick at {window}; the target is the middle of the marks.",
    "summary.check overflow plug": "**Check:** close the overflow plug while it trickles, at the maker's temperature.",
    "summary.check overflow plug, window": "**Check:** close the overflow plug while it trickles, at {window}.",
    "summary.check fill hole": "**Check:** it is full when it runs out of the fill hole, with the unit level.",
    "summary.check fill hole, window": "**Check:** it is full when it runs out of the fill hole, with the unit level, at {window}.",
    "summary.check sealed": "**Check:** the level is for trained hands with the maker's procedure.",
    "summary.check sealed, window": "**Check:** the level is for trained hands with the maker's procedure, at {window}.",
    "brief.more": "For the full sheet, with methods side by side, the account of the log and all assumptions, use --full.",
    "brief.pictures": "Pictures:",
    # -- now and next
    "now.title": "Where you are",
    "now.nothing": "Nothing is in the log yet.",
    "now.read": "The level was read; nothing has been drained or poured yet.",
    "now.lost": "The log cannot be followed, so nothing can be said about the fill.",
    "now.done": "So far {out} came out and {in_} went in, compared at {reference}.",
    "now.lacks": "**{amount} short** of the target level.",
    "now.lacks_start": "**{amount} short** of where the level was before the work; {why}.",
    "now.over": "**{amount} is too much** for the target level.",
    "now.over_start": "**{amount} more is in** than before the work; {why}.",
    "now.no_reading": "no stick reading says where that was",
    "now.no_check": "nobody can say exactly where that was",
    "now.no_stick": "the job does not describe the stick, so no reading says where that was",
    "now.out": "So far {out} came out, compared at {reference}, and nothing went in.",
    "now.taken_as_plug": (
        "Log entry {entry}, {said}, is taken as more from the plug. Write what = \"pan\" in it if pan and filter brought it, else what = "
        "\"plug\"."
    ),
    "now.no_burst": (
        "Log entry {entry}, {said}, is taken as drained at the plug. If the pump brought it, write in it how long the engine ran, as "
        "duration, or what = \"burst\"; else what = \"plug\"."
    ),
    "now.right": "As far as can be told, the level is right, {off} off target.",
    "now.near": "The level is {off} off target, less than twice its uncertainty: it may be right.",
    "now.checked": (
        "By the count the level is {off} from where it was before the work; since then it was checked where the fluid runs out, and that "
        "decides."
    ),
    "now.by_the_book": (
        "By the count the level is {off} off target. It was drained once more and the amount of the maker's book went in, and that says "
        "more: read the level before anything else goes in or out."
    ),
    "now.unsure": "By the count the level is {off} off target: too uncertain to call it right.",
    "now.unsure_start": "By the count the level is {off} off what it was before the work: too uncertain to call it the same; {why}.",
    "now.stick": "By the count and all readings together the level is {off} off target; what the stick says, read last, decides.",
    "now.even": "As far as can be told, the level is where it was before the work ({off}); {why}.",
    "now.drive": "There is too little in to drive yet.",
    "now.fresh": "New fluid inside so far: {fresh} of the fill.",
    "now.fresh_seen": "New fluid inside so far, by the amounts and the matched vials: {fresh} of the fill.",
    "now.fresh_unknown": "It is not known how much new fluid is inside: {reason}.",
    "now.halted": "**Do not start the engine and do not drive**: a stop sign was seen.",
    "now.full": "**Do not start the engine**: there may be far too much in, and it would foam.",
    "now.disputed": "Do not drive until it is settled which of the two is right.",
    "now.engine": "**Do not start the engine**: the sump may be {below} below what the pump needs, and it would draw air.",
    "next.title": "What comes next",
    "next.stopped": "**Stop here**: do what the stop sign at the top says, and nothing else until its cause is found.",
    "next.resumed": (
        "Once the cause is found and dealt with, write how in the job file, under log {count#entry|entries} {entries}, as settled = \"…\": "
        "then this sheet goes on."
    ),
    "next.mend": "**Correct log entry {entry}** in the job file: {reason}. Until then pour nothing and do not start the engine.",
    "next.mend_guess": (
        "If nobody knows any more how much it was, write the best guess with how far off it may be, after a ±: this sheet then says "
        "whether that is good enough to go on."
    ),
    "next.read_again": "**Read the stick again** in its window, and look for the wrong entry; until then pour nothing by the count.",
    "next.find_entry": (
        "**Find the wrong entry first**{named}, and correct it in the job file. Pour nothing by the count, and do not start the engine to "
        "read the stick: {may}. If it cannot be found, what is left, in this order:"
    ),
    "next.may_starve": "the sump may be too low for the pump",
    "next.may_foam": "there may be far too much in, and it would foam",
    "next.named": ", beginning with those named at the top",
    "next.too_hot": "**Engine off**, let it cool, and find out why it is so hot.",
    "next.count_lost": "**Read the level again**: the standard uncertainty of the count is {doubt}, too much to go on by it.",
    "next.count_lost_still": (
        "**Pour nothing more by the count**: its standard uncertainty is {doubt}, too much to go on by it, and too much to start the "
        "engine and read the level. What helps with the engine off, in this order:"
    ),
    "next.way_measure": "{advice}, and correct what the job file says of it: the level would then be known to ± {left}, {enough}.",
    "next.way_enough": "enough to start the engine",
    "next.way_short": "on its own not enough to start the engine",
    "next.way stick": "If the stick has a mark for a cold check with the engine off, read it: at that mark the pump has its fluid.",
    "next.way overflow plug": "If the maker says so, fill it with the engine off until it runs out of the overflow plug.",
    "next.way_refill": (
        "Drain it at the plug once more, until it only drips, and pour in what the maker's book gives for a drain and refill{book}; write "
        "down both."
    ),
    "next.way_book": " ({book} by the job)",
    "next.way_maker": (
        "Look in the maker's service information for how it is filled with the engine off, or have the level set in a workshop."
    ),
    "next.way_on": "Then start, warm it up, check the level{at} and write it down: the log goes on from there.",
    "next.way_anew": "Then start, warm it up, check the level{at}, and begin a new log with that: this one contradicts itself.",
    "next.way_book_unsaid": " (write it in the job file too, under capacity, as book_refill)",
    "next.way_window": " at {window}",
    "next.apart": (
        "**Wipe the stick and read it a third time** before anything is added or taken out: {readings} are farther apart than careful "
        "readings are."
    ),
    "next.median": "By the last {count} readings together, the one in the middle:",
    "next.wait": "Wait until the fluid is in the window, then read again; expect {reading} above the lower mark there.",
    "next.done": "**The level is right: leave it.** Write down date and odometer, and look for leaks after a day.",
    "next.add": "**Add {pour}**, then read again.",
    "next.add_steps": "**Add {pour}** in {steps} steps, then read again.",
    "next.take_out": "**Take out {amount}**, then read again. Do not drive until then.",
    "next.too_full": "**By the count there is {amount} too much in**: read the level before you drive, and take out the excess.",
    "next.too_full_far": (
        "**By the count there is {amount} too much in**: do not start the engine. Take out the excess first, or, if an entry is wrong, "
        "correct it in the job file."
    ),
    "next.too_full_hole": (
        "**By the count there is {amount} more in than before the work**: it was that low before, or an entry is wrong. With the unit "
        "level, open the fill plug: whatever is too much runs out; close it when it only drips."
    ),
    "next.too_full_start": (
        "**By the count there is {amount} more in than before the work**: do not start the engine. Unless it was that low before, take "
        "out the excess; if in doubt, drain it and refill with the amount in the maker's book."
    ),
    "next.expect": "**About {pour}** goes in, at {temperature}, engine off; it is full when it runs out of the hole.",
    "next.pan": (
        "Pan and filter still hold about {pan}: if they come off, enter what they bring first, drained with --what pan; it is poured back "
        "too."
    ),
    "next.pan_back": "Pan and filter came off: clean pan and magnet, fit a new filter, and bolt the pan back on with a new gasket.",
    "next.plug": "Before you pour anything: put the plug back in with a new washer, {torque}.",
    "next.plug_first": "Before anything else: put the plug back in with a new washer, {torque}.",
    "next.pour": "**Pour {pour}** as the {vessel} reads, at {temperature}, engine off.",
    "next.pour_weighed": "**Pour {pour}**, which weighs {mass}, engine off.",
    "next.pour_rest": "It holds no more: write that down, fill the {vessel} again, and pour about {rest} more.",
    "next.kept_back": (
        "The level is then {kept} short: the job says to pour back only {refill} before the first burst. The rest goes in after the last "
        "one."
    ),
    "next.kept": (
        "That is {kept} less than what is short: the uncertainty of the count is {doubt}, and the level must not end above the upper mark. "
        "The stick will show what is still missing."
    ),
    "next.pour_book": (
        "**Pour {pour}**, engine off: with what went in since the last drain, that is what the maker's book gives for a drain and refill. "
        "Then start, warm it up, and read the level."
    ),
    "next.leak": "**Find the leak first**, log entry {entry}, {said}: what is poured in before it is tight runs out again.",
    "next.level_right": "The level is right: leave it as it is.",
    "next.stop_here": "You may also stop here, since the level is right: then enter the service in the vehicle's record as it is.",
    "next.mix": (
        "**Drive until it is warm**, so that old and new fluid mix, and write the drive down; drain number {number} of {count} is next."
    ),
    "next.hole_first": (
        "It is full only when it has run out of the fill hole: if it has not, go on filling until it does, wait until it only drips, and "
        "close it{closing}."
    ),
    "next.unjudged": (
        "The job does not describe the stick, so this sheet cannot judge the reading. By the maker's procedure: if it is right, leave it; "
        "if it is low, add a little and read it again."
    ),
    "next.done_maker": "When it is right, you are done: write down date and odometer, and look for leaks after a day.",
    "next.machine": (
        "What an exchange machine pumps through goes in while it comes out and is not entered in the log: enter the service in the "
        "vehicle's record, with --fresh and the share of new fluid that this sheet gives for so much."
    ),
    "next.done_plug": (
        "**The level was correct when the plug was closed on the last trickle: leave it.** Write down date and odometer, and look for "
        "leaks after a day."
    ),
    "next.done_hole": (
        "**The level was correct when fluid ran out of the hole: leave it.** Write down date and odometer, and look for leaks after a day."
    ),
    "next.pour_plain": "**Pour {pour}** of new fluid, at {temperature}, engine off.",
    "next.pour_packs": "**Pour {pour}** of new fluid, {packs}, as labelled, at {temperature}, engine off.",
    "next.whole": "{packs}",
    "next.part": "out of one {name}",
    "next.part_of": "out of one of {name}",
    "next.rest": "{rest} out of one {name}",
    "next.rest_of": "{rest} out of one of {name}",
    "next.open": "out of the open {name}",
    "next.open_of": "out of the open one of {name}",
    "next.open_then": "the {kept} left in the open {name}, then {more}",
    "next.open_of_then": "the {kept} left in the open one of {name}, then {more}",
    "next.whole_and_part": "{packs} and {rest} of another",
    "next.whole_and_other": "{packs} and {rest} of one {name}",
    "next.burst": (
        "**Burst {number} of {count}**: open the return line into {pail}, run the engine about {seconds} s for {burst}, engine off, "
        "read what came out, and write it down with the seconds that the engine ran.{first}"
    ),
    "next.enough": (
        "**Enough**: the probability that the inside is at least {target} fresh is {probability} ({asked} wanted). The {left} planned "
        "{left#burst|bursts} still to come {left#is|are} not needed for that."
    ),
    "next.more": (
        "**All planned bursts are done, but the target is not certain**: the probability that the inside is at least {target} fresh is "
        "{probability} ({asked} wanted). About {more} more through the line would do; if you leave it at that:"
    ),
    "next.not_to_be_had": (
        "**All planned bursts are done, but the target is out of reach**: the probability that the inside is at least {target} fresh is "
        "{probability} ({asked} wanted), and more of the same would not change that."
    ),
    "next.burst_helped": (
        "**Burst {number} of {count}**: open the return line into {pail}. One at the key, a helper at the funnel: run the engine about "
        "{seconds} s for {burst}, while the helper pours steadily, {rate}; when the funnel stops, stop the engine. Read what came out and "
        "what went in, and write both down with the seconds that the engine ran.{first}"
    ),
    "next.first_burst": (
        " No longer than that, and less comes out than in the other bursts: what drained back out of the converter while the engine was "
        "off, {back}, is drawn from the sump again first."
    ),
    "next.helped": "First write down what the helper poured while the pump ran; it is part of what follows.",
    "next.below_target": (
        "**The bursts planned are no longer enough for the target**: as the log stands, {fresh} of the fill would then be new, and the "
        "probability that it is at least {target} is {probability} ({asked} wanted).{more}"
    ),
    "next.more_bursts": " {count} in all would do: write bursts = {count} under exchange in the job file.",
    "next.no_more_bursts": " More of the same would not change that.",
    "next.brim": (
        "**The {vessel} is full**, log entry {entry}, {said}: if more runs out, or ran over, catch it in another vessel and enter it "
        "before anything is poured."
    ),
    "next.shorter": "It is shorter than planned: by the log the sump is {lower} lower than it was to be by now.",
    "next.shorter_doubt": (
        "It is shorter than planned: the standard uncertainty of the count is {doubt}, so the sump may be {lower} lower than it was to be "
        "by now. Once the level has been read again, with the line back on, the bursts can be longer."
    ),
    "next.clean": "**Before you pour, empty the {vessel} and wipe it clean**: by the log {caught} of old fluid is in it.",
    "next.empty": (
        "**Empty the {vessel} first**: by the log {caught} is in it, it holds {holds}, and what comes next would fill it to the brim or "
        "more."
    ),
    "next.drain": "**Drain number {number} of {count}**: expect {plug}; read what came out and its temperature, and write both down.",
    # -- steps
    "steps.title": "Step by step: {method}",
    "steps.torque_values": "torque ({bolts})",
    "steps.torque_bolt": "{bolt} {torque}, wrench set to {setting}",
    "steps.torque_plain": "{bolt} {torque}, {setting}",
    "steps.closing": ", then tighten {count#it to its|each plug to its} {torque}",
    "steps.torque_maker": "torque from the maker's service information",
    "steps.read_level": (
        "Read the level on the stick at {window}, as the maker says, and write it down with the temperature; check the fluid for the stop "
        "signs below."
    ),
    "steps.read_level_maker": (
        "Look up the maker's level check before you begin: at which temperature, with the engine running or not, in which gear, and what "
        "the stick must show. Read the level that way and write it down with the temperature; check the fluid for the stop signs below."
    ),
    "steps.drain": "Drain the plug into {pail}, expect {plug}; read what came out and its temperature, and write both down.",
    "steps.vessel": "the {name}",
    "steps.a_pail": "a clean pail with a scale",
    "steps.refill": "Fit the plug with a new washer, tighten it to its {torque}, and pour back what came out, compared at one temperature.",
    "steps.drive": (
        "Start, move through the gears, drive until warm, then check the level on the stick at {window}; add at most a third of the volume "
        "between the marks at a time."
    ),
    "steps.drive_maker": (
        "Start, move through the gears, drive until warm, then check the level by the maker's procedure and at its temperature; add a "
        "little at a time, and never beyond the upper mark."
    ),
    "steps.machine": (
        "Have the exchange done; ask how much fluid it pumps through, and check the level yourself in the maker's window. In the vehicle's "
        "record it is entered with --fresh and the share of new fluid."
    ),
    "steps.drain_and_pan": (
        "Drain the plug into {pail}, expect {plug}; then pan and filter off, about {pan} more. Read, write down, empty it."
    ),
    "steps.plug": "Fit the plug with a new washer, and tighten it to its {torque}.",
    "steps.filter": "Fit a new filter, clean pan and magnet, and tighten bolts and plug to their {torque}.",
    "steps.pour_back": "Pour back as much as came out, about {refill}, with the engine off.",
    "steps.pour_rest": "Pour back the rest of what came out at the plug, about {rest}.",
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
    "steps.empty": "The {vessel} holds {holds}: empty it after every {count} bursts, before it is full to the brim.",
    "steps.empty_each": "The {vessel} holds {holds}: empty it after every burst, before it is full to the brim.",
    "steps.shortened": (
        "**Shorter bursts than the job asks**: one of {asked} takes {lasts} s, and the pump draws air after {air} s. The plan has {count} "
        "of {burst}."
    ),
    "steps.air_helped": (
        "With the helper pouring {rate} meanwhile, it draws air after about {seconds} s. When the funnel stops, stop the engine."
    ),
    "steps.look": "Park on level ground. When the plug is out, check what sticks to it, and the fluid, for the stop signs below.",
    "steps.loosen_fill": "Loosen the fill plug before you drain anything: if it does not come loose, leave the drain plug shut.",
    "steps.gears": "Engine running, move through the gears and back to neutral or park, so that every passage is full.",
    "steps.overflow": (
        "At a fluid temperature of {window}, engine running, open the overflow plug: if nothing comes out, add fluid; if it streams out, "
        "wait; close it when it only trickles{closing}. The fluid stays in that window for about {left} at idle."
    ),
    "steps.overflow_maker": (
        "At the maker's temperature, engine running, open the overflow plug: if nothing comes out, add fluid; if it streams out, wait; "
        "close it when it only trickles{closing}."
    ),
    "steps.again": "{times} times in all, with a drive after each.",
    "steps.fill_hole": (
        "Fit the drain plug with a new washer and tighten it to its {torque}. Fill through the fill hole until it runs out, wait until it "
        "only drips, and close it{closing}; compare what went in with what came out."
    ),
    "steps.leaks": "Drive a short distance, and look for leaks.",
    "steps.sealed": (
        "A sealed unit has no level check for the owner: leave fluid and level to people with the maker's procedure and tool."
    ),
    "steps.sealed_after": (
        "Do not drive it like this: have the level set by people with the maker's procedure and tool, who read the temperature while they "
        "do it."
    ),
    "steps.line_back": "Put the line back on, and look for leaks with the engine running.",
    "steps.outlet_ahead": (
        "The outlet is ahead of the inside: at the last burst the hose shows about {shown} old while {inside} is left inside. A drive "
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
        " Stop the first burst after {seconds} s at the latest: what drained back out of the converter while the engine was off, "
        "{back}, is drawn from the sump again before anything comes out of the line."
    ),
    "steps.air_short": (
        "The pump draws air after about {seconds} s of running with nothing poured in (reserve {reserve} below the start level, less "
        "the {short} not poured back; {reaction} to react)."
    ),
    "steps.no_timetable": "No timetable can be made: {reason}.",
    "steps.timed_apart": (
        "{of} disagree: from {slow} to {fast}. The seconds here go by the fastest; check those in the log: did the engine run all that "
        "time? After a night the converter fills first, and less comes out."
    ),
    "steps.timed_far_apart": (
        "**No burst until the seconds are right**: {of} disagree, from {slow} to {fast}, and by the fastest nobody could stop the engine "
        "before the pump draws air. Correct the seconds in the log; the plan goes by {flow} until then."
    ),
    "steps.timed_too_fast": (
        "**No burst until the seconds are right**: by those in the log the pump gives {fast}, and nobody could stop the engine before it "
        "draws air. Correct the seconds in the log; the plan goes by {flow} until then."
    ),
    "steps.timed_alone": "the timed bursts",
    "steps.timed_stated": "the timed bursts and the flow that the job states",
    "steps.timed": "The pump gives {flow}, timed over {count} {count#burst|bursts}.",
    "steps.tube": "Cold fluid runs down this filler tube at about {rate} ({venting} of what the tube could carry, as air has to come out).",
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
    "timetable.no_tube": "the job has no filler tube (bore, length, head) or no viscosities of the fluid",
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
        "Torques are the maker's, copied from the job; the setting keeps the true torque inside the window. Torques in pounds are in "
        "pound-force."
    ),
    "torque.no_wrench": "no wrench listed",
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
        "{bolt}: with the wrench set for its torque, it gets {applied}; the wrench may be off by {off}, and its click repeats to {again} "
        "by hand. Chance of missing the window: {chance}."
    ),
    "torque.with_adapter": (
        "{bolt} with the {adapter} adapter: set to {setting} it puts {torque} on the bolt, and the setting below is for this adapter too; "
        "set to {torque} the bolt would get {unadjusted}{limit}."
    ),
    "torque.adapter_square": "{bolt}: at this angle the {adapter} adapter changes nothing; set the wrench as without it.",
    "torque.over": ", over the limit",
    "torque.under": ", under the limit",
    "torque.within": "",
    "torque.no_window": "one figure",
    "torque.one_figure": (
        "{bolt}: the job has one figure and no limits; with the wrench set for it the bolt gets {applied}. The wrench may be off by "
        "{off}, and its click repeats to {again} by hand."
    ),
    "torque.column.bolt": "bolt",
    "torque.column.torque": "torque",
    "torque.column.window": "window",
    "torque.column.setting": "set the wrench to",
}  # fmt: skip
