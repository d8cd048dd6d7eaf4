"""Runs as rows of jobs for generated situations: two dozen that staffs run, and rows thrown together at random.

Common practice; must not know any team's content.
"""

from collections.abc import Callable, Sequence
from typing import Any

from quizgen.football.formation import Role
from quizgen.football.scheme import (
    Flow,
    Job,
    JobRow,
    Option,
    Phase,
    ReadMan,
    Scheme,
    SchemeFamily,
    Who,
    parse_who,
)
from quizgen.football.sides import Letter

F = SchemeFamily
#: One way to choose, so that one generator serves a seeded loop and Hypothesis alike.
Choose = Callable[[Sequence[Any]], Any]
QUARTERBACK_AND_DIVE = (Phase.DIVE, Phase.QUARTERBACK)
TRIPLE = (Phase.DIVE, Phase.QUARTERBACK, Phase.PITCH)

# name, family, aim, rows "who = job", option. A who with "|" is tried in order; "?" makes the row optional.
WRITTEN = (
    ("inside zone", F.INSIDE_ZONE, "A", ("line = zone", "back side wing? = cut off"), None),
    ("split zone", F.SPLIT_ZONE, "A", ("line = zone", "back side wing|fullback|tailback = kick across"), None),
    ("split zone from the wing", F.SPLIT_ZONE, "A", ("line = zone", "play side wing|fullback = kick across"), None),
    ("outside zone", F.OUTSIDE_ZONE, None, ("line = reach", "fullback? = arc"), None),
    ("outside zone, back side cut", F.OUTSIDE_ZONE, "D", ("line = reach", "back side line = cut off"), None),
    ("base", F.BASE, "A", ("line = base",), None),
    ("duo", F.DUO, "A", ("line = double",), None),
    ("duo two", F.DUO, "B", ("line = double", "back side tackle = cut off"), None),
    ("iso", F.LEAD, "B", ("line = base", "guard = double", "fullback|slotback = lead"), None),
    ("iso to the aim", F.LEAD, "B", ("line = double", "fullback|wing|slotback = lead to the aim"), None),
    ("two back lead", F.LEAD, "A", ("line = base", "fullback? = lead", "tailback = lead to the aim"), None),
    (
        "power",
        F.POWER,
        "C",
        (
            "line = down",
            "center = back",
            "back side guard = pull and wrap",
            "back side line = hinge",
            "fullback|wing|tailback? = kick",
        ),
        None,
    ),
    (
        "guard kick",
        F.GUARD_KICK,
        "B",
        ("line = down", "back side guard = pull and kick", "back side line = hinge"),
        None,
    ),
    (
        "counter",
        F.COUNTER,
        "C",
        (
            "line = down",
            "back side guard = pull and kick",
            "back side tackle = pull and wrap",
            "back side end? = hinge",
        ),
        None,
    ),
    (
        "counter with the wing",
        F.COUNTER,
        "C",
        ("line = down", "back side guard = pull and kick", "back side wing|fullback = pull and wrap"),
        None,
    ),
    ("trap", F.TRAP, "A", ("line = down", "back side guard = pull and trap", "back side tackle = hinge"), None),
    ("dart", F.DART, "B", ("line = base", "back side tackle = pull and trap past guard"), None),
    ("long trap", F.TRAP, "B", ("line = down", "back side guard = pull and trap past tackle"), None),
    ("down", F.DOWN, "C", ("line = down", "play side guard = pull and kick", "center = back"), None),
    (
        "sweep",
        F.SWEEP,
        None,
        ("line = down", "play side guard = pull and kick", "back side guard = pull and lead", "fullback? = fake"),
        None,
    ),
    ("pin and pull", F.PIN_AND_PULL, None, ("line = down", "center = pull and lead", "back side line = cut off"), None),
    ("toss", F.TOSS, None, ("line = reach", "play side receiver = crack", "play side tackle = pull and lead"), None),
    ("crack sweep", F.SWEEP, None, ("line = reach", "play side wing|play side receiver = crack"), None),
    ("midline", F.MIDLINE, "A", ("line = base", "play side line = down"), ("midline", ReadMan.FIRST_PAST_CENTER, 2)),
    ("veer", F.VEER, "B", ("line = down",), ("veer", ReadMan.FIRST_OUTSIDE_B, 3)),
    ("veer with an arc", F.VEER, "B", ("line = base", "slotback? = arc"), ("veer", ReadMan.FIRST_OUTSIDE_B, 3)),
    ("zone read", F.ZONE_READ, "A", ("line = zone",), ("zone read", ReadMan.BACK_EDGE, 2)),
    ("zone read and arc", F.ZONE_READ, "A", ("line = zone", "wing? = arc"), ("zone read", ReadMan.BACK_EDGE, 3)),
    ("speed option", F.SPEED_OPTION, None, ("line = reach",), ("speed option", ReadMan.PLAY_EDGE, 3)),
    (
        "quarterback counter",
        F.QUARTERBACK_RUN,
        "C",
        ("line = down", "back side guard = pull and kick", "tailback? = lead to the aim"),
        None,
    ),
    ("quarterback draw", F.DRAW, "A", ("line = base", "tailback = lead"), None),
)
AIMS = (*list(Letter)[:5], None)
LINE_JOBS = (Job.ZONE, Job.REACH, Job.CUTOFF, Job.BASE, Job.DOUBLE, Job.DOWN, Job.BACK, Job.HINGE, Job.CLIMB)
LEAVES = (Job.PULL_KICK, Job.PULL_WRAP, Job.PULL_LEAD, Job.PULL_TRAP)
ARRIVES = (Job.KICK, Job.CROSS_KICK, Job.LEAD, Job.LEAD_AIM, Job.ARC, Job.FAKE)
READ_MEN = {
    "zone read": ReadMan.BACK_EDGE,
    "midline": ReadMan.FIRST_PAST_CENTER,
    "veer": ReadMan.FIRST_OUTSIDE_B,
    "speed option": ReadMan.PLAY_EDGE,
}


def parse_row(text: str) -> JobRow:
    """A row from "who|who = job past role"; a who ending in "?" makes the row optional."""
    whose, job = text.split(" = ")
    job, _, past = job.partition(" past ")
    who = tuple(parse_who(part) for part in whose.replace("?", "").split("|"))
    return JobRow(who, Job(job), Role(past) if past else None, "?" in whose)


def written_plays() -> tuple[Scheme, ...]:
    """The written runs."""
    plays = []
    for name, family, aim, rows, option in WRITTEN:
        phases = TRIPLE if option and option[2] == 3 else QUARTERBACK_AND_DIVE
        carrier = Role.QUARTERBACK if "quarterback" in name or option else Role.TAILBACK
        plays.append(
            Scheme(
                name,
                family,
                tuple(parse_row(row) for row in rows),
                Letter(aim) if aim else None,
                Option(option[0], option[1], phases) if option else None,
                None,
                carrier,
            )
        )
    return tuple(plays)


PLAYS = written_plays()


def random_play(choose: Choose) -> Scheme:
    """A run of rows thrown together: jobs on the line by group, one or two who leave it, one or two who arrive."""
    rows = [JobRow((Who(None),), choose(LINE_JOBS))]
    flows = [flow for flow in Flow if choose((True, False, False))]
    rows.extend(JobRow((Who(None, flow),), choose(LINE_JOBS)) for flow in flows)
    if choose((True, False, False)):
        rows.append(JobRow((Who(Role.CENTER),), choose((*LINE_JOBS, *LEAVES))))
    for _ in range(choose((0, 0, 1, 1, 2))):
        who = Who(choose((Role.GUARD, Role.TACKLE, Role.END)), choose(tuple(Flow)))
        job = choose((*LEAVES, *LEAVES, *LINE_JOBS))
        rows.append(
            JobRow(
                (who,),
                job,
                choose((None, None, Role.GUARD, Role.TACKLE, Role.END)),
                choose((True, False)),
            )
        )
    for _ in range(choose((0, 0, 1, 1, 2))):
        back = (Who(choose((Role.FULLBACK, Role.SLOTBACK))), Who(Role.WING, choose(tuple(Flow))))
        who = choose((back, back[::-1], (Who(Role.FULLBACK),), (Who(Role.TAILBACK),)))
        rows.append(JobRow(who, choose(ARRIVES), None, choose((True, True, False))))
    if choose((True, False, False, False)):
        rows.append(JobRow((Who(Role.RECEIVER, choose(tuple(Flow))),), Job.CRACK, None, True))
    name = choose((None, None, *READ_MEN))
    phases = choose((QUARTERBACK_AND_DIVE, TRIPLE, (Phase.QUARTERBACK, Phase.PITCH)))
    option = Option(name, READ_MEN[name], phases) if name else None
    return Scheme(
        "random rows",
        choose(tuple(SchemeFamily)),
        tuple(rows),
        choose(AIMS),
        option,
        choose((None, None, 1.5, 2.4, 3.3)),
        Role.QUARTERBACK,
    )


def any_play(choose: Choose) -> Scheme:
    """A written run three times in four, else a random one."""
    return choose(PLAYS) if choose((True, True, True, False)) else random_play(choose)
