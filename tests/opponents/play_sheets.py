"""Two play lists as people write them, forty lines each, and what each line is on the demo team.

Written before the list of the trade's names in `seed_content`, from what high-school play sheets and breakdowns
commonly say (common practice; no published list). One is all short forms, the other longer words with numbers,
directions and tags. What a line may mean is a set of keys: "Counter" alone can be either counter. ANY_PASS is a pass
without its protection; nothing is expected of a line with an empty set, which the demo team has no play for.
"""

from __future__ import annotations

ANY_PASS = "Any pass"
PASS = {ANY_PASS}
COUNTER = {"counter-guard-and-tackle", "counter-guard-and-back"}
TRAP = {"short-trap", "long-trap"}
JET = {"jet-sweep", "outside-zone", "pin-and-pull", "buck-sweep"}

Sheet = tuple[tuple[str, set[str]], ...]

SHORT_FORMS: Sheet = (
    ("IZ", {"inside-zone"}),
    ("OZ", {"outside-zone"}),
    ("Pwr", {"power"}),
    ("Pwr O", {"power"}),
    ("CTR", COUNTER),
    ("CTR GT", {"counter-guard-and-tackle"}),
    ("CTR GH", {"counter-guard-and-back"}),
    ("Stretch", {"outside-zone"}),
    ("ZR", {"zone-read"}),
    ("Jet", JET),
    ("Buck", {"buck-sweep"}),
    ("Trap", TRAP),
    ("Iso", {"lead"}),
    ("Dive", {"base", "inside-zone"}),
    ("QB Pwr", {"quarterback-power"}),
    ("QB Ctr", {"quarterback-counter"}),
    ("Spd Opt", {"speed-option"}),
    ("Veer", {"veer"}),
    ("Mid", {"midline"}),
    ("Mid Opt", {"midline"}),
    ("P&P", {"pin-and-pull"}),
    ("Toss", {"toss"}),
    ("Rkt", {"toss"}),
    ("Duo", {"duo"}),
    ("Dart", {"dart"}),
    ("Draw", {"draw"}),
    ("QB Draw", {"draw"}),
    ("G Scheme", {"down", "guard-kick"}),
    ("Down", {"down"}),
    ("Split Zn", {"split-zone"}),
    ("Slice", {"split-zone"}),
    ("4 Verts", PASS),
    ("Mesh", PASS),
    ("Smash", PASS),
    ("Stick", PASS),
    ("PA Boot", PASS | {"boot"}),
    ("Nkd", PASS | {"boot"}),
    ("SO", PASS | {"sprint-out", "speed-option"}),
    ("Bbl", PASS),
    ("Sneak", {"base", "duo"}),
)

LONGER_WORDS: Sheet = (
    ("24 Power Rt", {"power"}),
    ("34 Iso Lt", {"lead"}),
    ("Inside Zone Left", {"inside-zone"}),
    ("Outside Zone Weak", {"outside-zone"}),
    ("Counter Trey", {"counter-guard-and-tackle"}),
    ("Counter OF", COUNTER),
    ("Counter H", {"counter-guard-and-back"}),
    ("GT Counter", {"counter-guard-and-tackle"}),
    ("Zone Read Strong", {"zone-read"}),
    ("Read Option", {"zone-read"}),
    ("Triple Option", {"veer"}),
    ("Inside Veer Rt", {"veer"}),
    ("Midline Option", {"midline"}),
    ("Speed Option Field", {"speed-option"}),
    ("Jet Sweep Rt", JET),
    ("Fly Sweep", JET),
    ("Buck Sweep Strong", {"buck-sweep"}),
    ("Pin and Pull Lt", {"pin-and-pull"}),
    ("Quick Toss", {"toss"}),
    ("Toss Sweep", {"toss"}),
    ("Crack Toss", {"toss"}),
    ("FB Trap", TRAP),
    ("Wham", TRAP | {"split-zone", "guard-kick"}),
    ("Tackle Trap", {"dart", "long-trap"}),
    ("FB Dive", {"base", "inside-zone"}),
    ("Lead Draw", {"draw"}),
    ("Delay", {"draw"}),
    ("QB Power Read", {"quarterback-power", "power"}),
    ("Q Counter", {"quarterback-counter"}),
    ("QB Sneak", {"base", "duo"}),
    ("Split Flow Zone", {"split-zone"}),
    ("Play Action Pass", PASS),
    ("Bootleg Rt", PASS | {"boot"}),
    ("Sprint Out Lt", PASS | {"sprint-out"}),
    ("Rollout", PASS | {"sprint-out"}),
    ("Bubble Screen", PASS),
    ("RB Screen", PASS),
    ("Slant/Flat", PASS),
    ("Curl Flat", PASS),
    ("Shallow Cross", PASS),
)
