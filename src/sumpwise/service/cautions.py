"""What every sheet says about safety, and what stops the work whatever a number says."""

from __future__ import annotations

FIRST = (
    "The vehicle maker's service information decides fluid, level procedure, torque and limits; local rules come next. "
    "This sheet computes consequences and supplies no specification."
)

CAUTIONS = (
    "Fluid after a drive scalds: gloves, sleeves and eye protection; let it cool below 50 °C before opening the plug.",
    "With the engine running keep hands, hair and hose clear of fans, belts and exhaust; never run it in a closed room.",
    "Parking brake on, wheels chocked, vehicle level and on stands, never on a jack alone; nobody under a running vehicle.",
    "The cooler line is under pressure: tie hose and pail down before starting, one person at the key, stop at the agreed volume.",
    "Spilled fluid is slippery and burns: absorb it at once and keep it from the exhaust.",
    "Waste fluid goes in closed, labelled containers to a collection point, never into a drain or the ground.",
    "A sealed fill, a fill checked by overflow plug, or a high-voltage drive belongs to trained hands where the maker says so.",
)
"""The usual cautions, on every sheet."""

STOP_SIGNS: dict[str, str] = {
    "pink or milky fluid": "coolant in the fluid: do not drive; the cooler and the fluid need a workshop",
    "bubbles in the hose": "the pump draws air: switch off, pour, and look for the cause before going on",
    "no flow when hot": "switch off; a thermostat, a blocked cooler or the wrong line: do not run the pump dry",
    "flakes or chunks": "parts are coming off: a fluid change does not mend it; have it looked at",
    "burnt smell with slip": "the clutches are worn: new fluid does not mend it; have it looked at",
    "fluid at 120 °C or more": "switch off and let it cool; find out why before going on",
    "foam on the stick": "too full, air drawn in, or water: do not drive before the cause is known",
    "plug torque does not build": "the thread gives way: do not turn on; mend the thread before filling",
    "wrong bottle": "drain it again before the engine turns; mixtures of specifications are never called safe",
    "lost count": "stop pumping; restore the level by the maker's check before going on",
}
"""Seen -> what it means. Each says stop; none is ever a probability."""
