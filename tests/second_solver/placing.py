"""The slow solver, first half: where every man stands before the snap, where every blocker is at the fit, the lanes.

Written from the page of rules alone, to check the engine. It must not know how the engine does it: left plays are
worked out on the left, with plain signs; men and lanes are dictionaries; a gap is a pair ("right", 1) for right B.
"""

from itertools import pairwise

from quizgen.football.defense import Alignment, Landmark
from quizgen.football.errors import CannotRun, NoRule
from quizgen.football.formation import Formation, OffensivePlayer, Role
from quizgen.football.pressure import CallGap, RunJob
from quizgen.football.scheme import JOBS, Flow, Intent, Job, JobRow, Place, Who
from quizgen.football.sides import Side
from quizgen.football.team import Situation

SIGN = {"left": -1, "right": 1}
OTHER = {"left": "right", "right": "left"}
LETTERS = "ABCDEF"
TOO_CLOSE_YD = 0.2
EDGE_STEP_YD = 1.3
OUTER_WIDTH_YD = 3.0
OUTER_FIT_YD = 1.0
ABSENT_NUMBER_YD = {Landmark.NUMBER_ONE: 6.0, Landmark.NUMBER_TWO: 4.0}


def refuse(s: Situation, missing: str) -> NoRule:
    """The error for a situation that the rules don't cover."""
    return NoRule(s.pressure.name, s.front.name, s.play.name, missing)


def traded_names(s: Situation) -> dict[str, str]:
    """Each position and the position whose job it does on this call."""
    trade = {}
    if s.to is Side.LEFT:
        for position in s.positions:
            if position.mirrors:
                trade[position.name] = position.mirrors
                trade[position.mirrors] = position.name
    return {name: trade.get(name, name) for name in [p.name for p in s.positions]}


def attached_on(formation: Formation, side: str) -> list[OffensivePlayer]:
    """Attached men of one side from the inside out."""
    center_x = next(p.x for p in formation.players if p.role is Role.CENTER)
    men = [p for p in formation.players if p.attached and (p.x - center_x) * SIGN[side] > 0]
    return sorted(men, key=lambda p: abs(p.x - center_x))


def find_landmark_x(s: Situation, landmark: Landmark, side: str) -> float:
    """Where the landmark stands, or would."""
    formation, out, step = s.formation, SIGN[side], s.rules.measures.pitch_yd(Role.END)
    if landmark in (Landmark.CENTER, Landmark.MIDDLE):
        return next(p.x for p in formation.players if p.role is Role.CENTER)
    line = attached_on(formation, side)
    last_x = line[-1].x
    if landmark is Landmark.LAST:
        return last_x
    if landmark in ABSENT_NUMBER_YD:
        receivers = formation.receivers(Side(side))
        number = 0 if landmark is Landmark.NUMBER_ONE else 1
        return receivers[number].x if len(receivers) > number else last_x + out * ABSENT_NUMBER_YD[landmark]
    role = Role(landmark.value)
    there = [p for p in line if p.role is role]
    if there:
        return there[0].x
    if role is Role.WING and not any(p.role is Role.END for p in line):
        return last_x + out * 2 * step
    return last_x + out * step


def align(s: Situation, alignment: Alignment) -> float:
    """The x of an alignment."""
    side = alignment.toward.side(s.to).value
    return find_landmark_x(s, alignment.landmark, side) + SIGN[side] * (alignment.shade.out_yd + alignment.out_yd)


def outermost_gap(s: Situation, side: str) -> tuple[str, int]:
    """The gap outside the last attached man."""
    return (side, len(attached_on(s.formation, side)))


def called_gap(s: Situation, gap: CallGap) -> tuple[str, int]:
    """The gap on the field that the call means."""
    side = gap.toward.side(s.to).value
    last = outermost_gap(s, side)[1]
    return (side, last if gap.letter is None else min(last, LETTERS.index(gap.letter.value)))


def line_up(s: Situation) -> list[dict]:
    """The eleven as dictionaries: place, part in the call, own gaps."""
    job_of = traded_names(s)
    position_of = {job: name for name, job in job_of.items()}
    by_name = {p.name: p for p in s.positions}
    overrides = dict(s.pressure.align)
    men = []
    for spot in s.front.spots:
        position = by_name[position_of[spot.position]]
        alignment = overrides.get(spot.position, spot.alignment)
        rush = s.pressure.find_rush(spot.position)
        drop = s.pressure.find_drop(spot.position)
        part = rush or drop
        named = [part.gap, part.second_gap] if rush or drop.run is RunJob.FILL else []
        gaps = []
        for gap in named:
            if gap is not None and called_gap(s, gap) not in gaps:
                gaps.append(called_gap(s, gap))
        own_edge = s.rules.edge_by_position.get(position.name, s.rules.edge)
        men.append(
            {
                "name": position.name,
                "job_name": spot.position,
                "class": position.player_class,
                "x": align(s, alignment),
                "depth": alignment.depth_yd,
                "down": spot.down,
                "rush": rush,
                "run": drop.run if drop else None,
                "side": drop.toward.side(s.to).value if drop and drop.toward else None,
                "gaps": gaps,
                "edge": s.pressure.edge_rule(spot.position) or own_edge.value,
            }
        )
    return men


def find_men(s: Situation, who: Who, job: Job) -> list[OffensivePlayer]:
    """The men of whom an entry speaks; one only where the job is not on the line."""
    stays = JOBS[job].place is Place.LINE
    side = None
    if who.flow is not None:
        side = s.play_to if who.flow is Flow.PLAY_SIDE else s.play_to.other
    found = [
        p
        for p in s.formation.players
        if (p.attached if who.role is None else p.role is who.role) and (side is None or p.side is side)
    ]
    if who.role is not None and not stays:
        found = sorted(found, key=lambda p: (p.order, abs(p.x), p.x * s.play_to.sign))[:1]
    return found


def give_jobs(s: Situation) -> dict[str, tuple[OffensivePlayer, JobRow]]:
    """Each blocker's row, by his key."""
    if not any(p.role is s.play.carrier for p in s.formation.players):
        raise CannotRun(s.pressure.name, s.front.name, s.play.name, f"no {s.play.carrier.value} to carry")
    best: dict[str, tuple[int, OffensivePlayer, JobRow]] = {}
    for row in s.play.rows:
        entries = [(who, find_men(s, who, row.job)) for who in row.who]
        entries = [(who, men) for who, men in entries if men]
        if not entries:
            if row.optional:
                continue
            raise CannotRun(s.pressure.name, s.front.name, s.play.name, f"nobody is {row.who[0].word}")
        who, men = entries[0]
        for man in men:
            if man.key not in best or who.detail >= best[man.key][0]:
                best[man.key] = (who.detail, man, row)
    for man in s.formation.players:
        if man.attached and man.key not in best:
            raise refuse(s, f"{man.word} has no job")
        if not man.attached and man.key in best and JOBS[best[man.key][2].job].place is Place.LINE:
            raise refuse(s, f"{man.word} is not on the line")
    return {key: (man, row) for key, (_, man, row) in best.items()}


def gap_list(s: Situation) -> list[tuple[str, int]]:
    """Gaps from left to right."""
    left = [("left", i) for i in range(outermost_gap(s, "left")[1], -1, -1)]
    return left + [("right", i) for i in range(outermost_gap(s, "right")[1] + 1)]


def aim_of(s: Situation) -> tuple[str, int]:
    """The gap that the play aims at."""
    side = s.play_to.value
    last = outermost_gap(s, side)[1]
    return (side, last if s.play.aim is None else min(last, LETTERS.index(s.play.aim.value)))


def line_moves(s: Situation, men: list[dict], line: list[OffensivePlayer], jobs: dict) -> dict[str, float]:
    """How far each attached man with a job on the line moves, in yards to the right, by key."""
    dx = {}
    for i, man in enumerate(line):
        rule = JOBS[jobs[man.key][1].job]
        if rule.place is not Place.LINE:
            continue
        toward = s.play_to.sign * (1 if rule.gaps_moved > 0 else -1)
        neighbour = i + toward if 0 <= i + toward < len(line) else i - toward
        width = abs(line[neighbour].x - man.x)
        if jobs[man.key][1].job is Job.HINGE:
            beside = [abs(line[k].x - man.x) for k in (i - 1, i + 1) if 0 <= k < len(line)]
            width = min(beside)
        dx[man.key] = rule.gaps_moved * s.play_to.sign * width
        if jobs[man.key][1].job is Job.DOUBLE:
            dx[man.key] = 0.0
    gaps, aim = gap_list(s), gap_list(s).index(aim_of(s))
    held = {gap for man in men if man["down"] for gap in man["gaps"]}
    targets = [k for k in range(1, len(gaps) - 1) if gaps[k] in held]
    used = set()
    for k in sorted(targets, key=lambda k: (abs(k - aim), -k * s.play_to.sign)):
        left, right = line[k - 1], line[k]
        if all(jobs[p.key][1].job is Job.DOUBLE and p.key not in used for p in (left, right)):
            used |= {left.key, right.key}
            step = JOBS[Job.DOUBLE].gaps_moved * (right.x - left.x)
            dx[left.key], dx[right.key] = step, -step
    return dx


def arrival_gap(s: Situation, men: list[dict], row: JobRow) -> tuple[str, int]:
    """The gap that a man who arrives turns up in."""
    side, place = s.play_to.value, JOBS[row.job].place
    last = outermost_gap(s, side)
    if place is Place.EDGE:
        return last
    if place is Place.BACK_EDGE:
        return outermost_gap(s, OTHER[side])
    if place is Place.BUBBLE:
        held = {gap for man in men if man["down"] for gap in man["gaps"]}
        for i in range(last[1]):
            if (side, i) not in held:
                return (side, i)
    if place is Place.TRAP:
        first = 0
        if row.past is not None and row.past is not Role.CENTER:
            passed = [p for p in attached_on(s.formation, side) if p.role is row.past]
            if not passed:
                raise CannotRun(s.pressure.name, s.front.name, s.play.name, f"no {row.past.value} to trap past")
            first = passed[0].order
        hit = {gap for man in men if man["rush"] and (man["down"] or man["rush"].order == 1) for gap in man["gaps"]}
        for i in range(first, last[1] + 1):
            if (side, i) in hit:
                return (side, i)
        raise refuse(s, "nobody to trap")
    return aim_of(s)


def place_blockers(s: Situation, men: list[dict]) -> tuple[list[dict], list[dict], list[OffensivePlayer]]:
    """The men still in line, the men who arrived, and those who pulled, at the time of the fit."""
    jobs = give_jobs(s)
    line = [p for p in sorted(s.formation.players, key=lambda p: p.x) if p.attached]
    dx = line_moves(s, men, line, jobs)
    stayed = [
        {
            "key": p.key,
            "x0": p.x,
            "x": p.x + dx[p.key],
            "dx": dx[p.key],
            "index": i,
            "rule": JOBS[jobs[p.key][1].job],
            "in": True,
        }
        for i, p in enumerate(line)
        if p.key in dx
    ]
    if not stayed:
        raise refuse(s, "nobody is left in the line")
    for one, two in pairwise(stayed):
        if two["x"] - one["x"] < TOO_CLOSE_YD:
            raise refuse(s, f"{one['key']} and {two['key']} run into each other")
    pulled = [p for p in line if JOBS[jobs[p.key][1].job].pulls]
    arrived = []
    for key, (man, row) in jobs.items():
        rule = JOBS[row.job]
        if rule.place not in (Place.LINE, Place.AWAY):
            gap = arrival_gap(s, men, row)
            arrived.append(
                {"key": key, "man": man.word, "from_x": man.x, "rule": rule, "gap": gap, "in": False, "dx": 0.0}
            )
    return stayed, arrived, pulled


def build_lanes(s: Situation, stayed: list[dict], arrived: list[dict]) -> list[dict]:
    """The lanes from left to right; those of one split gap share ``base`` and count ``part`` from the left."""
    gaps, lanes = gap_list(s), []
    ends = [None, *stayed, None]
    for base, (left, right) in enumerate(pairwise(ends)):
        first = left["index"] + 1 if left else 0
        last = right["index"] if right else len(gaps) - 1
        own = gaps[first : last + 1]
        inside = [a for a in arrived if a["gap"] in own]
        if any((left if man["gap"][0] == "right" else right) is None for man in inside):
            raise refuse(s, "nobody is left in the line inside a man who arrives")
        out = SIGN[inside[0]["gap"][0]] if inside else 1
        inside.sort(key=lambda a: (a["gap"][1], a["rule"].rank, abs(a["from_x"]), a["from_x"] * s.play_to.sign))
        for k, man in enumerate(inside, 1):
            if left and right:
                share = k / (len(inside) + 1)
                width = right["x"] - left["x"]
                man["x"] = left["x"] + share * width if out > 0 else right["x"] - share * width
            else:
                man["x"] = left["x"] + EDGE_STEP_YD * k if left else right["x"] - EDGE_STEP_YD * k
        doing = [man["rule"].word for man in inside]
        for man in inside:
            word = man["rule"].word
            man["called"] = word if doing.count(word) == 1 else f"{man['man']}'s {word}"
        walls = [left, *sorted(inside, key=lambda a: a["x"]), right]
        for part, (near, far) in enumerate(pairwise(walls)):
            lanes.append(
                {"gaps": own, "left": near, "right": far, "base": base, "part": part, "parts": len(inside) + 1}
            )
    for lane in lanes:
        measure(lane)
    return lanes


def measure(lane: dict) -> None:
    """Add a lane's edges, the x of a fit in it, and its side (None across the center)."""
    left, right = lane["left"], lane["right"]
    lane["x_from"] = left["x"] if left else right["x"] - OUTER_WIDTH_YD
    lane["x_to"] = right["x"] if right else left["x"] + OUTER_WIDTH_YD
    lane["fit_x"] = (lane["x_from"] + lane["x_to"]) / 2
    if not left:
        lane["fit_x"] = right["x"] - OUTER_FIT_YD
    if not right:
        lane["fit_x"] = left["x"] + OUTER_FIT_YD
    sides = {side for side, _ in lane["gaps"]}
    lane["side"] = sides.pop() if len(sides) == 1 else None


def gap_name(lane: dict) -> str:
    """Side and letters from the inside out ("left A/B"); across the center every gap, from left to right."""
    if lane["side"] is None:
        return "/".join(f"{side} {LETTERS[i]}" for side, i in lane["gaps"])
    return f"{lane['side']} {'/'.join(LETTERS[i] for i in sorted(i for _, i in lane['gaps']))}"


def lane_name(lane: dict) -> str:
    """The gap with what split it: "right C inside the kick"; left and right of the blocker across the center."""
    if lane["parts"] == 1:
        return gap_name(lane)
    words = [f"the {wall['called']}" for wall in (lane["left"], lane["right"]) if wall and not wall["in"]]
    if lane["side"] == "left":
        words.reverse()
    if len(words) == 2:
        return f"{gap_name(lane)} between {' and '.join(words)}"
    is_left = lane["part"] == 0
    if lane["side"] is None:
        return f"{gap_name(lane)} {'left' if is_left else 'right'} of {words[0]}"
    return f"{gap_name(lane)} {'inside' if is_left == (lane['side'] == 'right') else 'outside'} {words[0]}"


def kicks_out(blocker: dict) -> bool:
    """Whether he arrives and blocks from the inside out: a kick or a trap."""
    return not blocker["in"] and blocker["rule"].intent is Intent.KICK


def traps(blocker: dict) -> bool:
    """Whether he arrives to trap."""
    return blocker["rule"].place is Place.TRAP
