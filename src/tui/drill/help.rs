//! What can be typed in a drill.

/// Orders with what they do, in the order of a job.
pub const ORDERS: [(&str, &str); 24] = [
    ("try", "bring about what should work, and look (the complaint)"),
    ("clear", "say: neutral, chocked, everybody clear. Before anything may crank"),
    ("CONTROL POSITION", "as in `key on`; `press NAME` holds, `off` lets go and switches off"),
    ("watch NAME, listen NAME", "eyes and ears on a part, as the machine stands"),
    ("lamp POINT", "test lamp clipped to the frame; `lamp plus POINT` to battery plus"),
    ("lamp POINT / POINT", "test lamp across two points (`led POINT`, `led plus POINT`)"),
    ("volts POINT", "meter on volts, black lead on the frame"),
    ("drop POINT / POINT", "volts lost between two points"),
    ("ohms POINT / POINT", "dead circuit only; `ground` stands for the frame"),
    ("clamp WIRE, mv FUSE", "amps in a wire; millivolts across a fuse"),
    ("amps FUSE, bulb FUSE", "meter or bulb in place of a fuse that is out"),
    ("wiggle CONNECTOR", "move it about while something should work"),
    ("part NAME, join NAME", "a connector"),
    ("out FUSE, in FUSE", "take a fuse out, put it back"),
    ("ground off, ground on", "the battery's ground cable"),
    ("lift CABLE, bolt CABLE", "a heavy cable off its stud, and on again"),
    ("bridge NAME, swap NAME", "fused jumper; a known good one (`unbridge`, `swap back`)"),
    ("open PLACE", "get to a place; a look does that by itself"),
    ("name PART", "say which part is bad"),
    ("mend PART", "repair or renew it, in the safe order"),
    ("prove", "try everything that should work"),
    ("done, give up", "the end, with the review"),
    ("hint", "costs points; a second one tells the step"),
    ("state, found, circuit, rest", "how it stands; what was seen; the paths; starter rests"),
];
