"""Who is read, and who has the dive, the quarterback and the pitch (section 6 of the design page, options)."""

from __future__ import annotations

from quizgen.football.formation import OffensivePlayer, Role
from quizgen.football.pressure import RunJob
from quizgen.football.rules import LINEMAN_IN_B, READ_MAN, OptionRule
from quizgen.football.scheme import Phase, ReadMan
from quizgen.football.sides import Gap, Letter, Side
from quizgen.football.team import Situation
from tests.page_solver.lanes import Lane, aim_lane
from tests.page_solver.placing import HALF_MAN_YD, Man, NoAnswer, gap_side, last_attached_yd

ON_THE_LINE_YD = 2.0
END_MAN_REACH_YD = 4.0
OVER_SPLIT_MAN_YD = 0.9


def read_side(situation: Situation) -> Side:
    """The side on which a man is read: away from the play for a zone read, else the play side."""
    option = situation.play.option
    assert option is not None
    return situation.play_to.other if option.read is ReadMan.BACK_EDGE else situation.play_to


def find_read_man(situation: Situation, men: list[Man]) -> Man:
    """The man who is read: on an edge the one whom the call names, else by where the eleven stand at the snap.

    Raises:
        NoAnswer: nobody stands where this play reads.
    """
    option = situation.play.option
    assert option is not None
    side = read_side(situation)
    if option.read is ReadMan.FIRST_PAST_CENTER:
        found = [man for man in men if man.down and side.sign * man.stands_x > HALF_MAN_YD + 1e-9]
        return innermost(found, side, "no down lineman beyond the center's outside edge")
    on_line = [man for man in men if man.stands_depth <= ON_THE_LINE_YD + 1e-9 and not over_split_man(man, situation)]
    if option.read is ReadMan.FIRST_OUTSIDE_B:
        tackle = next(one for one in situation.formation.on_side(side) if one.role is Role.TACKLE)
        found = [man for man in on_line if side.sign * man.stands_x >= side.sign * tackle.x - 1e-9]
        return innermost(found, side, "nobody at or outside the tackle's center")
    named = [man for man in men if man.row in situation.pressure.read and side.sign * man.stands_x > 0]
    if named:
        return max(named, key=lambda man: side.sign * man.stands_x)
    last = last_attached_yd(situation.formation, side)
    found = [
        man
        for man in on_line
        if last - HALF_MAN_YD - 1e-9 <= side.sign * man.stands_x <= last + END_MAN_REACH_YD + 1e-9
    ]
    if not found:
        raise NoAnswer("no end man on the line on the side that is read")
    return max(found, key=lambda man: (side.sign * man.stands_x, -man.stands_depth))


def innermost(found: list[Man], side: Side, missing: str) -> Man:
    """The man nearest the center, the shallower of two."""
    if not found:
        raise NoAnswer(missing)
    return min(found, key=lambda man: (side.sign * man.stands_x, man.stands_depth))


def over_split_man(man: Man, situation: Situation) -> bool:
    """Whether a defender stands over a man who is split out."""
    return any(abs(man.stands_x - one.x) < OVER_SPLIT_MAN_YD for one in split_men(situation))


def split_men(situation: Situation) -> list[OffensivePlayer]:
    """Receivers and slotbacks who are no part of the surface."""
    return [
        one
        for one in situation.formation.players
        if not one.attached and one.role in (Role.RECEIVER, Role.SLOTBACK, Role.END, Role.WING)
    ]


def option_rule(situation: Situation, men: list[Man]) -> OptionRule:
    """The call's rule, else the team's: a second one holds where a down lineman has B on the side that is
    read."""
    option = situation.play.option
    assert option is not None
    b_gap = situation.formation.gaps.index(Gap(read_side(situation), Letter.B))
    is_held = any(man.down and b_gap in man.gaps for man in men)
    names = [option.name + LINEMAN_IN_B, option.name] if is_held else [option.name]
    for rules in (dict(situation.pressure.options), situation.rules.options):
        for name in names:
            if name in rules:
                return rules[name]
    raise NoAnswer(f"neither the call nor the team has a rule for the option {option.name!r}")


def phases_in(situation: Situation, men: list[Man], lanes: list[Lane], read: Man) -> OptionRule:
    """The rule as it holds on this snap: a read man on the play side has the dive only where it hits him (section 8,
    law 13); else he has the next man's phase, and the dive is given to whoever stands there. From the back side he
    closes on it from wherever he is (evidence, W14)."""
    rule = option_rule(situation, men)
    option = situation.play.option
    assert option is not None
    if rule.read_man is not Phase.DIVE or Phase.DIVE not in option.phases or option.read is ReadMan.BACK_EDGE:
        return rule
    if stands_at_the_dive(situation, read, lanes):
        return rule
    return OptionRule(rule.scrape, Phase.DIVE, rule.force)


def stands_at_the_dive(situation: Situation, man: Man, lanes: list[Lane]) -> bool:
    """Whether a man owns the lane that holds the aim, or the next one outside it."""
    aim = aim_lane(situation, lanes).index
    return bool({aim, aim + situation.play_to.sign} & set(man.lanes))


def give_phases(situation: Situation, men: list[Man], lanes: list[Lane]) -> int | None:
    """Gives the read man and the scraper their phases, and trades their lanes where the page lets them.

    Returns the lane that a scraper left without a trade, or None. The dive of a scraper is given after support
    (``give_dive``), since its owner is whoever stands where the dive hits.
    """
    option = situation.play.option
    if option is None:
        return None
    read = find_read_man(situation, men)
    read.is_read = True
    rule = phases_in(situation, men, lanes, read)
    left = share_phases(situation, men, rule, read)
    for man in men:
        if man.phase is not None and man is not read:
            man.barred = lanes_inside(read, lanes, read_side(situation))
    return left


def lanes_inside(read: Man, lanes: list[Lane], side: Side) -> frozenset[int]:
    """The lanes inside the read man; where he owns none, those that are fitted inside of where he stands."""
    if read.lanes:
        return frozenset(lane.index for lane in lanes if side.sign * lane.index < side.sign * read.lanes[0])
    return frozenset(lane.index for lane in lanes if side.sign * lane.fit_x < side.sign * read.x)


def share_phases(situation: Situation, men: list[Man], rule: OptionRule, read: Man) -> int | None:
    """Read man, force, scraper: each his phase, as far as the play has it. Returns the lane that a scraper left."""
    option = situation.play.option
    assert option is not None
    named = give_named_phases(situation, men, rule, read)
    if rule.read_man in option.phases and rule.read_man not in named and read.phase is None:
        read.phase = rule.read_man.value
    if rule.force in option.phases and rule.force not in named:
        give_force_phase(situation, men, rule.force)
    if rule.scrape not in option.phases or rule.scrape is Phase.DIVE or rule.scrape in named:
        return None
    scraper = find_scraper(situation, men, read)
    scraper.phase = rule.scrape.value
    if rule.read_man is Phase.DIVE and rule.scrape is Phase.QUARTERBACK:
        return trade(read, scraper, men, read_side(situation))
    return None


def give_named_phases(situation: Situation, men: list[Man], rule: OptionRule, read: Man) -> list[Phase]:
    """Section 6: phases by position or by job in an order of preference; of several men of one job the widest.

    Raises:
        NoAnswer: none of those named plays on the side that is read.
    """
    option = situation.play.option
    assert option is not None
    side, found = read_side(situation), []
    for phase in option.phases:
        names = rule.named(phase)
        for name in names:
            able = [
                man
                for man in men
                if man.phase is None
                and (man.position == name or (man is read and name == READ_MAN) or is_of_job(man, read, name))
                and (man is read or plays_there(situation, man, side))
            ]
            if able:
                max(able, key=lambda man: (side.sign * man.x, -man.depth)).phase = phase.value
                found.append(phase)
                break
        else:
            if names:
                raise NoAnswer(f"none of {', '.join(names)} can have the {phase.value}")
    return found


def is_of_job(man: Man, read: Man, name: str) -> bool:
    """Whether a rule that names a job means this man."""
    return man is not read and man.run_job is not None and man.run_job.value == name


def plays_there(situation: Situation, man: Man, side: Side) -> bool:
    """Whether a man's gap or drop is on a side; who has neither, where he stands."""
    if man.gaps:
        return gap_side(situation.formation, man.gaps[0]) is side
    return man.side is side if man.side is not None else side.sign * man.x >= 0


def give_force_phase(situation: Situation, men: list[Man], phase: Phase) -> None:
    """The force man on the side that is read; else its alley man; else the widest dropper there with no phase."""
    side = read_side(situation)
    for wanted in (RunJob.FORCE, RunJob.ALLEY, None):
        found = [
            man
            for man in men
            if man.phase is None
            and not man.is_read
            and (
                (man.run_job is wanted and man.side is side)
                if wanted
                else man.drop is not None and side.sign * man.x > 0
            )
        ]
        if found:
            max(found, key=lambda man: side.sign * man.x).phase = phase.value
            return
    raise NoAnswer(f"nobody for the {phase.value}")


def find_scraper(situation: Situation, men: list[Man], read: Man) -> Man:
    """The man next to the read man: on midline and veer the next rusher outside him, else the nearest stand-up man
    with a gap, a fold or an alley on that side, else the nearest man with a gap."""
    option = situation.play.option
    assert option is not None
    side = read_side(situation)
    if option.read in (ReadMan.FIRST_OUTSIDE_B, ReadMan.FIRST_PAST_CENTER):
        outside = [man for man in rushers_on(situation, men, side) if is_further_out(man, read, side)]
        free = [man for man in outside if man.phase is None and not man.is_read]
        if free:
            return free[0]
    others = [man for man in men if man.phase is None and not man.is_read]
    near = [man for man in others if not man.down and is_on_read_side(situation, man, side)]
    pool = near or [man for man in others if man.gaps]
    if not pool:
        raise NoAnswer("nobody for the quarterback")
    play = situation.play_to.sign
    return min(pool, key=lambda man: (round(abs(man.x - read.x), 9), man.depth, -play * man.x))


def rushers_on(situation: Situation, men: list[Man], side: Side) -> list[Man]:
    """The rushers whose last gap is on that side, from the inside out."""
    found = [man for man in men if man.rush and man.gaps and gap_side(situation.formation, man.gaps[-1]) is side]
    return sorted(found, key=lambda man: (side.sign * man.gaps[-1], abs(man.x), man.depth))


def is_further_out(man: Man, read: Man, side: Side) -> bool:
    """Whether a rusher plays outside the man who is read."""
    if not read.gaps:
        return side.sign * man.x > side.sign * read.x
    return (side.sign * man.gaps[-1], abs(man.x), man.depth) > (side.sign * read.gaps[-1], abs(read.x), read.depth)


def is_on_read_side(situation: Situation, man: Man, side: Side) -> bool:
    """Whether a man's gap, or his fold or alley, is on that side."""
    if man.gaps:
        return gap_side(situation.formation, man.gaps[0]) is side
    return man.run_job in (RunJob.FOLD, RunJob.ALLEY) and man.side is side


def trade(read: Man, scraper: Man, men: list[Man], side: Side) -> int | None:
    """Read man and scraper trade lanes only side by side: support may come to an empty lane between them.

    Else the scraper goes over the top and leaves his lane open. Returns that lane, or None.
    """
    if len(read.lanes) != 1 or len(scraper.lanes) != 1:
        return None
    outer, inner = read.lanes[0], scraper.lanes[0]
    if side.sign * outer <= side.sign * inner:
        return None
    if abs(outer - inner) == 1:
        read.lanes, scraper.lanes = [inner], [outer]
        return None
    scraper.lanes = []
    return inner


def give_dive(situation: Situation, men: list[Man], lanes: list[Lane]) -> None:
    """The dive of a rule that gives it to the scraper: a man who owns the lane that holds the aim, or the next one
    outside it.

    Raises:
        NoAnswer: nobody qualifies ("where none qualifies there is no rule, and that is said").
    """
    option = situation.play.option
    if option is None or Phase.DIVE not in option.phases or any(man.phase == Phase.DIVE.value for man in men):
        return
    aim = aim_lane(situation, lanes).index
    for lane in (aim, aim + situation.play_to.sign):
        found = [man for man in men if lane in man.lanes and man.phase is None and not man.is_read]
        if found:
            nearest = min(found, key=lambda man: (man.supports, abs(man.x - lanes[lane].fit_x), man.depth))
            nearest.phase = Phase.DIVE.value
            return
    raise NoAnswer("nobody owns the lane that the dive hits, or the next one outside it")
