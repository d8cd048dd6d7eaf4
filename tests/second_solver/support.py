"""The slow solver: times, and the best of every way to send support into the lanes that nobody owns."""

from itertools import product
from math import hypot

from quizgen.football.pressure import RunJob
from quizgen.football.team import Situation
from tests.second_solver.options import lanes_for_phases
from tests.second_solver.placing import refuse


def clock(s: Situation, lanes: list[dict], man: dict, lane: int, aim_x: float) -> tuple[float, float, str]:
    """When he is there, when the ball is, and what that makes him."""
    timing = s.rules.timing
    rushes = man["rush"] is not None
    pace = (timing.rush if rushes and not man["exchanged"] else timing.read)[man["class"]]
    wait = (man["rush"].order - 1) * timing.order_delay_s if rushes else 0.0
    fit_x = lanes[lane]["fit_x"]
    at = pace.reaction_s + wait + hypot(fit_x - man["x"], man["depth"]) / pace.speed_yd_s
    start = timing.ball_s.get(s.play.family) if s.play.ball_s is None else s.play.ball_s
    if start is None:
        raise refuse(s, "no ball time")
    ball = start + abs(fit_x - aim_x) / timing.ball_lateral_yd_s
    waits = man.get("waits", 0.0)
    at += waits
    behind = at - ball
    if behind <= timing.late_after_s:
        return at, ball, "late" if waits else "on time"
    return at, ball, "late" if behind <= timing.never_after_s else "cannot get there"


def may_take(s: Situation, lanes: list[dict], man: dict, lane: int, vacated: set[int]) -> bool:
    """Whether a man's run job lets him fill a lane that nobody owns."""
    here = lanes[lane]
    if man["run"] is RunJob.FORCE:
        return here["side"] == man["side"] or lane == (0 if man["side"] == "left" else len(lanes) - 1)
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


def find_options(s: Situation, lanes: list[dict], men: list[dict], conceded: set[int], aim_x: float) -> tuple:
    """Lane by lane that support should fill, the men who may and can get there; and their times."""

    def arrives(man: dict) -> bool:
        worst = max((clock(s, lanes, man, i, aim_x) for i in man["lanes"]), key=lambda c: c[0] - c[1])
        return worst[2] != "cannot get there"

    owned = {i for m in men if m["called"] and m["lanes"] and arrives(m) for i in m["lanes"]}
    given_up = {m["left_open"] for m in men}
    empty = [i for i in range(len(lanes)) if i not in owned and i not in conceded and i not in given_up]
    outside = lanes_for_phases(s, lanes, men) if s.play.option else set()
    vacated = {m["left_lane"] for m in men if m["left_lane"] is not None}
    helpers = [m for m in men if not m["called"]]
    times = {(m["name"], i): clock(s, lanes, m, i, aim_x) for m in helpers for i in empty}
    can = {
        i: [
            m
            for m in helpers
            if may_take(s, lanes, m, i, vacated)
            and (m["phase"] is None or i in outside)
            and times[m["name"], i][2] != "cannot get there"
        ]
        for i in empty
    }
    return can, times


def passes(lanes: list[dict], man: dict, lane: int, empty: list[int]) -> int:
    """How many of the lanes that nobody has a force man leaves outside him on his own side."""
    if man["run"] is not RunJob.FORCE or man["side"] is None:
        return 0
    outside = range(lane) if man["side"] == "left" else range(lane + 1, len(lanes))
    return sum(i in empty and lanes[i]["side"] == man["side"] for i in outside)


def send(s: Situation, lanes: list[dict], men: list[dict], conceded: set[int], aim_x: float, prefer: frozenset) -> dict:
    """Try every way to send the support men, and keep the best; return who could have filled each lane in time.

    Ways of the same cost are as good; among them the one that fills most of the lanes in ``prefer`` is kept.
    """
    can, times = find_options(s, lanes, men, conceded, aim_x)
    empty = list(can)

    def cost(pick: tuple) -> tuple[int, int, int, float, int]:
        pairs = [(m, i) for m, i in zip(pick, empty, strict=True) if m is not None]
        late = sum(not is_fine(lanes, m, i, times[m["name"], i][2]) for m, i in pairs)
        skipped = sum(passes(lanes, m, i, empty) for m, i in pairs)
        seconds = round(sum(times[m["name"], i][0] for m, i in pairs), 9)
        return (len(empty) - len(pairs), late, skipped, seconds, -sum(i in prefer for _, i in pairs))

    best, best_cost = None, None
    for pick in product(*([None, *can[i]] for i in empty)):
        sent = [m["name"] for m in pick if m is not None]
        if len(set(sent)) == len(sent):
            this = cost(pick)
            if best_cost is None or this < best_cost:
                best, best_cost = pick, this
    chosen = {i: m for m, i in zip(best or (), empty, strict=True) if m is not None}
    uncross(s, lanes, chosen, can, times)
    for i, man in chosen.items():
        man["lanes"] = [i]
    return {i: [m["name"] for m in can[i] if is_fine(lanes, m, i, times[m["name"], i][2])] for i in empty}


def uncross(s: Situation, lanes: list[dict], chosen: dict[int, dict], can: dict[int, list[dict]], times: dict) -> None:
    """Let two men whose paths cross trade lanes where each may and neither lane is covered worse.

    Pairs are looked at from the back side of the play to its play side, over and over until none trades.
    """
    forward = s.play_to.sign
    in_order = sorted(chosen, key=lambda lane: lane * forward)

    def fine(man: dict, lane: int) -> bool:
        return is_fine(lanes, man, lane, times[man["name"], lane][2])

    again = True
    while again:
        again = False
        for first, i in enumerate(in_order):
            for j in in_order[first + 1 :]:
                one, two = chosen[i], chosen[j]
                crossing = (one["x"] - two["x"]) * forward > 0 and one in can[j] and two in can[i]
                if crossing and fine(two, i) >= fine(one, i) and fine(one, j) >= fine(two, j):
                    chosen[i], chosen[j] = two, one
                    again = True
