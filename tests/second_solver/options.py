"""The slow solver: whom an option reads, who has which phase, and what that does to their lanes.

Plays to the left are worked out on the left; "out" is the sign of the side that is read.
"""

from quizgen.football.formation import Role
from quizgen.football.pressure import RunJob
from quizgen.football.rules import LINEMAN_IN_B, OptionRule
from quizgen.football.scheme import Phase, ReadMan
from quizgen.football.team import Situation
from tests.second_solver.placing import OTHER, SIGN, aim_of, attached_on, refuse

LINE_DEPTH = 2.0
WIDEST_YD = 4.0
DEEP_YD = 3.0
SLACK = 1e-9
EDGES = (ReadMan.BACK_EDGE, ReadMan.PLAY_EDGE)


def read_side(s: Situation) -> str:
    """The side of the man the quarterback reads."""
    return OTHER[s.play_to.value] if s.play.option.read is ReadMan.BACK_EDGE else s.play_to.value


def option_rule(s: Situation, men: list[dict]) -> OptionRule:
    """The team's rule for the play's option."""
    key = s.play.option.name
    special = key + LINEMAN_IN_B
    if special in s.rules.options and any(m["down"] and (read_side(s), 1) in m["called"] for m in men):
        key = special
    if key not in s.rules.options:
        raise refuse(s, f"no option rule {key}")
    return s.rules.options[key]


def find_read_man(s: Situation, men: list[dict]) -> dict:
    """The man left unblocked, by where the men stand or by the call's own word."""
    side, read = read_side(s), s.play.option.read
    out = SIGN[side]
    by_width = sorted(men, key=lambda m: (m["x"] * out, m["depth"]))
    half = s.rules.measures.man_width_yd / 2
    if read is ReadMan.FIRST_PAST_CENTER:
        found = [m for m in by_width if m["down"] and m["x"] * out > half + SLACK]
        return first_of(s, found)
    line = attached_on(s.formation, side)
    last = line[-1].x * out
    if read is ReadMan.FIRST_OUTSIDE_B:
        tackle = next((p.x * out for p in line if p.role is Role.TACKLE), None)
        if tackle is None:
            raise refuse(s, "no tackle there")
        least = tackle
    else:
        least = last - half
        named = [m for m in by_width if m["job_name"] in s.pressure.read and m["x"] * out > 0]
        if named:
            return widest(named, out)
    split = [p.x for p in s.formation.players if not p.attached and p.role in (Role.RECEIVER, Role.SLOTBACK, Role.WING)]
    on_line = [m for m in by_width if m["depth"] <= LINE_DEPTH and not any(abs(m["x"] - x) <= 1 for x in split)]
    found = [m for m in on_line if least - SLACK <= m["x"] * out <= last + WIDEST_YD + SLACK]
    if read in EDGES and found:
        return widest(found, out)
    return first_of(s, found)


def widest(men: list[dict], out: int) -> dict:
    """The outermost man; of several as wide, the shallowest."""
    return max(men, key=lambda m: (m["x"] * out, -m["depth"]))


def first_of(s: Situation, found: list[dict]) -> dict:
    """The first man, or the refusal."""
    if not found:
        raise refuse(s, f"nobody is {s.play.option.read.value}")
    return found[0]


def dive_lanes(s: Situation, lanes: list[dict]) -> list[int]:
    """Where the dive hits, from the inside out: the lanes of the aim, then the next one outside them."""
    forward = s.play_to.sign
    aimed = [i for i, lane in enumerate(lanes) if aim_of(s) in lane["gaps"]]
    aimed.sort(key=lambda i: i * forward)
    beyond = aimed[-1] + forward
    return [*aimed, beyond] if 0 <= beyond < len(lanes) else aimed


def play_the_option(s: Situation, lanes: list[dict], men: list[dict]) -> dict[str, str]:
    """Give out the phases, and move those whom they move."""
    if s.play.option is None:
        return {}
    wanted, rule = s.play.option.phases, option_rule(s, men)
    reader = find_read_man(s, men)
    reader["is_read"] = True
    hits = dive_lanes(s, lanes)
    has: dict[Phase, dict] = {}
    his, other = rule.read_man, rule.scrape
    if his is Phase.DIVE in wanted and not stands_for_dive(s, reader, hits):
        his, other = other, his
    if his in wanted:
        has[his] = reader
    if Phase.DIVE in wanted and Phase.DIVE not in has:
        there = [m for i in hits for m in left_to_right(s, men) if i in m["lanes"] and m is not reader]
        if not there:
            raise refuse(s, "nobody stands where the dive hits")
        has[Phase.DIVE] = there[0]
    if rule.force in wanted and rule.force not in has:
        has[rule.force] = force_man([m for m in men if m is not reader and m not in has.values()], read_side(s))
    if other in wanted and other not in has:
        has[other] = next_man(s, men, reader, [m for m in men if m is not reader and m not in has.values()])
    for phase, man in has.items():
        man["phase"] = phase.value
    exchange_lanes(s, men, reader, has, hits)
    return {phase.value: has[phase]["name"] for phase in wanted}


def left_to_right(s: Situation, men: list[dict]) -> list[dict]:
    """The men across the field in the direction of the play."""
    return sorted(men, key=lambda m: (m["x"] * s.play_to.sign, m["depth"]))


def stands_for_dive(s: Situation, reader: dict, hits: list[int]) -> bool:
    """Whether the read man may have the dive: on the play side where it hits, on the back side with any gap."""
    if s.play.option.read is ReadMan.BACK_EDGE:
        return bool(reader["lanes"])
    return bool(set(reader["lanes"]) & set(hits))


def force_man(men: list[dict], side: str) -> dict:
    """Who takes the force man's phase on a side; the widest of several."""
    for job in (RunJob.FORCE, RunJob.ALLEY):
        found = [m for m in men if m["run"] is job and m["side"] == side]
        if found:
            return widest(found, SIGN[side])
    return widest(men, SIGN[side])


def next_man(s: Situation, men: list[dict], reader: dict, free: list[dict]) -> dict:
    """Who takes the phase between the read man's and the force man's."""
    side = read_side(s)
    out = SIGN[side]

    def outer_lane(man: dict) -> int:
        return max(lane * out for lane in man["lanes"])

    def can(man: dict) -> bool:
        if man["depth"] >= DEEP_YD or not man["lanes"] or not reader["lanes"]:
            return True
        return outer_lane(reader) - outer_lane(man) <= 1

    free = [m for m in free if can(m)]
    if s.play.option.read not in EDGES and reader["lanes"]:
        rushers = [m for m in free if m["rush"] and m["lanes"] and outer_lane(m) > outer_lane(reader)]
        if rushers:
            return min(rushers, key=lambda m: (outer_lane(m), m["x"] * s.play_to.sign, m["depth"]))
    team_state = [
        m
        for m in free
        if not m["down"]
        and (
            m["called"][0][0] == side if m["called"] else m["run"] in (RunJob.FOLD, RunJob.ALLEY) and m["side"] == side
        )
    ]
    found = team_state or [m for m in free if m["called"]] or free
    if not found:
        raise refuse(s, "nobody for the next phase")
    return min(found, key=lambda m: (abs(m["x"] - reader["x"]), m["depth"], -m["x"] * out))


def exchange_lanes(s: Situation, men: list[dict], reader: dict, has: dict, hits: list[int]) -> None:
    """The trade of the read man on the dive with the scraper inside him; a lane between them forbids it."""
    keeper = has.get(Phase.QUARTERBACK)
    if has.get(Phase.DIVE) is not reader or keeper is None:
        return
    if len(reader["lanes"]) != 1 or len(keeper["lanes"]) != 1:
        return
    [outer], [inner] = reader["lanes"], keeper["lanes"]
    apart = (outer - inner) * SIGN[read_side(s)]
    if apart <= 0:
        return
    if apart == 1 and (s.play.option.read is ReadMan.BACK_EDGE or inner in hits):
        reader["lanes"], keeper["lanes"] = keeper["lanes"], reader["lanes"]
        reader["read"] = keeper["read"] = "scrape"
        return
    keeper["lanes"], keeper["read"] = [], "scrape"
    if not any(inner in m["lanes"] for m in men):
        keeper["left_open"] = inner


def lanes_for_phases(s: Situation, lanes: list[dict], men: list[dict]) -> set[int]:
    """The lanes that support with a phase may fill: the read man's own and those outside it."""
    out = SIGN[read_side(s)]
    edge = len(lanes) - 1 if out > 0 else 0
    reader = next(m for m in men if m["is_read"])
    start = edge
    if reader["lanes"] and reader["called"]:
        start = max(reader["lanes"]) if out > 0 else min(reader["lanes"])
    return set(range(min(start, edge), max(start, edge) + 1))
