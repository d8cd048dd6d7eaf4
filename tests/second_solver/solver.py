"""The slow solver, second half: who owns which lane, who is late, what is open, what threatens each man.

Support is found by trying every assignment there is. See placing.py for the first half and for what it must not know.
"""

from itertools import product
from math import hypot

from quizgen.football.formation import Role
from quizgen.football.pressure import Part, RunJob, Trigger
from quizgen.football.rules import LINEMAN_IN_B, CrackRule, PullSecond
from quizgen.football.scheme import JOBS, Intent, Job, Phase, ReadMan
from quizgen.football.team import Situation
from tests.second_solver.placing import (
    OTHER,
    SIGN,
    aim_of,
    attached_on,
    build_lanes,
    gap_list,
    gap_name,
    give_jobs,
    is_kick,
    line_up,
    outermost_gap,
    place_blockers,
    refuse,
)

EDGE_READS = ("box", "spill", "inside", "outside")
SLACK = 1e-9


def solve_slowly(s: Situation) -> dict:
    """The whole answer as a dictionary.

    Raises:
        NoRule: the rules don't cover the situation; CannotRun: the play needs a man whom the formation lacks.
    """
    men = line_up(s)
    stayed, arrived, pulled = place_blockers(s, men)
    lanes = build_lanes(s, stayed, arrived)
    crack(s, men)
    before = {man["name"]: list(man["gaps"]) for man in men}
    exchange(s, men)
    for man in men:
        man["lanes"], man["read"], man["left_lane"] = [], None, None
        if man["gaps"]:
            claim(s, lanes, man)
    read_pulls(s, lanes, men, pulled)
    phases = own_phases(s, men, before)
    scrape(s, men, phases)
    aim_lanes = [lane for lane in lanes if aim_of(s) in lane["gaps"]]
    aim_x = min((lane["fit_x"] for lane in aim_lanes), key=lambda x: x * s.play_to.sign)
    conceded = concede(s, lanes, men)
    support(s, lanes, men, conceded, aim_x)
    return verdict(s, lanes, men, conceded, phases, aim_x)


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
        man["exchanged"] = False
    for pact in s.pressure.exchanges:
        first = next(m for m in men if m["job_name"] == pact.first)
        second = next(m for m in men if m["job_name"] == pact.second)
        side = "right" if first["x"] > 0 else "left"
        blockers = [p for p in attached_on(s.formation, side) if p.role is Role(pact.blocker)]
        if not blockers:
            continue
        job = jobs[blockers[0].key][1].job
        does = {
            Trigger.DOWN: job is Job.DOWN,
            Trigger.PULL: JOBS[job].pulls,
            Trigger.REACH: JOBS[job].intent is Intent.REACH,
        }
        if any(does[trigger] for trigger in pact.triggers):
            first["gaps"], second["gaps"] = second["gaps"], first["gaps"]
            first["exchanged"] = second["exchanged"] = True


def portions(lanes: list[dict], gap: tuple[str, int]) -> list[int]:
    """The lanes that hold a gap, from the inside out."""
    found = [i for i, lane in enumerate(lanes) if gap in lane["gaps"]]
    return found if gap[0] == "right" else found[::-1]


def choose_portion(s: Situation, lanes: list[dict], man: dict, gap: tuple[str, int]) -> tuple[int, str | None]:
    """The lane a gap's owner takes of those the gap was split into, and how he fits there."""
    parts = portions(lanes, gap)
    if len(parts) == 1:
        return parts[0], None
    wall = "right" if gap[0] == "right" else "left"
    blockers = [lanes[i][wall] for i in parts[:-1]]
    kicks = [k for k, blocker in enumerate(blockers) if is_kick(blocker)]
    if gap == outermost_gap(s, gap[0]):
        if not kicks:
            return parts[0], None
        rule = man["edge"] if gap[0] == s.play_to.value else s.rules.back_edge.value
        return parts[kicks[0] + (rule == "box")], rule
    rule = (s.rules.trap if is_kick(blockers[0]) else s.rules.lead).value
    return parts[0 if rule == "inside" else 1], rule


def claim(s: Situation, lanes: list[dict], man: dict) -> None:
    """Give a gap owner his lanes."""
    for gap in man["gaps"]:
        lane, read = choose_portion(s, lanes, man, gap)
        if lane in man["lanes"]:
            parts = portions(lanes, gap)
            left_over = [i for i in parts if i not in man["lanes"]]
            if not left_over:
                continue
            lane = left_over[0]
        man["lanes"].append(lane)
        man["read"] = man["read"] or read


def read_pulls(s: Situation, lanes: list[dict], men: list[dict], pulled: list) -> None:
    """Men whose lane a puller merged stay or read out to the play side."""
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
        if rush and on_edge and rush.part is not Part.TWO_GAP:
            continue
        if rush and (man["down"] or rush.order == 1):
            continue
        rule = s.rules.pull_second if rush else s.rules.pull_backer
        if rule is PullSecond.READ_OUT:
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
            man["read"] = "read out"


def own_phases(s: Situation, men: list[dict], gaps: dict[str, list]) -> dict[str, str]:
    """Who has each phase of the play's option; gaps are those of the call."""
    option = s.play.option
    if option is None:
        return {}
    side = OTHER[s.play_to.value] if option.read is ReadMan.BACK_EDGE else s.play_to.value
    key = option.name
    if any(m["down"] and (side, 1) in gaps[m["name"]] for m in men) and key + LINEMAN_IN_B in s.rules.options:
        key += LINEMAN_IN_B
    if key not in s.rules.options:
        raise refuse(s, f"no option rule {key}")
    rule = s.rules.options[key]
    rushers = [m for m in men if m["rush"] and gaps[m["name"]][-1][0] == side]
    rushers.sort(key=lambda m: (gaps[m["name"]][-1][1], abs(m["x"]), m["depth"]))
    if option.read in (ReadMan.BACK_EDGE, ReadMan.PLAY_EDGE):
        candidates = rushers[::-1]
    elif option.read is ReadMan.FIRST_OUTSIDE_B:
        candidates = [m for m in rushers if gaps[m["name"]][-1][1] >= 2]
    else:
        candidates = [m for m in rushers if m["down"]]
    if not candidates:
        raise refuse(s, f"nobody is {option.read.value}")
    read_man = candidates[0]
    phases: dict[Phase, dict] = {}
    if rule.read_man in option.phases:
        phases[rule.read_man] = read_man
    if rule.force in option.phases:
        phases[rule.force] = force_man(men, side)
    if rule.scrape in option.phases:
        next_out = None
        if rule.scrape is not Phase.DIVE and option.read in (ReadMan.FIRST_OUTSIDE_B, ReadMan.FIRST_PAST_CENTER):
            beyond = rushers[rushers.index(read_man) + 1 :]
            next_out = next((m for m in beyond if m not in phases.values()), None)
        phases[rule.scrape] = next_out or scrape_man(s, men, rule.scrape, read_man, phases, side)
    return {phase.value: man["name"] for phase, man in phases.items()}


def force_man(men: list[dict], side: str) -> dict:
    """Who takes the force man's phase on a side."""
    for job in (RunJob.FORCE, RunJob.ALLEY):
        found = [m for m in men if m["run"] is job and m["side"] == side]
        if found:
            return max(found, key=lambda m: m["x"] * SIGN[side])
    return max(men, key=lambda m: m["x"] * SIGN[side])


def scrape_man(s: Situation, men: list[dict], phase: Phase, read_man: dict, phases: dict, side: str) -> dict:
    """Who takes the phase between the read man's and the force man's."""
    free = [m for m in men if m is not read_man and m not in phases.values()]
    play = s.play_to.sign

    def near(man: dict) -> tuple:
        return (abs(man["x"] - read_man["x"]), man["depth"], -man["x"] * play)

    if phase is Phase.DIVE:
        owners = [m for m in free if aim_of(s) in m["gaps"]]
        if owners:
            return min(owners, key=near)
    up = [
        m
        for m in free
        if not m["down"]
        and ((m["gaps"] and m["gaps"][0][0] == side) or (m["run"] in (RunJob.FOLD, RunJob.ALLEY) and m["side"] == side))
    ]
    owners = up or [m for m in free if m["gaps"]]
    if not owners:
        raise refuse(s, f"nobody for the {phase.value}")
    return min(owners, key=near)


def scrape(s: Situation, men: list[dict], phases: dict[str, str]) -> None:
    """The read man on the dive and the gap owner on the quarterback trade lanes."""
    option = s.play.option
    if option is None or "quarterback" not in phases or "dive" not in phases:
        return
    by_name = {m["name"]: m for m in men}
    diver, keeper = by_name[phases["dive"]], by_name[phases["quarterback"]]
    key = option.name
    side = OTHER[s.play_to.value] if option.read is ReadMan.BACK_EDGE else s.play_to.value
    if any(m["down"] and (side, 1) in m["gaps"] for m in men) and key + LINEMAN_IN_B in s.rules.options:
        key += LINEMAN_IN_B
    if s.rules.options[key].read_man is Phase.DIVE and len(diver["lanes"]) == len(keeper["lanes"]) == 1:
        diver["lanes"], keeper["lanes"] = keeper["lanes"], diver["lanes"]
        diver["read"] = keeper["read"] = "scrape"


def concede(s: Situation, lanes: list[dict], men: list[dict]) -> set[int]:
    """Unowned lanes that hold a gap which the call leaves open on purpose."""
    from tests.second_solver.placing import called_gap

    owned = {i for m in men for i in m["lanes"]}
    given = {called_gap(s, gap) for gap in s.pressure.conceded}
    return {i for i, lane in enumerate(lanes) if i not in owned and given & set(lane["gaps"])}


def clock(s: Situation, lanes: list[dict], man: dict, lane: int, aim_x: float) -> tuple[float, float, str]:
    """When he is there, when the ball is, and what that makes him."""
    timing = s.rules.timing
    rushes = man["rush"] is not None
    pace = (timing.rush if rushes and not man["exchanged"] else timing.read)[man["class"]]
    wait = (man["rush"].order - 1) * timing.order_delay_s if rushes else 0.0
    fit_x = lanes[lane]["fit_x"]
    at = pace.reaction_s + wait + hypot(fit_x - man["x"], man["depth"]) / pace.speed_yd_s
    start = timing.ball_s[s.play.family] if s.play.ball_s is None else s.play.ball_s
    ball = start + abs(fit_x - aim_x) / timing.ball_lateral_yd_s
    behind = at - ball
    word = (
        "on time" if behind <= timing.late_after_s else "late" if behind <= timing.never_after_s else "cannot get there"
    )
    return at, ball, word


def may_take(s: Situation, lanes: list[dict], man: dict, lane: int, vacated: set[int]) -> bool:
    """Whether a man's run job lets him fill a lane that nobody owns."""
    here = lanes[lane]
    if man["run"] is RunJob.FORCE:
        return lane == (0 if man["side"] == "left" else len(lanes) - 1)
    if man["run"] is RunJob.ALLEY:
        return here["side"] == man["side"]
    if man["run"] is RunJob.FOLD:
        return here["side"] in (man["side"], None) and (len(here["gaps"]) > 1 or lane in vacated)
    if man["run"] is RunJob.CUTBACK:
        return here["side"] != s.play_to.value
    return man["run"] is RunJob.FREE


def is_fine(lanes: list[dict], man: dict, lane: int, word: str) -> bool:
    """In time, or force late in an outermost lane."""
    forces = man["run"] is RunJob.FORCE and lane in (0, len(lanes) - 1)
    return word == "on time" or (forces and word == "late")


def support(s: Situation, lanes: list[dict], men: list[dict], conceded: set[int], aim_x: float) -> None:
    """Try every way to send the support men into the lanes nobody owns, and keep the best."""
    owned = {i for m in men for i in m["lanes"]}
    empty = [i for i in range(len(lanes)) if i not in owned and i not in conceded]
    vacated = {m["left_lane"] for m in men if m["left_lane"] is not None}
    helpers = [m for m in men if m["run"] not in (None, RunJob.FILL) and not m["lanes"]]
    times = {(m["name"], i): clock(s, lanes, m, i, aim_x) for m in helpers for i in empty}
    can = {
        i: [m for m in helpers if may_take(s, lanes, m, i, vacated) and times[m["name"], i][2] != "cannot get there"]
        for i in empty
    }

    def cost(pick: tuple) -> tuple[int, int, float]:
        pairs = [(m, i) for m, i in zip(pick, empty, strict=True) if m is not None]
        late = sum(not is_fine(lanes, m, i, times[m["name"], i][2]) for m, i in pairs)
        return (len(empty) - len(pairs), late, sum(times[m["name"], i][0] for m, i in pairs))

    best, best_cost = None, None
    for pick in product(*([None, *can[i]] for i in empty)):
        sent = [m["name"] for m in pick if m is not None]
        if len(set(sent)) == len(sent):
            this = cost(pick)
            if best_cost is None or this < best_cost:
                best, best_cost = pick, this
    chosen = {i: m for m, i in zip(best or (), empty, strict=True) if m is not None}
    uncross(lanes, chosen, can, times)
    for i, man in chosen.items():
        man["lanes"] = [i]
        man["read"] = man["run"].value


def uncross(lanes: list[dict], chosen: dict[int, dict], can: dict[int, list[dict]], times: dict) -> None:
    """Let two men whose paths cross trade lanes where each may and no lane is covered worse."""
    again = True
    while again:
        again = False
        for i in sorted(chosen):
            for j in sorted(chosen):
                one, two = chosen[i], chosen[j]
                if i < j and one["x"] > two["x"] and one in can[j] and two in can[i]:
                    now = sum(is_fine(lanes, m, k, times[m["name"], k][2]) for m, k in ((one, i), (two, j)))
                    then = sum(is_fine(lanes, m, k, times[m["name"], k][2]) for m, k in ((two, i), (one, j)))
                    if then >= now:
                        chosen[i], chosen[j] = two, one
                        again = True


def threat(lanes: list[dict], man: dict) -> tuple[str | None, int | None]:
    """What threatens a man in his lane, and the lane he would be lost to."""
    lane = man["lanes"][0]
    beside = [(blocker, step) for blocker, step in ((lanes[lane]["left"], -1), (lanes[lane]["right"], 1)) if blocker]
    out = -1 if lanes[lane]["gaps"][0][0] == "left" else 1
    kicks = [(b, step) for b, step in beside if not b["in"] and is_kick(b)]
    if kicks and man["read"] in EDGE_READS:
        inward = man["read"] in ("box", "outside")
        kicks.sort(key=lambda pair: pair[1] * out, reverse=not inward)
        return "kick", lane + kicks[0][1]
    leads = [(b, step) for b, step in beside if not b["in"] and b["rule"].intent is Intent.LEAD]
    if leads:
        nearest = min(leads, key=lambda pair: abs(pair[0]["x"] - man["x"]))
        return "lead", lane + nearest[1]
    movers = [(b, step) for b, step in beside if b["in"] and b["dx"] * step < -SLACK]
    if len(movers) == 2:
        return "double team", None
    if not movers:
        return None, None
    blocker, step = movers[0]
    if blocker["rule"].intent is Intent.REACH:
        return "hook", lane + step
    beyond = lane - step
    return "wash", beyond if 0 <= beyond < len(lanes) else None


def verdict(s: Situation, lanes: list[dict], men: list[dict], conceded: set[int], phases: dict, aim_x: float) -> dict:
    """Put together what is open, doubled and late, and every man's fit."""
    fits = {}
    owners: dict[int, list[dict]] = {i: [] for i in range(len(lanes))}
    for man in men:
        fit = {"lanes": sorted(man["lanes"]), "word": None, "at": None, "threat": None, "lost_to": None, "man": man}
        if man["lanes"]:
            clocks = [clock(s, lanes, man, i, aim_x) for i in man["lanes"]]
            fit["at"], fit["ball"], fit["word"] = max(clocks, key=lambda c: c[0] - c[1])
            fit["threat"], fit["lost_to"] = threat(lanes, man)
            if fit["word"] != "cannot get there":
                for i in man["lanes"]:
                    owners[i].append(man)
        fits[man["name"]] = fit
    empty = [i for i in owners if not owners[i] and i not in conceded]
    late = [
        i for i in owners if owners[i] and not any(is_fine(lanes, m, i, fits[m["name"]]["word"]) for m in owners[i])
    ]
    numbers = {}
    for side in ("left", "right"):
        here = [i for i, lane in enumerate(lanes) if lane["side"] == side]
        numbers[side] = (len(here), len({m["name"] for i in here for m in owners[i]}))
    return {
        "lanes": [{**lane, "name": gap_name(lane)} for lane in lanes],
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
        "support_s": sum(f["at"] for f in fits.values() if f["lanes"] and f["man"]["run"] not in (None, RunJob.FILL)),
    }
