"""The slow solver: who has which phase of an option, and the trade of lanes that may follow."""

from quizgen.football.pressure import RunJob
from quizgen.football.rules import LINEMAN_IN_B, OptionRule
from quizgen.football.scheme import Phase, ReadMan
from quizgen.football.team import Situation
from tests.second_solver.placing import OTHER, SIGN, aim_of, refuse


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


def own_phases(s: Situation, lanes: list[dict], men: list[dict]) -> dict[str, str]:
    """Who has each phase of the play's option."""
    option = s.play.option
    if option is None:
        return {}
    side, rule = read_side(s), option_rule(s, men)
    rushers = [m for m in men if m["rush"] and m["called"][-1][0] == side]
    rushers.sort(key=lambda m: (m["called"][-1][1], abs(m["x"]), m["depth"], m["x"] * s.play_to.sign))
    if option.read in (ReadMan.BACK_EDGE, ReadMan.PLAY_EDGE):
        candidates = rushers[::-1]
    elif option.read is ReadMan.FIRST_OUTSIDE_B:
        candidates = [m for m in rushers if m["called"][-1][1] >= 2]
    else:
        candidates = [m for m in rushers if m["down"]]
    if not candidates:
        raise refuse(s, f"nobody is {option.read.value}")
    read_man = candidates[0]
    phases: dict[Phase, dict] = {}
    if rule.read_man in option.phases:
        phases[rule.read_man] = read_man
    if rule.force in option.phases:
        phases[rule.force] = force_man([m for m in men if m not in phases.values()], side)
    if rule.scrape in option.phases:
        next_out = None
        if rule.scrape is not Phase.DIVE and option.read in (ReadMan.FIRST_OUTSIDE_B, ReadMan.FIRST_PAST_CENTER):
            beyond = rushers[rushers.index(read_man) + 1 :]
            next_out = next((m for m in beyond if m not in phases.values()), None)
        phases[rule.scrape] = next_out or scrape_man(s, lanes, men, rule.scrape, read_man, phases)
    return {phase.value: man["name"] for phase, man in phases.items()}


def force_man(men: list[dict], side: str) -> dict:
    """Who takes the force man's phase on a side; the widest of several."""
    for job in (RunJob.FORCE, RunJob.ALLEY):
        found = [m for m in men if m["run"] is job and m["side"] == side]
        if found:
            return max(found, key=lambda m: (m["x"] * SIGN[side], -m["depth"]))
    return max(men, key=lambda m: (m["x"] * SIGN[side], -m["depth"]))


def scrape_man(s: Situation, lanes: list[dict], men: list[dict], phase: Phase, read_man: dict, phases: dict) -> dict:
    """Who takes the phase between the read man's and the force man's."""
    side = read_side(s)
    free = [m for m in men if m is not read_man and m not in phases.values()]

    def near(man: dict) -> tuple:
        return (abs(man["x"] - read_man["x"]), man["depth"], -man["x"] * SIGN[side])

    if phase is Phase.DIVE:
        owners = [m for m in free if any(aim_of(s) in lanes[i]["gaps"] for i in m["lanes"])]
        if owners:
            return min(owners, key=lambda m: m["x"] * s.play_to.sign)
    up = [
        m
        for m in free
        if not m["down"]
        and (
            m["called"][0][0] == side if m["called"] else m["run"] in (RunJob.FOLD, RunJob.ALLEY) and m["side"] == side
        )
    ]
    return min(up or [m for m in free if m["called"]] or free, key=near)


def scrape(s: Situation, men: list[dict], phases: dict[str, str]) -> None:
    """The read man on the dive and the gap owner on the quarterback trade lanes."""
    if "quarterback" not in phases or "dive" not in phases or option_rule(s, men).read_man is not Phase.DIVE:
        return
    by_name = {m["name"]: m for m in men}
    diver, keeper = by_name[phases["dive"]], by_name[phases["quarterback"]]
    outward = SIGN[read_side(s)]
    is_outside = len(diver["lanes"]) == 1 and all(diver["lanes"][0] * outward >= i * outward for i in keeper["lanes"])
    if is_outside and len(keeper["lanes"]) == 1:
        diver["lanes"], keeper["lanes"] = keeper["lanes"], diver["lanes"]
        diver["read"] = keeper["read"] = "scrape"
