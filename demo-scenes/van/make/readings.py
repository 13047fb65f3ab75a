"""From true places to what the instruments would have said, as CSV text."""

from chance import Chance
from frame import length, sub, unturned
from truth import PROBE_AT, PROBE_TURN_DEG, probed, tape_distances, taped

TAPE_MM = 1.5  # a tape and a straight-edge, read to the millimetre
PROBE_MM = 0.3  # an arm with a point, read to the tenth

HEAD = "# Invented data: no vehicle was measured. Made by make/make.py from seed {seed}.\n"


def stand_csv(seed):
    """The stand by tape, in vehicle axes: points as three offsets, then distances between marks."""
    chance = Chance(seed)
    lines = [HEAD.format(seed=seed), "mark,x,y,z,sigma,from,distance,side\n"]
    places = {}
    for name, place in taped():
        places[name] = place
        read = [p + chance.bell(TAPE_MM) for p in place]
        lines.append(f"{name},{read[0]:.0f},{read[1]:.0f},{read[2]:.0f},{TAPE_MM},,,\n")
    for name, place, hooks in tape_distances():
        for hook, side in hooks:
            read = length(sub(place, places[hook])) + chance.bell(TAPE_MM)
            lines.append(f"{name},,,,{TAPE_MM},{hook},{read:.0f},{side}\n")
    return "".join(lines)


def probe_csv(seed):
    """The bay by probe, in the arm's own axes."""
    chance = Chance(seed)
    lines = [HEAD.format(seed=seed), "mark,x,y,z\n"]
    for name, place in probed():
        own = unturned(sub(place, PROBE_AT), PROBE_TURN_DEG)
        read = [p + chance.bell(PROBE_MM) for p in own]
        lines.append(f"{name},{read[0]:.1f},{read[1]:.1f},{read[2]:.1f}\n")
    return "".join(lines)
