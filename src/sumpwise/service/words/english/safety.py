"""Stop signs and cautions."""

from __future__ import annotations

WORDS: dict[str, str] = {
    # -- stop signs
    "stopped.title": "STOP",
    "stop.title": "Stop signs",
    "stop.any": "Any one of these stops the work, whatever a number on this sheet says: {signs}.",
    "stop.sign": "**Stop: {sign}** – {means}.",
    "sign.milky": "pink or milky fluid",
    "sign.milky.means": "coolant in the fluid: do not drive; the cooler and the fluid need a workshop",
    "sign.water": "milky fluid",
    "sign.water.means": "water in the fluid: find out how it got in; new fluid alone will not fix it",
    "sign.bubbles": "bubbles in the hose",
    "sign.bubbles.means": "the pump draws air: switch off, pour, and look for the cause before going on",
    "sign.no_flow": "no flow when hot",
    "sign.no_flow.means": "switch off; a thermostat, a blocked cooler or the wrong line: do not run the pump dry",
    "sign.flakes": "flakes or chunks",
    "sign.flakes.means": "parts are coming off: a fluid change will not fix it; have it looked at",
    "sign.burnt": "burnt smell with slip",
    "sign.burnt.means": "the clutches are worn: new fluid will not fix it; have it looked at",
    "sign.hot": "fluid at {limit} or more",
    "sign.hot.means": "switch off and let it cool; find out why before going on",
    "sign.foam": "foam on the stick",
    "sign.foam.means": "too full, air drawn in, or water: do not drive until the cause is known",
    "sign.foam_plug": "foam at the overflow plug",
    "sign.foam_plug.means": "too full, air drawn in, or water: do not drive until the cause is known",
    "sign.thread": "plug torque does not build",
    "sign.thread.means": "the thread is stripping: stop tightening, and have the thread repaired before filling",
    "sign.rounded": "rounded plug",
    "sign.rounded.means": (
        "the wrench slips on its head: stop turning before nothing grips it any more; have it taken out with the right tool, and fit a "
        "new one"
    ),
    "sign.bottle": "wrong bottle",
    "sign.bottle.means": "drain it again before anything turns; no mixture of specifications can be called safe",
    "sign.count": "lost count",
    "sign.count.means": "stop pumping; restore the level by the maker's check before going on",
    "sign.count_poured": "lost count",
    "sign.count_poured.means": "stop pouring; restore the level by the maker's check before going on",
    # -- cautions
    "cautions.title": "Cautions",
    "caution.first": (
        "The vehicle maker's service information decides on fluid, level procedure, torque and limits; local rules come next. This sheet "
        "computes what follows from them and supplies no specification."
    ),
    "caution.scald": (
        "After a drive the fluid scalds: wear gloves, sleeves and eye protection; let it cool below {cool} before opening the plug."
    ),
    "caution.running": (
        "With the engine running, keep hands, hair and hose clear of fans, belts and exhaust; never run it in a closed room."
    ),
    "caution.stands": (
        "Parking brake on, wheels chocked, vehicle level and on stands, never on a jack alone; nobody under a running vehicle."
    ),
    "caution.line": (
        "The cooler line is under pressure: tie hose and pail down before starting, one person at the key, stop at the agreed volume."
    ),
    "caution.spill": "Spilled fluid is slippery and can burn: soak it up at once and keep it off the exhaust.",
    "caution.waste": "Waste fluid goes in closed, labelled containers to a collection point, never into a drain or the ground.",
    "caution.own_fluid": (
        "A continuously variable unit runs on the fluid made for it: any other lets its belt or chain slip, and cannot be flushed out."
    ),
    "caution.hands": "{what} is a job for trained hands if the maker says so, and so is a high-voltage drive.",
    "caution.hands any": "a sealed fill, or one whose level is set by an overflow plug,",
    "caution.hands overflow plug": "a level that is set by an overflow plug",
    "caution.hands sealed": "a sealed fill",
}  # fmt: skip
