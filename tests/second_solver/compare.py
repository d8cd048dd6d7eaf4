"""Holds the engine's answer beside the slow solver's and says in words where they differ.

Must not know how either works: it reads the engine's public answer only.
"""

import networkx as nx

from quizgen.engine.timing import Arrival
from quizgen.engine.verdict import RunAnswer, solve
from quizgen.football.errors import CannotRun, NoRule
from quizgen.football.pressure import RunJob
from quizgen.football.team import Situation
from tests.second_solver.solver import solve_slowly

NEAR = 1e-6
SUPPORT = tuple(job for job in RunJob if job is not RunJob.FILL)


def find_answer(solver, s: Situation):
    """The solver's answer, or the kind of its refusal in words."""
    try:
        return solver(s)
    except CannotRun:
        return "cannot run"
    except NoRule:
        return "no rule"


def differences(s: Situation) -> list[str]:
    """Everything in which the two solvers differ on a situation; also wrong soundness and false reasons."""
    ours, theirs = find_answer(solve, s), find_answer(solve_slowly, s)
    if isinstance(ours, str) or isinstance(theirs, str):
        mine = ours if isinstance(ours, str) else "an answer"
        slow = theirs if isinstance(theirs, str) else "an answer"
        return [] if mine == slow else [f"refusal: engine {mine}, slow {slow}"]
    filled, cost = support_of({fit.man.position: fit for fit in ours.fits}, theirs)
    if abs(cost - theirs["support_s"]) < NEAR:
        theirs = solve_slowly(s, frozenset(filled))
    found = lane_differences(ours, theirs)
    found = found or [*fit_differences(ours, theirs), *verdict_differences(ours, theirs)]
    return found or soundness_problems(ours, theirs)


def lane_differences(ours: RunAnswer, theirs: dict) -> list[str]:
    """Lanes by number, name, place and neighbours."""
    if len(ours.lanes) != len(theirs["lanes"]):
        return [f"lanes: engine {len(ours.lanes)}, slow {len(theirs['lanes'])}"]
    found = []
    for i, (lane, slow) in enumerate(zip(ours.lanes, theirs["lanes"], strict=True)):
        if abs(lane.x_from - slow["x_from"]) > NEAR or abs(lane.x_to - slow["x_to"]) > NEAR:
            found.append(
                f"lane {i}: engine {lane.x_from:.2f} to {lane.x_to:.2f}, slow {slow['x_from']:.2f} {slow['x_to']:.2f}"
            )
        if lane.name != slow["name"]:
            found.append(f"lane {i} name: engine {lane.name}, slow {slow['name']}")
        mine = (lane.left and lane.left.player.key, lane.right and lane.right.player.key)
        other = (slow["left"] and slow["left"]["key"], slow["right"] and slow["right"]["key"])
        if mine != other:
            found.append(f"lane {i} between: engine {mine}, slow {other}")
    return found


def is_support(fit: dict) -> bool:
    """Whether he came to his lane as support."""
    return bool(fit["lanes"]) and not fit["man"]["called"]


def fit_differences(ours: RunAnswer, theirs: dict) -> list[str]:
    """Every man's lanes, arrival, threat and loss; support men of equal cost may be other men."""
    found = []
    fits = {fit.man.position: fit for fit in ours.fits}
    if set(fits) != set(theirs["fits"]):
        return ["positions differ"]
    swapped = {
        name
        for name, slow in theirs["fits"].items()
        if (is_support(slow) or not slow["lanes"])
        and sorted(fits[name].lanes if fits[name].owns else ()) != slow["lanes"]
    }
    if swapped:
        mine = support_of(fits, theirs)
        slow = ({i for n, f in theirs["fits"].items() if is_support(f) for i in f["lanes"]}, theirs["support_s"])
        if mine[0] != slow[0] or abs(mine[1] - slow[1]) > NEAR:
            found.append(f"support: engine {mine}, slow {slow}; {sorted(swapped)}")
    for name in sorted(set(fits) - swapped):
        fit, slow = fits[name], theirs["fits"][name]
        lanes = sorted(fit.lanes) if fit.owns else []
        if lanes != slow["lanes"]:
            found.append(
                f"{name} lanes: engine {lanes} ({fit.read.value}), slow {slow['lanes']} ({slow['man']['read']})"
            )
            continue
        if not lanes:
            continue
        if fit.clock is None or abs(fit.clock.at_s - slow["at"]) > NEAR or abs(fit.clock.ball_s - slow["ball"]) > NEAR:
            found.append(f"{name} clock: engine {fit.clock}, slow {slow['at']:.3f} ball {slow['ball']:.3f}")
        mine = (fit.threat.value if fit.threat else None, fit.lost_to)
        if mine != (slow["threat"], slow["lost_to"]):
            found.append(f"{name} threat: engine {mine} ({fit.read.value}), slow {(slow['threat'], slow['lost_to'])}")
    return found


def support_of(fits: dict, theirs: dict) -> tuple[set[int], float]:
    """The lanes that support fills in the engine's answer, and the sum of the arrival times."""
    helpers = [f for n, f in fits.items() if f.owns and f.lanes and not theirs["fits"][n]["man"]["called"]]
    return {i for f in helpers for i in f.lanes}, sum(f.clock.at_s for f in helpers)


def verdict_differences(ours: RunAnswer, theirs: dict) -> list[str]:
    """What is open, doubled, late, conceded; soundness, numbers, option phases."""
    found = []
    for key in ("open", "doubled", "late", "conceded"):
        mine, slow = sorted(getattr(ours, key)), sorted(theirs[key])
        if mine != slow:
            found.append(f"{key}: engine {mine}, slow {slow}")
    phases = {owner.phase.value: owner.position for owner in ours.phases}
    if phases != theirs["phases"] or len(phases) != len(ours.phases):
        found.append(f"phases: engine {phases}, slow {theirs['phases']}")
    if ours.sound != theirs["sound"]:
        found.append(f"sound: engine {ours.sound}, slow {theirs['sound']}")
    for key in ("frontside", "backside"):
        numbers = getattr(ours, key)
        if (numbers.lanes, numbers.defenders) != theirs[key]:
            found.append(f"{key}: engine {numbers}, slow {theirs[key]}")
    return found


def may_be_late(fit, lane: int, lanes: int) -> bool:
    """Whether he is force in an outermost lane."""
    drop = fit.man.drop
    return drop is not None and drop.run is RunJob.FORCE and lane in (0, lanes - 1)


def matching_size(ours: RunAnswer) -> tuple[int, int]:
    """How many lanes networkx can match to men in time, each man once for each lane he owns, and how many need one."""
    needed = [i for i in range(len(ours.lanes)) if i not in ours.conceded]
    graph = nx.Graph()
    graph.add_nodes_from(("lane", i) for i in needed)
    for fit in ours.fits:
        for i in fit.lanes if fit.owns else ():
            in_time = fit.clock.arrival is Arrival.ON_TIME
            late = fit.clock.arrival is Arrival.LATE and may_be_late(fit, i, len(ours.lanes))
            if i in needed and (in_time or late):
                graph.add_edge(("lane", i), (fit.man.position, i))
    matching = nx.bipartite.hopcroft_karp_matching(graph, [("lane", i) for i in needed])
    return sum(("lane", i) in matching for i in needed), len(needed)


def could_be_there(theirs: dict) -> nx.Graph:
    """Lanes against every man who may own them in time: gap owners their own, support whatever they may fill; a man
    of two gaps counts once for each."""
    graph = nx.Graph()
    graph.add_nodes_from(("lane", i) for i in range(len(theirs["lanes"])) if i not in theirs["conceded"])
    for name, fit in theirs["fits"].items():
        if fit["man"]["called"] and fit["word"] == "on time":
            slots = [(name, k) for k in fit["lanes"]] if len(fit["lanes"]) > 1 else [(name, None)] * len(fit["lanes"])
            graph.add_edges_from((("lane", i), slot) for i, slot in zip(fit["lanes"], slots, strict=True))
    for i, names in theirs["could_fill"].items():
        graph.add_edges_from((("lane", i), (name, None)) for name in names)
    return graph


def soundness_problems(ours: RunAnswer, theirs: dict) -> list[str]:
    """Where the engine's soundness is not what a matching shows, or its reason is no proof (Hall's theorem)."""
    found = []
    matched, needed = matching_size(ours)
    if ours.sound != (matched == needed):
        found.append(f"soundness: engine {ours.sound}, networkx matches {matched} of {needed}")
    graph = could_be_there(theirs)
    lanes = [node for node in graph if node[0] == "lane"]
    largest = sum(node in lanes for node in nx.bipartite.hopcroft_karp_matching(graph, lanes))
    if ours.sound != (largest == len(lanes)):
        found.append(f"possible: engine {ours.sound}, networkx could match {largest} of {len(lanes)}")
    if (ours.short is None) != ours.sound:
        found.append(f"short: engine {ours.short} for a call that is {'sound' if ours.sound else 'not sound'}")
    if ours.short is not None:
        short_lanes, names = ours.short
        slots = {slot for i in short_lanes for slot in graph.neighbors(("lane", i))}
        if {slot[0] for slot in slots} != set(names) or len(slots) >= len(short_lanes):
            found.append(f"short: engine {ours.short}, networkx finds {sorted(map(str, slots))} beside those lanes")
    return found
