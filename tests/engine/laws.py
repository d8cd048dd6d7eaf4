"""The laws that hold for every snap, each as a function that says in words how an answer breaks it.

Knows the engine's public answer and the nouns. An empty list means that the law holds. A law that needs another snap
made from this one (turned round, one blocker more, other names) makes it here.
"""

import re
from dataclasses import replace
from itertools import pairwise

import networkx as nx

from quizgen.engine.alignment import Man
from quizgen.engine.fits import Fit, Threat
from quizgen.engine.lanes import Lane
from quizgen.engine.reads import GONE, Read
from quizgen.engine.report import fit_report
from quizgen.engine.timing import Arrival, Clock, arrival_s, ball_s, clock
from quizgen.engine.verdict import RunAnswer, solve
from quizgen.engine.what_if import beaten
from quizgen.football.formation import Formation, OffensivePlayer, Role
from quizgen.football.pressure import Exchange, RunJob
from quizgen.football.scheme import JOBS, Job, Phase, Place, ReadMan
from quizgen.football.sides import Side
from quizgen.football.team import Situation
from tests.engine.turned import mirror_everything, partners, renamed

NEAR = 1e-9
DEEP_YD = 3.0
ZONE_JOBS = (Job.ZONE, Job.REACH, Job.CUTOFF)
PAIR_SPLIT = re.compile(r"[ /]")
SWAP = {"left": "right", "right": "left"}


def words_of(name: str, *, turned: bool) -> list[str]:
    """A lane's name as its words in no order, turned round or not."""
    words = PAIR_SPLIT.split(name.replace("'s", " s"))
    return sorted(SWAP.get(word, word) if turned else word for word in words)


def signature(fit: Fit, count: int, *, turned: bool) -> tuple[object, ...]:
    """What a fit says, turned round or not."""

    def lane(index: int | None) -> int | None:
        return count - 1 - index if turned and index is not None else index

    return (
        lane(fit.lane),
        sorted(lane(i) for i in fit.lanes),
        fit.owns,
        fit.read,
        fit.threat,
        lane(fit.lost_to),
        fit.clock and (round(fit.clock.at_s, 6), round(fit.clock.ball_s, 6), fit.clock.arrival),
        lane(fit.left_lane),
    )


def mirror_law(answer: RunAnswer) -> list[str]:
    """Turning everything round turns every answer round."""
    s = answer.situation
    other = solve(mirror_everything(s))
    trade, count = partners(s), len(answer.lanes)
    if len(other.lanes) != count:
        return [f"{count} lanes, {len(other.lanes)} turned round"]
    problems = []
    for i, lane in enumerate(answer.lanes):
        there = other.lanes[count - 1 - i]
        if abs(lane.x_from + there.x_to) > NEAR or abs(lane.x_to + there.x_from) > NEAR:
            problems.append(f"lane {lane.name} from {lane.x_from} to {lane.x_to}, turned round {there}")
        if words_of(lane.name, turned=True) != words_of(there.name, turned=False):
            problems.append(f"lane {lane.name} is {there.name} turned round")
    for fit in answer.fits:
        there = other.fit(trade[fit.man.position])
        if signature(fit, count, turned=True) != signature(there, count, turned=False):
            problems.append(f"{fit.man.position}: {signature(fit, count, turned=True)}, turned round {there}")
    problems.extend(
        f"{key}: {getattr(answer, key)}, turned round {getattr(other, key)}"
        for key in ("open", "doubled", "late", "conceded")
        if sorted(count - 1 - i for i in getattr(answer, key)) != sorted(getattr(other, key))
    )
    phases = {(owner.phase, trade[owner.position]) for owner in answer.phases}
    if phases != {(owner.phase, owner.position) for owner in other.phases}:
        problems.append(f"phases {phases}, turned round {other.phases}")
    if (answer.frontside, answer.backside, answer.sound) != (other.frontside, other.backside, other.sound):
        problems.append("numbers or soundness differ")
    if answer.short is not None:
        lanes, names = answer.short
        turned = tuple(sorted(count - 1 - i for i in lanes)), tuple(sorted(trade[name] for name in names))
        if turned != other.short:
            problems.append(f"short {answer.short}, turned round {other.short}")
    return problems


def lane_count_law(answer: RunAnswer) -> list[str]:
    """Before and after the snap there is one lane more than blockers at the surface, from sideline to sideline."""
    attached = sum(p.attached for p in answer.situation.formation.players)
    at_surface = sum(JOBS[m.job].place is not Place.AWAY for m in answer.moves)
    problems = []
    if len(answer.situation.formation.gaps) != attached + 1:
        problems.append(f"{len(answer.situation.formation.gaps)} gaps for {attached} attached")
    if len(answer.lanes) != at_surface + 1:
        problems.append(f"{len(answer.lanes)} lanes for {at_surface} at the surface")
    for left, right in pairwise(answer.lanes):
        if abs(left.x_to - right.x_from) > NEAR or left.right != right.left or left.x_to <= left.x_from:
            problems.append(f"{left.name} and {right.name} do not meet")
    return problems


def matched_count(graph: nx.Graph, lanes: list[int]) -> int:
    """How many of these lanes a largest matching gives a man."""
    matching = nx.bipartite.hopcroft_karp_matching(graph, lanes)
    return sum(i in matching for i in lanes)


def counts(clock: Clock, man: Man, lane: Lane) -> bool:
    """Whether a man makes a lane sound: on time, or late as force in an outermost lane."""
    is_force = man.drop is not None and man.drop.run is RunJob.FORCE
    return clock.arrival is Arrival.ON_TIME or (clock.arrival is Arrival.LATE and is_force and lane.is_outermost)


def who_could(answer: RunAnswer) -> nx.Graph:
    """Lanes against the men who may own them in time, a man of two gaps once for each; support by its run jobs."""
    graph, lanes = nx.Graph(), answer.lanes
    graph.add_nodes_from(i for i in range(len(lanes)) if i not in answer.conceded)
    owned = {i for fit in answer.fits if fit.man.gaps and fit.gets_there for i in fit.lanes}
    closed = {*answer.conceded, *owned, *(answer.option.left if answer.option else ())}
    for fit in answer.fits:
        man = fit.man
        for i, lane in enumerate(lanes):
            if man.gaps:
                can = fit.owns and i in fit.lanes and counts(fit.clock, man, lane)
            else:
                bound = answer.option is not None and not answer.option.may_fill(man.position, i)
                may = i not in closed and not bound and may_take(man.drop.run, man.side, lane, answer.situation.play_to)
                can = may and counts(clock_at(answer, man, i), man, lane)
            if can:
                graph.add_edge(i, (man.position, i if len(fit.lanes) > 1 else None))
    return graph


def has_matching_in_order(answer: RunAnswer, graph: nx.Graph, lanes: list[int]) -> bool:
    """Whether each lane can have a man in time without two men of support who cross: one lane after another, every man
    tried."""

    def can(left: list[int], used: set, sent: list[tuple[float, int]]) -> bool:
        if not left:
            return True
        for slot in set(graph.neighbors(left[0])) - used:
            man = answer.fit(slot[0]).man
            here = [] if man.gaps else [(man.x, left[0])]
            crossed = any((x - y) * (i - j) < 0 for x, i in here for y, j in sent)
            if not crossed and can(left[1:], used | {slot}, sent + here):
                return True
        return False

    return can(lanes, set(), [])


def soundness_law(answer: RunAnswer) -> list[str]:
    """Soundness is what a matching of a general graph library shows, and the reason for its lack is a set of lanes that
    has fewer men than lanes (Hall's theorem); without such a set men of support would have to cross."""
    needed = [i for i in range(len(answer.lanes)) if i not in answer.conceded]
    owners = nx.Graph()
    owners.add_nodes_from(needed)
    for fit in answer.fits:
        for i in fit.lanes if fit.owns else ():
            if i in needed and counts(fit.clock, fit.man, answer.lanes[i]):
                owners.add_edge(i, (fit.man.position, i))
    matched, problems = matched_count(owners, needed), []
    if answer.sound != (matched == len(needed)):
        problems.append(f"sound {answer.sound}, but {matched} of {len(needed)} matched")
    could = who_could(answer)
    largest = matched_count(could, needed)
    if (answer.short is not None) != (largest < len(needed)):
        problems.append(f"short {answer.short}, but {largest} of {len(needed)} could be matched")
    if not answer.sound and largest == len(needed) and has_matching_in_order(answer, could, needed):
        problems.append("not sound, though the lanes can be matched without a crossing")
    if answer.short is not None:
        lanes, names = answer.short
        slots = {slot for i in lanes for slot in could.neighbors(i)}
        if {slot[0] for slot in slots} != set(names) or len(slots) >= len(lanes):
            problems.append(f"short {answer.short}, but those lanes have {sorted(map(str, slots))}")
    return problems


def blockers_law(answer: RunAnswer) -> list[str]:
    """Zone flow changes no interior lane's two blockers; no play loses a blocker or makes one."""
    s, problems = answer.situation, []
    keys = [m.player.key for m in answer.moves]
    attached = [p.key for p in s.formation.surface]
    if len(set(keys)) != len(keys) or not set(attached) <= set(keys):
        problems.append(f"blockers {keys} for a line of {attached}")
    beside = {m.player.key for lane in answer.lanes for m in (lane.left, lane.right) if m}
    here = {m.player.key for m in answer.moves if JOBS[m.job].place is not Place.AWAY}
    if beside != here:
        problems.append(f"lanes lie beside {beside}, at the surface are {here}")
    if all(m.job in ZONE_JOBS for m in answer.moves if m.player.attached):
        in_line = [m.player.key for m in answer.moves if m.in_line]
        pairs = [(x.left.player.key, x.right.player.key) for x in answer.lanes if x.left and x.right and is_whole(x)]
        if in_line != attached or not set(pairs) <= set(pairwise(attached)):
            problems.append(f"zone flow: {pairs} for a line of {attached}")
    return problems


def is_whole(lane: object) -> bool:
    """Whether no man who arrived stands beside it."""
    return lane.left.in_line and lane.right.in_line


def center_law(answer: RunAnswer) -> list[str]:
    """With every rule at "stay", no gap owner has a lane on the other side of the center than his gap.

    Men who exchange may take over each other's side; a scrape trades two men's lanes.
    """
    partner = {}
    for pact in written_exchanges(answer.situation):
        partner |= {pact.first: pact.second, pact.second: pact.first}
    problems = []
    for fit in answer.fits:
        if not fit.man.gaps or fit.read is Read.SCRAPE:
            continue
        own = {gap.side for gap in fit.man.gaps}
        if fit.man.position in partner:
            own |= {gap.side for gap in answer.fit(partner[fit.man.position]).man.gaps}
        wrong = [answer.lanes[i].name for i in fit.lanes if answer.lanes[i].side not in (*own, None)]
        if wrong:
            problems.append(f"{fit.man.position} with {[g.name for g in fit.man.gaps]} has {wrong}")
    return problems


def written_exchanges(s: Situation) -> list[Exchange]:
    """The call's exchanges with the positions that have those jobs on this side."""
    trade = partners(s) if s.to is Side.LEFT else {p.name: p.name for p in s.positions}
    return [replace(e, first=trade[e.first], second=trade[e.second]) for e in s.pressure.exchanges]


def one_more(s: Situation) -> Situation | None:
    """The same snap with an end more on a side, taken from the men split wide; None where nobody is left to take."""
    side = Side.LEFT if len(s.formation.on_side(Side.LEFT)) <= len(s.formation.on_side(Side.RIGHT)) else Side.RIGHT
    wide = [p for p in s.formation.players if p.role is Role.RECEIVER and p.on_line]
    if not wide or len(s.formation.surface) > 7:
        return None
    last = s.formation.on_side(side)[-1]
    x = last.x + side.sign * s.rules.measures.pitch_yd(Role.END)
    key = f"{side.value[0].upper()}E{last.order + 1}"
    end = OffensivePlayer(key, Role.END, side, x, 0.0, True, True, last.order + 1)
    players = tuple(p for p in s.formation.players if p is not wide[-1])
    return replace(s, formation=Formation("one more", (*players, end), s.formation.rule_book))


def one_more_law(answer: RunAnswer) -> list[str] | None:
    """An attached blocker more adds exactly one lane, on a play whose only jobs on the line are for all of it."""
    more = one_more(answer.situation)
    if more is None:
        return None
    lanes = len(solve(more).lanes)
    return [] if lanes == len(answer.lanes) + 1 else [f"{len(answer.lanes)} lanes, {lanes} with one man more"]


def phases_law(answer: RunAnswer) -> list[str]:
    """Each phase of an option, the man in jet or orbit motion, and the run and the throw of an attached pass have
    exactly one owner, and no man has two."""
    option = answer.situation.play.option
    wanted = [phase.value for phase in option.phases] if option else []
    wanted += ["run", "throw"] if answer.situation.play.attached else []
    moved = answer.situation.formation.moved
    wanted = sorted([*wanted, *(["man in motion"] if moved and moved.motion.kind.is_threat else [])])
    owners = [owner.position for owner in answer.phases]
    known = {p.name for p in answer.situation.positions}
    if sorted(o.phase.value for o in answer.phases) != wanted or len(set(owners)) != len(owners) or set(owners) - known:
        return [f"phases {answer.phases} for {wanted}"]
    return []


def ways_law(answer: RunAnswer) -> list[str]:
    """No rusher and no read man is sent across a lane that a teammate owns, but where the call's exchange, a rule
    (over the top) or 3 yd of depth takes him behind it."""
    partner = {name for pact in written_exchanges(answer.situation) for name in (pact.first, pact.second)}
    owned = {i: fit.man.position for fit in answer.fits if fit.owns for i in fit.lanes}
    problems = []
    for fit in answer.fits:
        is_exempt = fit.man.position in partner or fit.read in GONE or fit.man.depth_yd >= DEEP_YD
        if not fit.man.gaps or not fit.owns or is_exempt:
            continue
        own = [i for i, lane in enumerate(answer.lanes) if set(fit.man.gaps) & set(lane.gaps)]
        if set(fit.lanes) <= set(own):
            continue
        path = range(min(*own, *fit.lanes) + 1, max(*own, *fit.lanes))
        crossed = {owned[i] for i in path if i in owned and i not in own} - {fit.man.position}
        if crossed:
            problems.append(f"{fit.man.position} crosses {sorted(crossed)}")
    return problems


def one_answer_law(answer: RunAnswer) -> list[str]:
    """Everything that is said about one man on one snap names the same phase and the same lanes."""
    problems = []
    has = {owner.position: owner.phase.value for owner in answer.phases}
    told = {one["position"]: one for one in fit_report(answer)["fits"]}
    for fit in answer.fits:
        name, sentence = fit.man.position, told[fit.man.position]["because"]
        phase = fit.phase.value if fit.phase else None
        if phase != has.get(name) or (phase is not None and f"the {phase} is yours" not in sentence.lower()):
            problems.append(f"{name} has {has.get(name)}, his fit says {phase}, he is told {sentence!r}")
        lanes = [answer.lanes[i].name for i in fit.lanes] if fit.owns else []
        if fit.owns and not any(lane.lower() in sentence.lower() for lane in lanes):
            problems.append(f"{name} has {lanes} and is told {sentence!r}")
    return problems


def one_blocker_law(answer: RunAnswer) -> list[str]:
    """No blocker threatens two men, and nobody threatens the man who is read."""
    keys = [m.player.key for fit in answer.fits for m in fit.threats]
    problems = [f"{key} threatens two men" for key in set(keys) if keys.count(key) > 1]
    problems += [
        f"{f.man.position} is read and threatened by {f.threats}" for f in answer.fits if f.is_read and f.threats
    ]
    return problems


def beaten_law(answer: RunAnswer) -> list[str]:
    """Where a man ends up when he is beaten is never the lane that he lost."""
    problems = []
    for fit in answer.fits:
        if fit.threat is not None and fit.owns:
            loss = beaten(answer, fit.man.position)
            if loss.lane is not None and (loss.lane in loss.opens or (loss.lane == fit.lane and len(fit.lanes) == 1)):
                problems.append(f"{fit.man.position} loses {fit.lanes} and ends up in {loss.lane}")
    return problems


def hinge_law(answer: RunAnswer) -> list[str]:
    """A hinge moves no gap boundary by more than a fifth of the gap's width at the snap, and washes nobody."""
    surface = answer.situation.formation.surface
    problems = []
    for m in answer.moves:
        if m.job is not Job.HINGE:
            continue
        at = surface.index(m.player)
        widths = [abs(surface[k].x - m.player.x) for k in (at - 1, at + 1) if 0 <= k < len(surface)]
        if any(abs(m.dx) > width / 5 + NEAR for width in widths):
            problems.append(f"{m.player.word} moves {m.dx} beside gaps of {widths}")
        problems += [f"{m.player.word} washes" for fit in answer.fits if fit.threat is Threat.WASH and m in fit.threats]
    return problems


def idle_law(answer: RunAnswer) -> list[str]:
    """No lane is open while a man whose run job may take it has neither lane nor phase and could get there without
    crossing a man of support (law 9); conceded lanes and the one that a scraper left are exempt."""
    s = answer.situation
    left = {fit.left_lane for fit in answer.fits if not fit.owns and fit.left_lane is not None}
    problems = []
    for fit in answer.fits:
        if fit.owns or fit.phase is not None or fit.man.gaps or fit.man.drop is None:
            continue
        run = fit.man.drop.run
        beside = [i for i in answer.open if i not in left and may_take(run, fit.man.side, answer.lanes[i], s.play_to)]
        problems.extend(
            f"{fit.man.position} ({run.value}) is idle beside {answer.lanes[i].name}"
            for i in beside
            if clock_at(answer, fit.man, i).arrival is not Arrival.NEVER and not would_cross(answer, fit, i)
        )
    return problems


def support_of(answer: RunAnswer) -> list[Fit]:
    """The men of support who have a lane."""
    return [fit for fit in answer.fits if fit.owns and not fit.man.gaps]


def would_cross(answer: RunAnswer, fit: Fit, lane: int) -> bool:
    """Whether a man would cross a man of support on his way to a lane."""
    return any((other.man.x - fit.man.x) * (other.lanes[0] - lane) < 0 for other in support_of(answer))


def support_ways_law(answer: RunAnswer) -> list[str]:
    """Two men of support never cross each other."""
    return [
        f"{fit.man.position} crosses on the way to {answer.lanes[fit.lanes[0]].name}"
        for fit in support_of(answer)
        if would_cross(answer, fit, fit.lanes[0])
    ]


def may_take(run: RunJob, side: Side | None, lane: Lane, play_to: Side) -> bool:
    """Whether a run job may take an open lane, by the page's words."""
    return {
        RunJob.FORCE: lane.side is side or lane.is_last(side),
        RunJob.ALLEY: lane.side is side,
        RunJob.FOLD: lane.side in (side, None) and len(lane.gaps) > 1,
        RunJob.FREE: True,
        RunJob.CUTBACK: lane.side is not play_to,
    }.get(run, False)


def clock_at(answer: RunAnswer, man: Man, lane: int) -> Clock:
    """A man from depth and the ball at a lane."""
    timing = answer.situation.rules.timing
    at_s = arrival_s(man, answer.lanes[lane].middle_x, timing, reads=True)
    return clock(at_s, ball_s(answer.situation, answer.lanes[lane], answer.aim_x), timing)


def dive_law(answer: RunAnswer) -> list[str]:
    """The owner of the dive owns a lane in which it hits, or the next one outside it; a man who is read on the back
    side closes on it from wherever he is."""
    dive = next((answer.fit(owner.position) for owner in answer.phases if owner.phase is Phase.DIVE), None)
    option = answer.situation.play.option
    if dive is None or (dive.is_read and option is not None and option.read is ReadMan.BACK_EDGE):
        return []
    s = answer.situation
    gaps = [gap for gap in s.formation.gaps if gap.side is s.play_to]
    gaps.sort(key=lambda gap: gap.letter.index)
    aim = gaps[-1] if s.play.aim is None else gaps[min(s.play.aim.index, len(gaps) - 1)]
    hit = [i for i, lane in enumerate(answer.lanes) if aim in lane.gaps]
    hit.append(max(hit) + 1 if s.play_to is Side.RIGHT else min(hit) - 1)
    if dive.owns and set(dive.lanes) & set(hit):
        return []
    return [f"{dive.man.position} has the dive in lanes {dive.lanes}, it hits {hit}"]


def names_law(answer: RunAnswer, seed: int) -> list[str]:
    """Neither names nor the order of content change an answer."""
    other_s, new = renamed(answer.situation, seed)
    other, count = solve(other_s), len(answer.lanes)
    problems = [
        f"lane {a} and {b}"
        for a, b in zip(answer.lanes, other.lanes, strict=True)
        if (a.name, a.x_to) != (b.name, b.x_to)
    ]
    for fit in answer.fits:
        there = other.fit(new[fit.man.position])
        if signature(fit, count, turned=False) != signature(there, count, turned=False):
            problems.append(f"{fit.man.position}: {signature(fit, count, turned=False)}, renamed {there}")
    phases = {(owner.phase, new[owner.position]) for owner in answer.phases}
    if phases != {(owner.phase, owner.position) for owner in other.phases} or answer.conceded != other.conceded:
        problems.append("phases or conceded lanes differ")
    if answer.short is not None:
        lanes, names = answer.short
        if (lanes, tuple(sorted(new[name] for name in names))) != other.short:
            problems.append(f"short {answer.short}, renamed {other.short}")
    return problems
