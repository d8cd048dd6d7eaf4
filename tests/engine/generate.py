"""Legal random snaps: formations of five to eight attached men, fronts, calls of three to seven rushers, team rules.

Everything is drawn through one function that chooses from a sequence, so a seed or Hypothesis can drive it. Must not
know any team's content.
"""

import random
from collections.abc import Iterator
from dataclasses import replace
from types import MappingProxyType

from hypothesis import reject
from hypothesis import strategies as st

from quizgen.football.coverage import COVERAGES, Coverage
from quizgen.football.defense import Alignment, Front, Landmark, PlayerClass, Position, Shade, Spot
from quizgen.football.errors import FootballValueError
from quizgen.football.formation import Formation, OffensivePlayer, Role
from quizgen.football.pressure import (
    CallGap,
    CoverJob,
    Drop,
    Exchange,
    Path,
    Pressure,
    RunJob,
    Rush,
    RushPart,
    Trigger,
)
from quizgen.football.rules import (
    DEFAULT_OPTIONS,
    LINEMAN_IN_B,
    CrackRule,
    EdgeRule,
    LeadRule,
    Measures,
    OptionRule,
    PullFirst,
    PullSecond,
    TeamRules,
    Timing,
)
from quizgen.football.scheme import OPTION_PHASES
from quizgen.football.sides import Letter, Side, Toward
from quizgen.football.team import Situation
from tests.engine.plays import Choose, any_play
from tests.page_solver.placing import place_defense

SIDES = (Side.LEFT, Side.RIGHT)
TOWARDS = (Toward.TO, Toward.AWAY)
EXTRAS = ((), (), (Role.END,), (Role.END,), (Role.END, Role.WING), (Role.WING,), (Role.END, Role.END))
OFFSETS = (0.0, 0.0, 0.0, 0.13, -0.13, 0.31, -0.27, 0.42)
DOWN_SPOTS = (
    (Landmark.CENTER, Shade.OUTSIDE),
    (Landmark.GUARD, Shade.INSIDE),
    (Landmark.GUARD, Shade.HEAD),
    (Landmark.GUARD, Shade.OUTSIDE),
    (Landmark.TACKLE, Shade.INSIDE),
    (Landmark.TACKLE, Shade.HEAD),
    (Landmark.TACKLE, Shade.OUTSIDE),
    (Landmark.END, Shade.INSIDE),
    (Landmark.END, Shade.HEAD),
    (Landmark.LAST, Shade.OUTSIDE),
)
UP_SPOTS = (
    (Landmark.GUARD, Shade.HEAD),
    (Landmark.GUARD, Shade.OUTSIDE),
    (Landmark.TACKLE, Shade.HEAD),
    (Landmark.TACKLE, Shade.OUTSIDE),
    (Landmark.END, Shade.OUTSIDE),
    (Landmark.WING, Shade.HEAD),
    (Landmark.LAST, Shade.WIDE),
)
WIDE_SPOTS = ((Landmark.NUMBER_ONE, Shade.HEAD), (Landmark.NUMBER_TWO, Shade.INSIDE), (Landmark.TACKLE, Shade.WIDE))
# The rules that the page solver knows; the others stand in test_team_rules.py and in tests/outside.
OLD_PULLS = (PullSecond.OVER_THE_TOP, PullSecond.STAY)
OLD_LEADS = (LeadRule.INSIDE, LeadRule.OUTSIDE)
UNDER = (CoverJob.FLAT, CoverJob.HOOK, CoverJob.SEAM, CoverJob.MAN)


def any_rules(choose: Choose) -> TeamRules:
    """Team rules, splits and times of every kind."""
    options = dict(DEFAULT_OPTIONS)
    for name in (*DEFAULT_OPTIONS, *(name + LINEMAN_IN_B for name in DEFAULT_OPTIONS)):
        if choose((True, False)):
            one, two = choose([(a, b) for a in OPTION_PHASES for b in OPTION_PHASES if a is not b])
            options[name] = OptionRule(one, two, next(p for p in OPTION_PHASES if p not in (one, two)))
    own = {name: (("edge", choose(tuple(EdgeRule))),) for name in NAMES if choose((True, False, False, False))}
    return TeamRules(
        pull_first=choose(tuple(PullFirst)),
        pull_second=choose(OLD_PULLS),
        pull_backer=choose(OLD_PULLS),
        edge=choose(tuple(EdgeRule)),
        by_position=MappingProxyType(own),
        back_edge=choose(tuple(EdgeRule)),
        lead=choose(OLD_LEADS),
        trap=choose(OLD_LEADS),
        crack=choose(tuple(CrackRule)),
        options=MappingProxyType(options),
        measures=Measures(choose((2 / 3, 0.5, 1.0)), choose((2 / 3, 0.6, 1.0)), choose((1.0, 1.2)), 0.9),
        timing=Timing(
            order_delay_s=choose((0.25, 0.25, 0.4)),
            ball_lateral_yd_s=choose((5.0, 5.0, 6.5)),
            late_after_s=choose((0.2, 0.2, 0.05)),
            never_after_s=choose((1.2, 1.2, 0.6)),
        ),
    )


def any_formation(choose: Choose, measures: Measures) -> Formation:
    """Eleven men, five to eight of them attached; under center or in the gun, with or without backs."""
    men = [OffensivePlayer("C", Role.CENTER, None, 0.0, 0.0, True, True, 0)]
    left, right = choose([(a, b) for a in EXTRAS for b in EXTRAS if len(a) + len(b) <= 3])
    for side, extras in zip(SIDES, (left, right), strict=True):
        x = 0.0
        for order, role in enumerate((Role.GUARD, Role.TACKLE, *extras), 1):
            x += measures.pitch_yd(role)
            on_line = role is not Role.WING
            key = f"{side.value[0].upper()}{role.value[0].upper()}{order}"
            men.append(OffensivePlayer(key, role, side, x * side.sign, 0.0 if on_line else 1.1, on_line, True, order))
    gun = choose((True, False))
    men.append(OffensivePlayer("QB", Role.QUARTERBACK, None, 0.0, 4.5 if gun else 1.2, False, False))
    for key, role in choose(((("FB", Role.FULLBACK), ("TB", Role.TAILBACK)), (("TB", Role.TAILBACK),), ())):
        depth = 4.3 if role is Role.FULLBACK else choose((4.9, 6.8))
        x = choose((1.4, -1.4, 1.9)) if gun else choose((0.0, 0.6)) if role is Role.FULLBACK else 0.0
        men.append(OffensivePlayer(key, role, None, x if role is Role.FULLBACK else -x, depth, False, False))
    return Formation("random", tuple(men + wide_men(choose, men)))


def wide_men(choose: Choose, men: list[OffensivePlayer]) -> list[OffensivePlayer]:
    """Split ends, flankers and slots to make eleven, no more than four behind the line."""
    wide: list[OffensivePlayer] = []
    spots = [(side, x) for x in (16.0, 11.0, 7.5, 13.5, 9.25) for side in SIDES]
    if choose((True, False)):
        spots = [(side.other, x) for side, x in spots]
    for number, (side, x) in enumerate(spots):
        room = 11 - len(men) - len(wide)
        if room == 0:
            break
        on_line = sum(not p.on_line for p in [*men, *wide]) >= 4 or choose((True, False))
        slot = not on_line and x < 10 and choose((True, False))
        role = Role.SLOTBACK if slot else Role.RECEIVER
        x = x if role is Role.RECEIVER else 6.9
        wide.append(OffensivePlayer(f"W{number}", role, side, x * side.sign, 0.0 if on_line else 1.3, on_line, False))
    return wide


CLASSES = ("lineman",) * 4 + ("edge", "edge", "backer", "backer", "safety", "corner", "corner")
NAMES = ("Nose", "Tackle", "Stud", "Rush", "Sam", "Jack", "Mike", "Will", "Rover", "Field corner", "Boundary corner")
END_MEN = {"Sam": Toward.TO, "Jack": Toward.AWAY}
PAIRS = (("Sam", "Jack"), ("Field corner", "Boundary corner"), ("Mike", "Will"))


def any_positions(choose: Choose) -> tuple[Position, ...]:
    """Eleven positions, some of which trade jobs when the call goes left."""
    partners = {}
    for one, two in PAIRS:
        if choose((True, False)):
            partners |= {one: two, two: one}
    return tuple(
        Position(name, name[0], "group", PlayerClass(kind), partners.get(name))
        for name, kind in zip(NAMES, CLASSES, strict=True)
    )


def any_front(choose: Choose) -> Front:
    """Three to six down, the rest at the line, behind it or wide; no two in one place. Most times an end man stands on
    the line on each side, so that options have somebody to read."""
    down = choose((3, 4, 4, 4, 5, 6))
    taken: set[tuple[object, ...]] = set()
    spots = []
    for number, (name, kind) in enumerate(zip(NAMES, CLASSES, strict=True)):
        is_down = number < down
        end_side = None if is_down else END_MEN.get(name)
        while True:
            if end_side is not None and choose((True, True, True, False)):
                where, depth = (Landmark.LAST, choose((Shade.OUTSIDE, Shade.WIDE))), choose((1.0, 1.2, 1.6))
            elif number == 0 and choose((True, False, False)):
                where, depth = (Landmark.CENTER, Shade.HEAD), 1.0
            elif is_down:
                where, depth = choose(DOWN_SPOTS), 1.0
            elif kind == "corner":
                where, depth = choose(WIDE_SPOTS), choose((1.5, 6.0, 7.5))
            elif kind == "safety":
                where, depth = choose(((Landmark.MIDDLE, Shade.HEAD), *UP_SPOTS)), choose((6.5, 9.0, 12.0))
            else:
                where, depth = choose(UP_SPOTS), choose((1.2, 3.4, 4.5, 4.5, 5.2))
            toward = end_side if end_side is not None and where[0] is Landmark.LAST else choose(TOWARDS)
            if (*where, toward, depth) not in taken:
                break
        taken.add((*where, toward, depth))
        placeless = where[0] is Landmark.MIDDLE or where == (Landmark.CENTER, Shade.HEAD)
        out = 0.0 if placeless else choose(OFFSETS)
        spots.append(Spot(name, Alignment(where[0], toward, where[1], out, depth), is_down))
    return Front("random", tuple(spots))


def any_gap(choose: Choose) -> CallGap:
    """A gap as a call names it."""
    return CallGap(
        choose(TOWARDS), choose((Letter.A, Letter.A, Letter.B, Letter.B, Letter.C, Letter.C, Letter.D, None))
    )


def rough_x(spot: Spot) -> float:
    """About where a spot is, to the call's side: enough to hand out gaps in order."""
    steps = {Landmark.CENTER: 0.0, Landmark.MIDDLE: 0.0, Landmark.GUARD: 1.6, Landmark.TACKLE: 3.2}
    x = steps.get(spot.alignment.landmark, 5.0) + spot.alignment.shade.out_yd + spot.alignment.out_yd
    return x if spot.alignment.toward is Toward.TO else -x


IN_ORDER = (
    CallGap(Toward.AWAY, None),
    CallGap(Toward.AWAY, Letter.C),
    CallGap(Toward.AWAY, Letter.B),
    CallGap(Toward.AWAY, Letter.A),
    CallGap(Toward.TO, Letter.A),
    CallGap(Toward.TO, Letter.B),
    CallGap(Toward.TO, Letter.C),
    CallGap(Toward.TO, None),
)


def hand_out_gaps(choose: Choose, owners: list[Spot]) -> dict[str, CallGap]:
    """Each gap owner's gap: from left to right across the front, or any gap to anybody."""
    if choose((False, False, True)):
        return {spot.position: any_gap(choose) for spot in owners}
    ordered = sorted(owners, key=rough_x)
    start = choose(range(max(1, len(IN_ORDER) - len(ordered) + 1)))
    return {spot.position: IN_ORDER[min(start + k, len(IN_ORDER) - 1)] for k, spot in enumerate(ordered)}


def any_pressure(choose: Choose, front: Front) -> Pressure:
    """A call of three to seven rushers out of a front, everybody else dropping with some run job."""
    count = choose((3, 4, 4, 5, 5, 5, 6, 6, 7))
    pool = list(front.spots)
    rushers = [pool.pop(0) for _ in range(min(count, front.down_count))]
    while len(rushers) < count:
        rushers.append(pool.pop(choose(range(min(6, len(pool))))))
    fillers = [pool.pop(choose(range(min(4, len(pool))))) for _ in range(choose((0, 1, 2, 2, 3, 4)))]
    gaps = hand_out_gaps(choose, [*rushers, *fillers])
    rushes = tuple(any_rush(choose, spot, gaps[spot.position]) for spot in rushers)
    drops = any_drops(choose, fillers, pool, gaps)
    names = [spot.position for spot in (*rushers, *fillers)]
    return Pressure(
        "random",
        front.name,
        rushes,
        drops,
        any_family(choose, drops),
        align=any_override(choose, pool),
        conceded=tuple(any_gap(choose) for _ in range(choose((0, 0, 0, 1, 2)))),
        exchanges=any_exchanges(choose, names),
        by_position=tuple(
            (name, (("edge", choose(tuple(EdgeRule))),)) for name in names if choose((True, False, False, False))
        ),
        read=tuple(name for name in names if choose((True, *[False] * 9))),
    )


def any_rush(choose: Choose, spot: Spot, gap: CallGap) -> Rush:
    """One rusher's order, path and part."""
    order = choose((1, 1, 1, 1, 2, 2, 3))
    if choose((True, False, False, False, False)):
        return Rush(spot.position, gap, order, Path.HOLD, RushPart.TWO_GAP, choose(near_gaps(gap)))
    parts = (
        (RushPart.GAP, RushPart.EDGE, RushPart.CONTAIN)
        if gap.letter is None
        else (RushPart.GAP, RushPart.GAP, RushPart.EDGE)
    )
    return Rush(spot.position, gap, order, choose(tuple(Path)), choose(parts))


def near_gaps(gap: CallGap) -> tuple[CallGap, ...]:
    """Gaps that a two-gap player may hold as well."""
    if gap.letter in (None, Letter.A):
        return (CallGap(gap.toward, Letter.B), CallGap(TOWARDS[gap.toward is Toward.TO], Letter.A))
    return (CallGap(gap.toward, Letter.from_index(gap.letter.index - 1)), CallGap(gap.toward, None))


def any_drops(choose: Choose, fillers: list[Spot], others: list[Spot], gaps: dict[str, CallGap]) -> tuple[Drop, ...]:
    """Everybody who drops, with a coverage job and a run job."""
    men = [*fillers, *others]
    deep = choose([n for n in (0, 1, 2, 3, 4) if n <= len(men) and families(n, len(men))])
    drops = []
    for number, spot in enumerate(men):
        is_deep = len(men) - number <= deep
        cover = choose((CoverJob.DEEP_THIRD, CoverJob.DEEP_HALF, CoverJob.POST)) if is_deep else choose(UNDER)
        man = "back" if cover is CoverJob.MAN else ""
        if spot in fillers:
            gap = gaps[spot.position]
            second = choose((None, None, None, *near_gaps(gap)))
            drops.append(Drop(spot.position, cover, RunJob.FILL, choose((None, *TOWARDS)), gap, second, man))
            continue
        run = choose([job for job in RunJob if job is not RunJob.FILL])
        sided = run in (RunJob.FORCE, RunJob.ALLEY, RunJob.FOLD)
        toward = choose(TOWARDS if sided else (None, *TOWARDS))
        drops.append(Drop(spot.position, cover, run, toward, man=man))
    return tuple(drops)


def families(deep: int, droppers: int) -> list[Coverage]:
    """The shipped families of that many deep among that many droppers, whoever of the others is in man."""
    return [one for one in COVERAGES.values() if one.deep == deep and one.under in (None, droppers - deep)]


def any_family(choose: Choose, drops: tuple[Drop, ...]) -> Coverage:
    """A family of that many deep, with as many in man as these drops have."""
    deep, man = sum(drop.cover.is_deep for drop in drops), sum(drop.cover is CoverJob.MAN for drop in drops)
    return replace(choose(families(deep, len(drops))), under=len(drops) - deep - man, man=man)


def any_override(choose: Choose, men: list[Spot]) -> tuple[tuple[str, Alignment], ...]:
    """Sometimes one man who lines up elsewhere on this call."""
    if not men or choose((True, True, True, False)):
        return ()
    landmark, shade = choose(UP_SPOTS)
    return ((choose(men).position, Alignment(landmark, choose(TOWARDS), shade, 0.23, choose((2.8, 3.9)))),)


def any_exchanges(choose: Choose, names: list[str]) -> tuple[Exchange, ...]:
    """Sometimes two gap owners who trade."""
    if choose((True, True, False)):
        return ()
    first, second = choose([(a, b) for a in names for b in names if a != b])
    triggers = choose(((Trigger.DOWN,), (Trigger.PULL,), (Trigger.REACH,), (Trigger.DOWN, Trigger.PULL)))
    return (Exchange(first, second, choose(("guard", "tackle", "end")), triggers),)


def any_situation(choose: Choose) -> Situation:
    """One snap.

    Raises:
        FootballValueError: the draw breaks a rule of the game or puts two men in one place.
    """
    rules = any_rules(choose)
    front = any_front(choose)
    pressure = any_pressure(choose, front)
    formation = any_formation(choose, rules.measures)
    positions, to, play, play_to = any_positions(choose), choose(SIDES), any_play(choose), choose(SIDES)
    if formation.find(play.carrier) is None and choose((True, True, True, False)):
        play = replace(play, carrier=Role.QUARTERBACK)
    s = Situation(rules, positions, front, pressure, to, formation, play, play_to)
    if len({(round(man.x, 6), man.depth) for man in place_defense(s)}) < len(positions):
        raise FootballValueError("spots", formation.name, "no two defenders in one place")
    return s


def random_situations(seed: int, count: int) -> Iterator[Situation]:
    """That many legal snaps from one seed; a draw that breaks the rules of the game is drawn again."""
    choose = random.Random(seed).choice
    while count:
        try:
            situation = any_situation(choose)
        except FootballValueError:
            continue
        count -= 1
        yield situation


@st.composite
def situations(draw: st.DrawFn) -> Situation:
    """The same snaps for Hypothesis, which makes a failing one small."""
    try:
        return any_situation(lambda options: draw(st.sampled_from(options)))
    except FootballValueError:
        reject()
