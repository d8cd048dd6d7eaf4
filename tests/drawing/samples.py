"""Scenes to draw in tests: invented situations, laid out by hand in yards."""

from quizgen.drawing.scene import (
    Band,
    BandState,
    Blocker,
    Defender,
    End,
    Key,
    Mark,
    MarkKind,
    Motion,
    Note,
    OnHalf,
    OnMan,
    OnTrack,
    Point,
    Scene,
    ScreenHalf,
    Span,
    Symbol,
    Tap,
    Tone,
    Track,
    TrackPhase,
    Window,
)

FIVE = (("LT", -3.18), ("LG", -1.57), ("C", 0.0), ("RG", 1.57), ("RT", 3.18))


def line(*, tight_end: float | None = 5.1, moved: dict[str, float] | None = None) -> tuple[Blocker, ...]:
    places = dict(FIVE)
    if tight_end is not None:
        places["TE"] = tight_end
    places |= moved or {}
    return tuple(
        Blocker(name, x, 0.0, symbol=Symbol.SQUARE if name == "C" else Symbol.CIRCLE) for name, x in places.items()
    )


def backs(*, is_gun: bool = True) -> tuple[Blocker, ...]:
    return (
        (Blocker("QB", 0.0, 4.5, label="Q"), Blocker("RB", -1.6, 4.8, label="B"))
        if is_gun
        else (Blocker("QB", 0.0, 1.0, label="Q"), Blocker("RB", 0.0, 6.5, label="B"))
    )


DEFENSE = (
    Defender("end-l", -4.3, -0.9, "E"),
    Defender("tackle", -0.8, -0.9, "N"),
    Defender("three", 2.2, -0.9, "T"),
    Defender("end-r", 6.1, -0.9, "DE"),
    Defender("will", -2.3, -4.4, "W"),
    Defender("mike", 0.5, -4.4, "M", is_own=True),
    Defender("sam", 4.0, -4.2, "S"),
    Defender("fs", 1.0, -11.0, "FS", is_dim=True),
    Defender("ss", -5.5, -7.0, "SS", is_dim=True),
    Defender("lc", -14.0, -6.5, "CB", is_dim=True),
)

LANES = (
    Tap("a", "outside the left tackle", Span.between(None, "LT"), "C"),
    Tap("b", "left tackle to left guard", Span.between("LT", "LG"), "B"),
    Tap("c", "left guard to center", Span.between("LG", "C"), "A"),
    Tap("d", "center to right guard", Span.between("C", "RG"), "A"),
    Tap("e", "right guard to right tackle", Span.between("RG", "RT"), "B"),
    Tap("f", "right tackle to tight end", Span.between("RT", "TE"), "C"),
    Tap("g", "outside the tight end", Span.between("TE", None), "D"),
)

TRACK = Scene(
    title="Where do you enter?",
    description="Five linemen and a tight end on your right. You are Mike, over the right A gap, 4 yards deep.",
    blockers=line() + backs(),
    defenders=DEFENSE,
    taps=LANES,
    marks=(Mark(MarkKind.EYES, "RG"),),
    hash_xs=(-9.0, 9.0),
)

UNDER_CENTER = Scene(
    title="Where do you enter?",
    description="Under center, no tight end.",
    blockers=line(tight_end=None) + backs(is_gun=False),
    defenders=DEFENSE[:-3],
    taps=(*LANES[:5], Tap("f", "outside the right tackle", Span.between("RT", None), "C")),
)

PRESSURE = Scene(
    title="The six-man cross",
    description="Six rush. Mike crosses behind Will.",
    blockers=line() + backs(),
    defenders=DEFENSE,
    tracks=(
        Track("t1", (Point(-4.3, -0.9), Point(-4.0, 1.0), Point(-3.0, 3.4)), order=None),
        Track("t2", (Point(-0.8, -0.9), Point(0.6, 0.3), Point(0.8, 1.6))),
        Track("t3", (Point(2.2, -0.9), Point(2.4, 1.6))),
        Track("t4", (Point(6.1, -0.9), Point(6.1, 1.0), Point(4.0, 3.6))),
        Track("t5", (Point(-2.3, -4.4), Point(-0.6, -1.9), Point(-0.7, 1.6)), order=1),
        Track("t6", (Point(0.5, -4.4), Point(-1.0, -3.0)), order=2, is_own=True, end=End.PLAIN),
        Track("t7", (Point(-1.0, -3.0), Point(-2.3, -1.2), Point(-2.4, 1.8)), phase=TrackPhase.SECOND, is_own=True),
    ),
    notes=(Note("hook to curl", "sam"), Note("deep middle", "fs")),
)

_PULLED = {"LT": -3.0, "C": -0.6, "RG": 1.2, "RT": 2.7, "TE": 4.2}

PULL = Scene(
    title="The guard pulls and kicks",
    description="The left guard pulls to your right and kicks the end.",
    blockers=tuple(
        Blocker(man.id, man.x, man.y, man.symbol, man.label, is_puller=man.id == "LG") for man in line() + backs()
    ),
    defenders=DEFENSE[:-1],
    tracks=(
        Track(
            "pull", (Point(-1.57, 0.0), Point(-0.6, 1.3), Point(3.6, 1.3), Point(5.9, -0.4)), end=End.T, is_curved=True
        ),
        Track("down1", (Point(3.18, 0.0), Point(2.5, -0.7)), end=End.T),
        Track("down2", (Point(5.1, 0.0), Point(4.2, -3.0)), end=End.T),
        Track("back", (Point(0.0, 0.0), Point(-0.6, -0.6)), end=End.T),
        Track("right", (Point(0.5, -4.4), Point(2.0, -3.0), Point(4.9, 0.3)), tone=Tone.RIGHT),
        Track("wrong", (Point(0.5, -4.4), Point(-0.6, -2.4), Point(-1.8, 0.5)), tone=Tone.WRONG),
    ),
    bands=(
        Band("was", Span.between("LG", "C"), "A", to_s=0.5),
        Band("inside", Span.between("TE", "LG"), "C inside", BandState.RIGHT, from_s=1.4),
        Band("left", Span.between("LT", "C"), "left A/B", BandState.WRONG, from_s=0.5),
        Band("outside", Span.between("LG", None), "C outside", BandState.OPEN, from_s=1.4),
    ),
    notes=(Note("nobody here", Point(6.6, -3.0), Tone.WRONG, from_s=1.6), Note("kick", "end-r")),
    motions=(
        Motion("LG", (Key(0.0, -1.57, 0.0), Key(0.4, -0.6, 1.3), Key(1.2, 3.6, 1.3), Key(1.7, 6.0, -0.1))),
        *(
            Motion(name, (Key(0.0, x, 0.0), Key(0.9, _PULLED[name], -0.3 if name != "TE" else -1.5)))
            for name, x in (*FIVE, ("TE", 5.1))
            if name != "LG"
        ),
        Motion("mike", (Key(0.0, 0.5, -4.4), Key(0.6, 0.5, -4.2), Key(1.3, 2.0, -3.0), Key(2.2, 5.0, -0.2))),
        Motion("end-r", (Key(0.0, 6.1, -0.9), Key(1.7, 6.9, -0.5))),
        Motion("RB", (Key(0.0, -1.6, 4.8), Key(0.6, 0.0, 4.0), Key(1.1, 1.0, 3.6), Key(2.2, 4.9, 1.2))),
    ),
)

MOVED = Scene(
    title="They zone to the right",
    description="The line has moved to your right. Where is your gap now?",
    blockers=line(moved={"LT": -2.2, "LG": -0.5, "C": 0.9, "RG": 2.2, "RT": 3.9, "TE": 5.6}) + backs(),
    defenders=DEFENSE[:-1],
    taps=LANES,
    tracks=tuple(
        Track(f"z{n}", (Point(x, 0.0), Point(y, 0.35)), end=End.T)
        for n, (x, y) in enumerate(((-2.9, -2.2), (-1.2, -0.5), (0.2, 0.9)))
    )[:0],
)

NARROW = Scene(
    title="The narrow lanes",
    description="Two lanes are less than a yard wide.",
    blockers=(
        *line(moved={"LG": -1.0, "C": -0.2, "RG": 0.55, "RT": 3.0}),
        Blocker("LG2", 3.9, 0.4),
        Blocker("FB", 4.4, 1.2),
        *backs(),
    ),
    defenders=DEFENSE[:-1],
    taps=(
        *LANES[:5],
        Tap("f", "inside the kick", Span.between("RT", "LG2"), "C"),
        Tap("g", "outside the kick", Span.between("LG2", "TE"), "C2"),
        Tap("h", "outside the tight end", Span.between("TE", None), "D"),
    ),
)

WHO = Scene(
    title="Who goes first?",
    description="Tap the man who can hook you.",
    blockers=line() + backs(),
    defenders=DEFENSE[:-1],
    taps=tuple(Tap(chr(97 + n), f"the {man.id}", OnMan(man.id)) for n, man in enumerate(line())),
)

EVERYBODY = Scene(
    title="Who owns what he left?",
    description="Tap the defender.",
    blockers=line() + backs(),
    defenders=DEFENSE[:-1],
    taps=(
        *tuple(Tap(chr(97 + n), f"the {man.id}", OnMan(man.id)) for n, man in enumerate(DEFENSE[:7])),
        Tap("y", "left half", OnHalf("C", ScreenHalf.LEFT), part=2),
        Tap("z", "right half", OnHalf("C", ScreenHalf.RIGHT), part=2),
    ),
)

PATHS = Scene(
    title="Which path is yours?",
    description="Three paths.",
    blockers=line() + backs(),
    defenders=DEFENSE[:-1],
    tracks=(
        Track("p1", (Point(0.5, -4.4), Point(-0.5, -2.6), Point(-0.8, 0.9))),
        Track("p2", (Point(0.5, -4.4), Point(1.5, -2.6), Point(2.4, 0.9))),
        Track("p3", (Point(0.5, -4.4), Point(3.5, -3.2), Point(6.6, 0.9)), phase=TrackPhase.SECOND),
    ),
    taps=(
        Tap("a", "the left path", OnTrack("p1"), "1"),
        Tap("b", "the middle path", OnTrack("p2"), "2"),
        Tap("c", "the right path", OnTrack("p3"), "3"),
    ),
)

WHO_FIRST = Scene(
    title="Who goes first, who comes second?",
    description="Each rusher is tapped in two parts.",
    blockers=line(tight_end=None) + backs(),
    defenders=DEFENSE[:-3],
    taps=tuple(
        Tap(f"{man.id}.{part}", f"the {man.id}", OnMan(man.id), part=part)
        for part in (1, 2)
        for man in (DEFENSE[1], DEFENSE[2], DEFENSE[4], DEFENSE[5])
    ),
    marks=(Mark(MarkKind.READ, "RT"), Mark(MarkKind.FREE, "will"), Mark(MarkKind.EYES, "QB")),
)

SHOULDER_TO_SHOULDER = Scene(
    title="Who washes you?",
    description="They stand foot to foot.",
    blockers=tuple(Blocker(man.id, man.x * 0.4, man.y, man.symbol, "X", is_dim=True) for man in line(tight_end=None))
    + backs(),
    defenders=DEFENSE[1:3] + DEFENSE[5:6],
    taps=(
        *(Tap(man.id, f"the {man.id}", OnMan(man.id)) for man in line(tight_end=None)),
        Tap("x", "right half of Mike", OnHalf("mike", ScreenHalf.RIGHT), part=2),
        Tap("y", "left half of Mike", OnHalf("mike", ScreenHalf.LEFT), part=2),
    ),
    window=Window(-6.0, 6.0, -6.0, 7.0),
)

ALL = {
    "track": TRACK,
    "under-center": UNDER_CENTER,
    "pressure": PRESSURE,
    "pull": PULL,
    "moved": MOVED,
    "narrow": NARROW,
    "who": WHO,
    "everybody": EVERYBODY,
    "paths": PATHS,
    "who-first": WHO_FIRST,
    "shoulder-to-shoulder": SHOULDER_TO_SHOULDER,
}
