"""Who has dive, quarterback and pitch. One owner each, by the team's rule. Written for a play to the right only.

Option: read man: BACK_EDGE/PLAY_EDGE = the rusher whose (last) gap is outermost on that side, else the outermost-
gapped rusher there; FIRST_OUTSIDE_B = the innermost rusher with gap C or wider on the play side; FIRST_PAST_CENTER =
the innermost down lineman on the play side. Owners: the rule's read-man phase to him; the force phase to the dropper
with run job force on that side, else alley on that side, else anybody, the widest of several; the scrape phase: if it
is the dive, the gap owner of the aim gap (not the read man, not already an owner), else the nearest stand-up man (to
the read man's x, then shallower, then play-side-most) whose first gap, or whose fold or alley, is on that side and
who has no phase yet; failing these the nearest of any other gap owner. Only the phases the play has are given. (i)
the rule under the key "<option>, lineman in B" applies, where the team has one, when a down lineman owns the read
side's B gap; (ii) the scrape phase, when it is not the dive and the read is FIRST_OUTSIDE_B or FIRST_PAST_CENTER,
goes first to the next rusher outside the read man (rushers on that side sorted by last gap letter, |x|, depth), if
there is one without a phase; (iii) BACK_EDGE/PLAY_EDGE read man = the last rusher in that order.

Scrape exchange: if the rule gives the read man the dive and the quarterback's owner is a gap owner too, and each has
one lane, the read man's the outer one, they trade lanes.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from quizgen.engine.alignment import Man
from quizgen.engine.lanes import Lane
from quizgen.engine.movement import PLAY_SIDE, aim_gap
from quizgen.engine.reads import Claim, Read
from quizgen.football.errors import NoRule
from quizgen.football.pressure import RunJob
from quizgen.football.rules import LINEMAN_IN_B, OptionRule
from quizgen.football.scheme import Option, Phase, ReadMan
from quizgen.football.sides import Gap, Letter, Side
from quizgen.football.team import Situation


@dataclass(frozen=True, slots=True)
class PhaseOwner:
    """A phase of the option and the one man who has it."""

    phase: Phase
    position: str


def rule_for(s: Situation, option: Option, men: tuple[Man, ...]) -> OptionRule:
    """The team's rule for this option, by what holds the read side's B gap; raises NoRule where it has none."""
    side_b = Gap(read_side(option), Letter.B)
    held = any(man.down and side_b in man.gaps for man in men)
    rule = s.rules.options.get(option.name + LINEMAN_IN_B) if held else None
    rule = rule or s.rules.options.get(option.name)
    if rule is None:
        raise NoRule(s.pressure.name, s.front.name, s.play.name, f"no team rule for the option {option.name!r}")
    return rule


def read_side(option: Option) -> Side:
    """The side of the man whom the quarterback reads."""
    return PLAY_SIDE.other if option.read is ReadMan.BACK_EDGE else PLAY_SIDE


def _rushers(option: Option, men: tuple[Man, ...]) -> list[Man]:
    """Rushers on the read side from the inside out."""
    side = read_side(option)
    there = [man for man in men if man.rush and man.gaps and man.gaps[-1].side is side]
    return sorted(there, key=lambda man: (man.gaps[-1].letter.index, abs(man.x), man.depth_yd))


def read_man(s: Situation, option: Option, men: tuple[Man, ...]) -> Man:
    """The defender left unblocked for the quarterback to read; raises NoRule where the defense has no such man."""
    rushers = _rushers(option, men)
    if option.read in (ReadMan.BACK_EDGE, ReadMan.PLAY_EDGE):
        found = rushers[-1:]
    elif option.read is ReadMan.FIRST_OUTSIDE_B:
        found = [man for man in rushers if man.gaps[-1].letter.index >= Letter.C.index]
    else:
        found = [man for man in rushers if man.down]
    if not found:
        raise NoRule(s.pressure.name, s.front.name, s.play.name, f"nobody to read as {option.read.value!r}")
    return found[0]


def own_phases(
    s: Situation, men: tuple[Man, ...], owners: tuple[Claim, ...], lanes: tuple[Lane, ...]
) -> tuple[PhaseOwner, ...]:
    """Exactly one owner for each phase of the play's option; none when the play has no option."""
    option = s.play.option
    if option is None:
        return ()
    rule = rule_for(s, option, men)
    read = read_man(s, option, men)
    taken = {rule.read_man: read} if rule.read_man in option.phases else {}
    if rule.force in option.phases:
        taken[rule.force] = _force_man(read_side(option), men, tuple(taken.values()))
    if rule.scrape in option.phases:
        taken[rule.scrape] = _next_man(s, rule.scrape, read, men, owners, lanes, tuple(taken.values()))
    return tuple(PhaseOwner(phase, taken[phase].position) for phase in option.phases)


def _force_man(side: Side, men: tuple[Man, ...], taken: tuple[Man, ...]) -> Man:
    """Force on that side; without one the alley man there, without him anybody: the widest man of several."""
    free = [man for man in men if man not in taken]

    def widest(man: Man) -> tuple[float, float]:
        return side.sign * man.x, -man.depth_yd

    for run in (RunJob.FORCE, RunJob.ALLEY):
        found = [man for man in free if man.drop and man.drop.run is run and man.side is side]
        if found:
            return max(found, key=widest)
    return max(free, key=widest)


def _next_man(
    s: Situation,
    phase: Phase,
    read: Man,
    men: tuple[Man, ...],
    owners: tuple[Claim, ...],
    lanes: tuple[Lane, ...],
    taken: tuple[Man, ...],
) -> Man:
    """The dive belongs to the owner of the lane it aims at; another phase to the next stand-up man inside the read
    man."""
    assert s.play.option is not None
    side = read_side(s.play.option)
    free = [claim.man for claim in owners if claim.man not in taken and claim.man is not read]
    if phase is Phase.DIVE:
        aim = aim_gap(s)
        hit = [c.man for c in owners if c.man in free and any(aim in lanes[index].gaps for index in c.lanes)]
        if hit:
            return hit[0]
    elif s.play.option.read in (ReadMan.FIRST_OUTSIDE_B, ReadMan.FIRST_PAST_CENTER):
        rushers = _rushers(s.play.option, men)
        outside = [man for man in rushers[rushers.index(read) + 1 :] if man not in taken]
        if outside:
            return outside[0]
    second = [man for man in men if man not in taken and man is not read and not man.down and _plays_on(man, side)]
    near = second or free or [man for man in men if man not in taken and man is not read]
    return min(near, key=lambda man: (abs(man.x - read.x), man.depth_yd, -side.sign * man.x))


def _plays_on(man: Man, side: Side) -> bool:
    """Whether he is a second-level man whose gap or run job is on that side."""
    if man.gaps:
        return man.gaps[0].side is side
    return man.drop is not None and man.drop.run in (RunJob.FOLD, RunJob.ALLEY) and man.side is side


def scrape(
    s: Situation, men: tuple[Man, ...], phases: tuple[PhaseOwner, ...], owners: tuple[Claim, ...]
) -> tuple[Claim, ...]:
    """The owners after a scrape exchange: a read man who takes the dive trades lanes with the gap owner inside him
    who has the quarterback. A read man who is inside already keeps his lane: the dive comes to him."""
    option = s.play.option
    if option is None or rule_for(s, option, men).read_man is not Phase.DIVE:
        return owners
    by_phase = {owner.phase: owner.position for owner in phases}
    by_position = {claim.man.position: claim for claim in owners}
    first = by_position.get(by_phase.get(Phase.DIVE, ""))
    second = by_position.get(by_phase.get(Phase.QUARTERBACK, ""))
    if first is None or second is None or len(first.lanes) > 1 or len(second.lanes) > 1:
        return owners
    if read_side(option).sign * (first.lanes[0] - second.lanes[0]) < 0:
        return owners
    trade = {
        first.man.position: replace(first, lanes=second.lanes, read=Read.SCRAPE, block=None),
        second.man.position: replace(second, lanes=first.lanes, read=Read.SCRAPE, block=None),
    }
    return tuple(trade.get(claim.man.position, claim) for claim in owners)
