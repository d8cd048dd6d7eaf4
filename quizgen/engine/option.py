"""Who has dive, quarterback and pitch. One owner each, by the team's rule. Written for a play to the right only.

The man read, by the option's ``read``. An edge (``back side edge``, ``play side edge``): the end man on the line on
that side, whom the quarterback finds whether he rushes or drops: the outermost defender at most 2.0 yd deep who
stands between the last attached blocker's inside shoulder and 4 yd outside him and not over a split man; a call may
name another man on either side (``read``), and must where nobody stands there: no rule otherwise. ``first man outside
play side B``: the innermost man on the line at or outside the tackle's center. ``first lineman play side of the
center``: the innermost down lineman beyond the center's outside edge. Nobody blocks the man read.

Phases. The rule gives the read man, the next man (``scrape``) and force a phase each; only those the play has count.
The rule under "<option>, lineman in B" applies, where there is one, when a down lineman owns the read side's B gap. A
call's own rules go before the team's. Where a rule names owners for a phase, the first of them who can have it does:
the dive who owns the aim lane or the next one outside it (a back-side read man closes on it from any gap); another
phase who plays on the read side and is not kept from getting outside the read man; none of them: no rule. The other
phases follow, each from those who are left.
- Dive: its owner stands where it hits, so he owns the lane that holds the aim, or the next one outside it: the man
  whom the rule names if he does, else who owns the aim lane, else who owns the next one; none of them: no rule. A read
  man who does not stand there takes the next man's phase instead. On a read of the back side the dive comes back to
  the read man, who closes on it from whatever gap he has, and from none: the quarterback can't know that he drops.
- Force's phase: the dropper with run job force on the read side, else alley there, else any dropper there, else
  anybody; the widest of several, then the shallowest. So a man of the line stays at home while a dropper is there.
- The next man's phase, when it is not the dive: where the read is the first man outside B or past the center, the
  rusher whose outermost lane is the next outside his; else the nearest stand-up man to the read man (then the
  shallower, then further to that side) whose first gap, or whose fold or alley, is on that side; else the nearest other
  gap owner; else anybody. Not a man less than 3 yd deep who would have to cross another lane to get outside him.

The scrape exchange: a read man on the dive trades lanes with the gap owner inside him who has the quarterback, where
each has one lane, theirs lie side by side and, on a read of the play side, the dive hits the one that he takes. Where
a lane lies between, which a teammate has or support comes to, the scraper goes over the top all the same, the read man
keeps his lane, and the lane that the scraper left stays open: the call needs the other rule on that side.

Support with a phase fills no lane but the read man's and those outside it (outside where he stands, if he has none);
the read man himself, if he drops, what his run job gives him. Sources: common practice.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from quizgen.engine.alignment import Man, written_name
from quizgen.engine.lanes import Lane
from quizgen.engine.movement import PLAY_SIDE, aim_gap
from quizgen.engine.reads import Claim, Read
from quizgen.football.errors import NoRule
from quizgen.football.formation import Role
from quizgen.football.pressure import RunJob
from quizgen.football.rules import LINEMAN_IN_B, READ_MAN, OptionRule, ReadPlay
from quizgen.football.scheme import Option, Phase, ReadMan
from quizgen.football.sides import Gap, Letter, Side
from quizgen.football.team import Situation

ON_THE_LINE_YD = 2.0
END_MAN_YD = 4.0
OVER_A_MAN_YD = 1.0
OVER_THE_TOP_YD = 3.0
SAME_X_YD = 1e-9


@dataclass(frozen=True, slots=True)
class PhaseOwner:
    """A phase of the option and the one man who has it."""

    phase: Phase
    position: str


@dataclass(frozen=True, slots=True)
class OptionAnswer:
    """What an option does to a defense: who is ``read``, who has which phase, the lanes outside the read man and his
    own (``outside``: all that other support with a phase may fill), the lanes that a scraper left (``left``), how the
    man read ``plays``, and for some positions the only lanes that they may fill (``held``). ``read`` is empty where
    nobody is read."""

    read: str
    phases: tuple[PhaseOwner, ...]
    outside: frozenset[int]
    left: frozenset[int] = frozenset()
    plays: ReadPlay = ReadPlay.FAST
    held: tuple[tuple[str, frozenset[int]], ...] = ()

    def phase_of(self, position: str) -> Phase | None:
        """The phase that a position has, or None."""
        return next((owner.phase for owner in self.phases if owner.position == position), None)

    def may_fill(self, position: str, index: int) -> bool:
        """Whether a man of support may fill this lane beside the phase that he has, if he has one; nobody fills what a
        scraper left. The man read is free to."""
        if index in self.left:
            return False
        for held_by, only in self.held:
            if held_by == position:
                return index in only
        return self.phase_of(position) is None or position == self.read or index in self.outside

    def mirrored(self, lane_count: int) -> OptionAnswer:
        """The same turned round among ``lane_count`` lanes."""
        outside, left = (frozenset(lane_count - 1 - i for i in lanes) for lanes in (self.outside, self.left))
        held = tuple((position, frozenset(lane_count - 1 - i for i in lanes)) for position, lanes in self.held)
        return OptionAnswer(self.read, self.phases, outside, left, self.plays, held)


def rule_for(s: Situation, option: Option, men: tuple[Man, ...]) -> OptionRule:
    """The call's rule for this option, else the team's, by what holds the read side's B gap; raises NoRule where
    neither has one."""
    side_b = Gap(read_side(option), Letter.B)
    held = any(man.down and side_b in man.gaps for man in men)
    names = (option.name + LINEMAN_IN_B, option.name) if held else (option.name,)
    for find in (s.pressure.find_option, s.rules.options.get):
        for name in names:
            rule = find(name)
            if rule is not None:
                return rule
    raise _no_rule(s, f"no team rule for the option {option.name!r}")


def read_side(option: Option) -> Side:
    """The side of the man whom the quarterback reads."""
    return PLAY_SIDE.other if option.read is ReadMan.BACK_EDGE else PLAY_SIDE


def read_man(s: Situation, option: Option, men: tuple[Man, ...]) -> Man:
    """The defender left unblocked for the quarterback to read; raises NoRule where the defense has no such man."""
    sign = read_side(option).sign
    is_edge = option.read in (ReadMan.BACK_EDGE, ReadMan.PLAY_EDGE)
    named = [man for man in men if is_edge and written_name(man) in s.pressure.read and man.x * sign > 0]
    found = named or _readable(s, option, men)
    if not found:
        hint = "; the call may name him" if is_edge else ""
        raise _no_rule(s, f"nobody to read as {option.read.value!r}{hint}")
    if is_edge:
        return max(found, key=lambda man: (man.stands[0] * sign, -man.stands[1]))
    return min(found, key=lambda man: (man.stands[0] * sign, man.stands[1]))


def _readable(s: Situation, option: Option, men: tuple[Man, ...]) -> list[Man]:
    """The men on the read side whom the quarterback may find there."""
    side, half = read_side(option), s.rules.measures.man_width_yd / 2
    line = s.formation.on_side(side)
    last = abs(line[-1].x)
    if option.read is ReadMan.FIRST_PAST_CENTER:
        return [man for man in men if man.down and man.x * side.sign > half + SAME_X_YD]
    inner = last - half
    if option.read is ReadMan.FIRST_OUTSIDE_B:
        inner = next(abs(player.x) for player in line if player.role is Role.TACKLE)
    outer = last + END_MAN_YD
    split = [player.x for player in s.formation.receivers(side) if not player.attached]
    return [
        man
        for man in men
        if man.stands[1] <= ON_THE_LINE_YD
        and inner - SAME_X_YD <= man.stands[0] * side.sign <= outer + SAME_X_YD
        and not any(abs(man.stands[0] - x) <= OVER_A_MAN_YD for x in split)
    ]


def play_option(
    s: Situation, men: tuple[Man, ...], owners: tuple[Claim, ...], lanes: tuple[Lane, ...]
) -> tuple[OptionAnswer | None, tuple[Claim, ...]]:
    """Exactly one owner for each phase of the play's option, and the gap owners' claims after a scrape; None when the
    play has no option.

    Raises:
        NoRule: nobody to read, nobody where the dive hits, or nobody who can get to a phase.
    """
    option = s.play.option
    if option is None:
        return None, owners
    rule = rule_for(s, option, men)
    read = read_man(s, option, men)
    hit = _hit(s, lanes)
    own = {claim.man.position: claim.lanes for claim in owners}
    first, second = rule.read_man, rule.scrape
    closes = _closes(read_side(option), own.get(read.position, ()), hit)
    taken = _named_owners(s, rule, read, men, owners, hit)
    if (first is Phase.DIVE and Phase.DIVE in option.phases and not closes) or first in taken:
        first, second = second, first
    if first in option.phases and first not in taken and read not in taken.values():
        taken[first] = read
    if Phase.DIVE in option.phases and Phase.DIVE not in taken:
        taken[Phase.DIVE] = _dive_man(s, (read, *taken.values()), owners, hit)
    if rule.force in option.phases and rule.force not in taken:
        taken[rule.force] = _force_man(read_side(option), read, men, tuple(taken.values()))
    for phase in (second, first):
        if phase in option.phases and phase not in taken:
            taken[phase] = _next_man(s, read, men, owners, lanes, tuple(taken.values()))
    phases = tuple(PhaseOwner(phase, taken[phase].position) for phase in option.phases)
    owners, left = _scrape(s, read, taken, owners, hit)
    outside = _outside(read_side(option), read, owners, lanes)
    return OptionAnswer(read.position, phases, outside, left, rule.plays), owners


def _named_owners(
    s: Situation, rule: OptionRule, read: Man, men: tuple[Man, ...], owners: tuple[Claim, ...], hit: list[int]
) -> dict[Phase, Man]:
    """The owners of the phases for which the rule names men; raises NoRule where none of those named can have one."""
    assert s.play.option is not None
    side = read_side(s.play.option)
    taken: dict[Phase, Man] = {}
    for phase in s.play.option.phases:
        names = rule.named(phase)
        if not names:
            continue
        for name in names:
            able = [
                man
                for man in men
                if man not in taken.values()
                and _goes_by(man, name, read)
                and _may_have(phase, man, read, side, owners, hit)
            ]
            if able:
                taken[phase] = max(able, key=lambda man: (side.sign * man.x, -man.depth_yd))
                break
        else:
            raise _no_rule(s, f"none of {', '.join(names)} can have the {phase.value}")
    return taken


def _goes_by(man: Man, name: str, read: Man) -> bool:
    """Whether a rule that says ``name`` means this man: the man read, a position, or a run job."""
    if name == READ_MAN:
        return man is read
    return man.position == name or (man is not read and man.drop is not None and man.drop.run.value == name)


def _may_have(phase: Phase, man: Man, read: Man, side: Side, owners: tuple[Claim, ...], hit: list[int]) -> bool:
    """Whether a man whom the rule names can have this phase."""
    own = next((claim.lanes for claim in owners if claim.man is man), ())
    if phase is Phase.DIVE:
        return _closes(side, own, hit) if man is read else any(index in hit for index in own)
    if man is read:
        return True
    there = man.gaps[0].side if man.gaps else man.side
    if there is None:
        there = side if man.x * side.sign > -SAME_X_YD else side.other
    return there is side and _gets_outside(man, read, side, owners)


def _hit(s: Situation, lanes: tuple[Lane, ...]) -> list[int]:
    """The lanes in which a dive hits, the likeliest first: those of the aim from the inside out, then the next one
    outside."""
    aim = aim_gap(s)
    aimed = [index for index, lane in enumerate(lanes) if aim in lane.gaps]
    return [*aimed, *(i for i in (aimed[-1] + 1,) if i < len(lanes))]


def _closes(side: Side, own: tuple[int, ...], hit: list[int]) -> bool:
    """Whether a read man with these lanes may have the dive."""
    return side is not PLAY_SIDE or any(index in hit for index in own)


def _dive_man(s: Situation, taken: tuple[Man, ...], owners: tuple[Claim, ...], hit: list[int]) -> Man:
    for index in hit:
        for claim in owners:
            if index in claim.lanes and claim.man not in taken:
                return claim.man
    raise _no_rule(s, "nobody stands where the dive hits")


def _force_man(side: Side, read: Man, men: tuple[Man, ...], taken: tuple[Man, ...]) -> Man:
    """Force on that side; without one the alley man there, then any dropper there, then anybody: of several the widest
    man."""
    free = [man for man in men if man not in taken and man is not read]

    def widest(man: Man) -> tuple[float, float]:
        return side.sign * man.x, -man.depth_yd

    for run in (RunJob.FORCE, RunJob.ALLEY):
        found = [man for man in free if man.drop and man.drop.run is run and man.side is side]
        if found:
            return max(found, key=widest)
    there = [man for man in free if man.drop and man.x * side.sign > 0]
    return max(there or free, key=widest)


def _next_man(
    s: Situation,
    read: Man,
    men: tuple[Man, ...],
    owners: tuple[Claim, ...],
    lanes: tuple[Lane, ...],
    taken: tuple[Man, ...],
) -> Man:
    """The next rusher outside a man read inside; else the nearest stand-up man who can get there."""
    assert s.play.option is not None
    side = read_side(s.play.option)
    free = [man for man in men if man not in taken and man is not read and _gets_outside(man, read, side, owners)]
    if s.play.option.read in (ReadMan.FIRST_OUTSIDE_B, ReadMan.FIRST_PAST_CENTER):
        own = {claim.man.position: max(claim.lanes) for claim in owners if claim.man.rush or claim.man is read}
        outside = [man for man in free if own.get(man.position, -1) > own.get(read.position, len(lanes))]
        if outside:
            return min(outside, key=lambda man: (own[man.position], man.x, man.depth_yd))
    second = [man for man in free if not man.down and _plays_on(man, side)]
    near = second or [man for man in free if man.gaps] or free
    if not near:
        raise _no_rule(s, "nobody can get outside the man read")
    return min(near, key=lambda man: (abs(man.x - read.x), man.depth_yd, -side.sign * man.x))


def _gets_outside(man: Man, read: Man, side: Side, owners: tuple[Claim, ...]) -> bool:
    """Whether he can have a phase outside the man read: over the top from depth, or with no lane between."""
    if man.depth_yd >= OVER_THE_TOP_YD:
        return True
    own = {claim.man.position: max(side.sign * lane for lane in claim.lanes) for claim in owners}
    if man.position not in own or read.position not in own:
        return True
    return own[read.position] - own[man.position] <= 1


def _plays_on(man: Man, side: Side) -> bool:
    """Whether he is a second-level man whose gap or run job is on that side."""
    if man.gaps:
        return man.gaps[0].side is side
    return man.drop is not None and man.drop.run in (RunJob.FOLD, RunJob.ALLEY) and man.side is side


def _scrape(
    s: Situation, read: Man, taken: dict[Phase, Man], owners: tuple[Claim, ...], hit: list[int]
) -> tuple[tuple[Claim, ...], frozenset[int]]:
    """The claims after a scrape exchange, and the lane that a scraper left without anybody to trade with."""
    assert s.play.option is not None
    side = read_side(s.play.option)
    keeper = taken.get(Phase.QUARTERBACK)
    if taken.get(Phase.DIVE) is not read or keeper is None:
        return owners, frozenset()
    by_position = {claim.man.position: claim for claim in owners}
    first, second = by_position.get(read.position), by_position.get(keeper.position)
    if first is None or second is None or len(first.lanes) > 1 or len(second.lanes) > 1:
        return owners, frozenset()
    if side.sign * (first.lanes[0] - second.lanes[0]) <= 0:
        return owners, frozenset()
    if abs(first.lanes[0] - second.lanes[0]) == 1 and (side is not PLAY_SIDE or second.lanes[0] in hit):
        changed = {
            read.position: replace(first, lanes=second.lanes, read=Read.SCRAPE, block=None),
            keeper.position: replace(second, lanes=first.lanes, read=Read.SCRAPE, block=None),
        }
        left = frozenset[int]()
    else:
        gone = replace(second, lanes=first.lanes, read=Read.SCRAPE, block=None, left_lane=second.lanes[0], owns=False)
        changed, left = {keeper.position: gone}, frozenset(second.lanes)
    shared = {i for claim in owners if claim is not second for i in claim.lanes}
    return tuple(changed.get(claim.man.position, claim) for claim in owners), left - shared


def _outside(side: Side, read: Man, owners: tuple[Claim, ...], lanes: tuple[Lane, ...]) -> frozenset[int]:
    """The read man's lane and those outside it; where he has none, the lanes that are fitted no further in than he
    stands."""
    own = [claim.lanes for claim in owners if claim.man is read]
    edge = len(lanes) - 1 if side is PLAY_SIDE else 0
    if own:
        at = max(own[0], key=lambda lane: lane * side.sign)
        return frozenset(range(min(at, edge), max(at, edge) + 1))
    return frozenset(i for i, lane in enumerate(lanes) if (lane.middle_x - read.x) * side.sign >= 0)


def _no_rule(s: Situation, missing: str) -> NoRule:
    return NoRule(s.pressure.name, s.front.name, s.play.name, missing)
