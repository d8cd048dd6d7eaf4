"""The slow solver, second half: who owns which lane, who is late, what is open, what threatens each man.

Support is found by trying every assignment there is. See placing.py for the first half and for what it must not know.
"""

from quizgen.football.formation import Role
from quizgen.football.pressure import RunJob, RushPart, Trigger
from quizgen.football.rules import CrackRule, PullSecond
from quizgen.football.scheme import JOBS, Intent, Job, Place
from quizgen.football.team import Situation
from tests.second_solver.options import play_the_option
from tests.second_solver.placing import (
    OTHER,
    SIGN,
    aim_of,
    attached_on,
    build_lanes,
    called_gap,
    gap_list,
    give_jobs,
    kicks_out,
    lane_name,
    line_up,
    outermost_gap,
    place_blockers,
    traps,
)
from tests.second_solver.support import clock, is_fine, send

EDGE_READS = ("box", "spill", "inside", "outside")
SLACK = 1e-9
STILL = 0.05


def solve_slowly(s: Situation, prefer: frozenset[int] = frozenset()) -> dict:
    """The whole answer as a dictionary; where support could fill other lanes at the same cost, those preferred.

    Raises:
        NoRule: the rules don't cover the situation; CannotRun: the play needs a man whom the formation lacks.
    """
    men = line_up(s)
    stayed, arrived, pulled = place_blockers(s, men)
    lanes = build_lanes(s, stayed, arrived)
    crack(s, men)
    exchange(s, men)
    for man in men:
        man["lanes"], man["read"], man["left_lane"] = [], None, None
        man["is_read"], man["phase"], man["left_open"] = False, None, None
        if man["gaps"]:
            claim(s, lanes, man)
    read_pulls(s, lanes, men, pulled)
    phases = play_the_option(s, lanes, men)
    aim_lanes = [lane for lane in lanes if aim_of(s) in lane["gaps"]]
    aim_x = min((lane["fit_x"] for lane in aim_lanes), key=lambda x: x * s.play_to.sign)
    for man in men:
        man["waits"] = wait_of(s, man, men)
    conceded = concede(s, lanes, men)
    could_fill = send(s, lanes, men, conceded, aim_x, prefer)
    return {**verdict(s, lanes, men, conceded, phases, aim_x), "could_fill": could_fill}


def wait_of(s: Situation, man: dict, men: list[dict]) -> float:
    """How long a rusher must wait to be clear of those who cross in front of him on the way to the call's gaps."""
    timing = s.rules.timing
    longest = 0.0
    for other in men:
        if not (man["rush"] and other["rush"]) or other is man or not comes_first(s, other, man):
            continue
        meeting = where_paths_cross(s, other, man)
        if meeting is not None:
            first, second = (path_time(s, m, meeting) for m in (other, man))
            wait = first + timing.cross_clearance_s - second
            longest = max(longest, round(wait, 2) if wait > SLACK else 0.0)
    return longest


def comes_first(s: Situation, one: dict, two: dict) -> bool:
    """Whether one rusher is called before another; of the same order the shallower, then the one further back."""
    forward = s.play_to.sign
    return (one["rush"].order, one["depth"], one["x"] * forward) < (two["rush"].order, two["depth"], two["x"] * forward)


def spot_of(s: Situation, gap: tuple[str, int]) -> float:
    """The middle of a gap at the snap; a yard outside the last man for the outermost."""
    line = [0.0, *(abs(p.x) for p in attached_on(s.formation, gap[0]))]
    inside = line[gap[1]]
    return SIGN[gap[0]] * ((inside + line[gap[1] + 1]) / 2 if gap[1] + 1 < len(line) else inside + 1.0)


def where_paths_cross(s: Situation, one: dict, two: dict) -> tuple[float, float] | None:
    """The point before the line where two rushers' straight ways cross, as (x, depth)."""
    (x1, d1, t1), (x2, d2, t2) = ((m["x"], m["depth"], spot_of(s, m["called"][0])) for m in (one, two))
    # At depth d a man is at t + (x - t) * d / depth: a straight line in d for each, equal where they cross.
    slope1, slope2 = (x1 - t1) / d1, (x2 - t2) / d2
    if abs(slope1 - slope2) < SLACK:
        return None
    depth = (t2 - t1) / (slope1 - slope2)
    return (t1 + slope1 * depth, depth) if SLACK < depth < min(d1, d2) - SLACK else None


def path_time(s: Situation, man: dict, point: tuple[float, float]) -> float:
    """When a rusher is at a point of his way."""
    timing = s.rules.timing
    pace = timing.rush[man["class"]]
    way = ((point[0] - man["x"]) ** 2 + (point[1] - man["depth"]) ** 2) ** 0.5
    return pace.reaction_s + (man["rush"].order - 1) * timing.order_delay_s + way / pace.speed_yd_s


def crack(s: Situation, men: list[dict]) -> None:
    """Take the cracked force man out of the run and, by team rule, put the corner in his place."""
    for player, row in give_jobs(s).values():
        if row.job is not Job.CRACK:
            continue
        side = "right" if player.x > 0 else "left"
        cracked = [m for m in men if m["run"] is RunJob.FORCE and m["side"] == side]
        for man in cracked:
            man["run"] = RunJob.COVER
        others = [m for m in men if m["run"] is RunJob.COVER and m not in cracked and m["x"] * SIGN[side] > 0]
        if cracked and others and s.rules.crack is CrackRule.REPLACE:
            corner = max(others, key=lambda m: abs(m["x"]))
            corner["run"], corner["side"] = RunJob.FORCE, side


def exchange(s: Situation, men: list[dict]) -> None:
    """Trade gaps between two men where the named blocker does what triggers it."""
    jobs = give_jobs(s)
    for man in men:
        man["called"], man["exchanged"] = list(man["gaps"]), False
    for pact in s.pressure.exchanges:
        first = next(m for m in men if m["job_name"] == pact.first)
        second = next(m for m in men if m["job_name"] == pact.second)
        side = first["gaps"][0][0]
        blockers = [p for p in attached_on(s.formation, side) if p.role is Role(pact.blocker)]
        if not blockers:
            continue
        job = jobs[blockers[0].key][1].job
        does = {
            Trigger.DOWN: job is Job.DOWN,
            Trigger.PULL: JOBS[job].pulls,
            Trigger.REACH: job is Job.REACH,
        }
        if any(does[trigger] for trigger in pact.triggers):
            first["gaps"], second["gaps"] = second["gaps"], first["gaps"]
            for man in (first, second):
                man["exchanged"] = man["gaps"] != man["called"]


def choose_portion(s: Situation, lanes: list[dict], man: dict, gap: tuple[str, int]) -> tuple[int, str | None]:
    """The lane a gap's owner takes, and how he fits there where men arrived in his gap.

    He stays inside men who arrive in a gap further right than his and outside those further left; only men in his own
    gap leave him a choice.
    """
    gaps = gap_list(s)
    here = [i for i, lane in enumerate(lanes) if gap in lane["gaps"]]
    walls = [lanes[i]["right"] for i in here[:-1]]
    left_of_him = [w for w in walls if gaps.index(w["gap"]) < gaps.index(gap)]
    own = [w for w in walls if w["gap"] == gap]
    parts = here[len(left_of_him) : len(left_of_him) + len(own) + 1]
    if gap[0] == "left":
        own, parts = own[::-1], parts[::-1]
    if not own:
        return parts[0], None
    kicks = [k for k, blocker in enumerate(own) if kicks_out(blocker) and not traps(blocker)]
    outermost = gap == outermost_gap(s, gap[0])
    if outermost and kicks:
        rule = man["edge"] if gap[0] == s.play_to.value else s.rules.back_edge.value
        return parts[kicks[0] + (rule == "box")], rule
    if outermost and own[0]["rule"].place in (Place.EDGE, Place.BACK_EDGE):
        return parts[0], None
    rule = (s.rules.trap if traps(own[0]) else s.rules.lead).value
    return parts[0 if rule == "inside" else 1], rule


def claim(s: Situation, lanes: list[dict], man: dict) -> None:
    """Give a gap owner his lanes; how he fits in the first of them is his read."""
    for gap in man["gaps"]:
        lane, read = choose_portion(s, lanes, man, gap)
        if lane not in man["lanes"]:
            man["lanes"].append(lane)
        if lane == man["lanes"][0]:
            man["read"] = read or man["read"]


def read_pulls(s: Situation, lanes: list[dict], men: list[dict], pulled: list) -> None:
    """Men whose lane a puller merged stay or go over the top to the play side."""
    gaps = gap_list(s)
    line = [p for p in sorted(s.formation.players, key=lambda p: p.x) if p.attached]
    holes = {line.index(p) for p in pulled}
    leaving = []
    for man in men:
        if len(man["lanes"]) != 1:
            continue
        own = [gaps.index(gap) for gap in lanes[man["lanes"][0]]["gaps"]]
        if not any(k in own and k + 1 in own for k in holes):
            continue
        rush = man["rush"]
        on_edge = any(gap == outermost_gap(s, gap[0]) for gap in man["gaps"])
        if rush and on_edge and rush.part is not RushPart.TWO_GAP:
            continue
        if rush and (man["down"] or rush.order == 1):
            continue
        rule = s.rules.pull_second if rush else s.rules.pull_backer
        if rule is PullSecond.OVER_THE_TOP:
            leaving.append(man)
    side = s.play_to.value
    order = sorted(leaving, key=lambda m: (m["rush"].order if m["rush"] else 1, -m["x"] * SIGN[side], m["depth"]))
    waiting = list(order)
    for man in order:
        taken = {i for m in men if m not in waiting for i in m["lanes"]}
        free = [i for i, lane in enumerate(lanes) if lane["side"] == side and i not in taken]
        waiting.remove(man)
        if free:
            man["left_lane"] = man["lanes"][0]
            man["lanes"] = [min(free) if side == "right" else max(free)]
            man["read"] = "over the top"


def concede(s: Situation, lanes: list[dict], men: list[dict]) -> set[int]:
    """Unowned lanes that hold a gap which the call leaves open on purpose."""
    owned = {i for m in men for i in m["lanes"]}
    given = {called_gap(s, gap) for gap in s.pressure.conceded}
    return {i for i, lane in enumerate(lanes) if i not in owned and given & set(lane["gaps"])}


def stand(s: Situation, lanes: list[dict], men: list[dict]) -> dict[tuple[str, int], float]:
    """Where every man stands in each of his lanes at the fit: alone as the lane says, several side by side."""
    forward = s.play_to.sign

    def across(man: dict) -> int:
        return SIGN[man["called"][0][0]] * (man["called"][0][1] + 1) * forward if man["called"] else 0

    found = {}
    for i, lane in enumerate(lanes):
        here = [m for m in men if i in m["lanes"]]
        here.sort(key=lambda m: (across(m), m["x"] * forward, m["depth"]))
        start = lane["x_from"] if forward > 0 else lane["x_to"]
        for k, man in enumerate(here, 1):
            beside = start + forward * (lane["x_to"] - lane["x_from"]) * k / (len(here) + 1)
            found[man["name"], i] = lane["fit_x"] if len(here) == 1 else beside
    return found


def blocks_of(blocker: dict, left: int, count: int, forward: int) -> list[tuple[str, int, int | None]]:
    """What a blocker does on either side of him: the kind, the lane, the lane a beaten man ends up in."""
    right = left + 1
    if not blocker["in"]:
        kind = "kick" if kicks_out(blocker) else "lead"
        return [(kind, left, right), (kind, right, left)]
    intent = blocker["rule"].intent
    if intent is Intent.HINGE:
        return [("hinge", right if blocker["x0"] > 0 or (blocker["x0"] == 0 and forward < 0) else left, None)]
    if abs(blocker["dx"]) <= STILL or intent not in (Intent.REACH, Intent.WASH):
        return []
    there, back = (right, left) if blocker["dx"] > 0 else (left, right)
    if intent is Intent.REACH:
        return [("hook", there, back)]
    beyond = 2 * there - back
    return [("wash", there, beyond if 0 <= beyond < count else None)]


def threats(s: Situation, lanes: list[dict], men: list[dict]) -> dict[str, tuple[str | None, int | None]]:
    """Who is threatened how, and the lane he would be lost to: each blocker takes one man."""
    places, hit = stand(s, lanes, men), {m["name"]: [] for m in men}
    for left, lane in enumerate(lanes[:-1]):
        blocker = lane["right"]
        chances = []
        for kind, where, lost in blocks_of(blocker, left, len(lanes), s.play_to.sign):
            for man in men:
                meets = kind != "kick" or (man["read"] in EDGE_READS and where == man["lanes"][0])
                if where in man["lanes"] and not man["is_read"] and meets:
                    away = round(abs(places[man["name"], where] - blocker["x"]), 6)
                    rank = (away, man["depth"], -abs(man["x"]), -man["x"] * s.play_to.sign)
                    chances.append((rank, man["name"], (kind, where, lost, blocker)))
        if chances:
            _, name, block = min(chances, key=lambda one: one[0])
            hit[name].append(block)
    return {m["name"]: worst(m, hit[m["name"]]) for m in men}


def worst(man: dict, blocks: list[tuple]) -> tuple[str | None, int | None]:
    """The block that counts of those on one man."""
    kicks = [b for b in blocks if b[0] == "kick"]
    if kicks:
        out = SIGN[man["called"][0][0]]
        nearer = min if man["read"] in ("box", "outside") else max
        return "kick", nearer(kicks, key=lambda b: b[3]["x"] * out)[2]
    leads = [b for b in blocks if b[0] == "lead"]
    if leads:
        return "lead", min(leads, key=lambda b: abs(b[3]["x"] - man["x"]))[2]
    by_lane: dict[int, list] = {}
    for block in blocks:
        by_lane.setdefault(block[1], []).append(block)
    if any(len(found) > 1 for found in by_lane.values()):
        return "double team", None
    if not blocks:
        return None, None
    kind, _, lost, _ = min(blocks, key=lambda b: (b[2] is None, man["lanes"].index(b[1])))
    return kind, lost


def verdict(s: Situation, lanes: list[dict], men: list[dict], conceded: set[int], phases: dict, aim_x: float) -> dict:
    """Put together what is open, doubled and late, and every man's fit."""
    fits = {}
    owners: dict[int, list[dict]] = {i: [] for i in range(len(lanes))}
    hits = threats(s, lanes, men)
    for man in men:
        fit = {"lanes": sorted(man["lanes"]), "word": None, "at": None, "threat": None, "lost_to": None, "man": man}
        if man["lanes"]:
            clocks = [clock(s, lanes, man, i, aim_x) for i in man["lanes"]]
            fit["at"], fit["ball"], fit["word"] = max(clocks, key=lambda c: c[0] - c[1])
            fit["threat"], fit["lost_to"] = hits[man["name"]]
            if fit["word"] != "cannot get there":
                for i in man["lanes"]:
                    owners[i].append(man)
        fits[man["name"]] = fit
    empty = [i for i in owners if not owners[i] and i not in conceded]
    late = [
        i for i in owners if owners[i] and not any(is_fine(lanes, m, i, fits[m["name"]]["word"]) for m in owners[i])
    ]
    punctual = [m for m in men if fits[m["name"]]["word"] == "on time"]
    numbers = {}
    for side in ("left", "right"):
        here = [i for i, lane in enumerate(lanes) if lane["side"] == side]
        numbers[side] = (len(here), len({m["name"] for i in here for m in owners[i] if m in punctual}))
    return {
        "lanes": [{**lane, "name": lane_name(lane)} for lane in lanes],
        "fits": fits,
        "owners": {i: sorted(m["name"] for m in found) for i, found in owners.items()},
        "open": empty,
        "doubled": [i for i in owners if len(owners[i]) > 1],
        "late": late,
        "conceded": conceded,
        "phases": phases,
        "sound": not empty and not late,
        "frontside": numbers[s.play_to.value],
        "backside": numbers[OTHER[s.play_to.value]],
        "support_s": sum(f["at"] for f in fits.values() if f["lanes"] and not f["man"]["called"]),
    }
