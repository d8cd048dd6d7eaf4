"""What published sources say of options after the snap: one man's job a row, never what our engine says.

Gaps and sides are the defense's own; "end" is the man on the edge, "shade" a lineman on the center.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from quizgen.football.defense import PlayerClass
from quizgen.football.pressure import RunJob
from quizgen.football.rules import LINEMAN_IN_B, OptionRule, TeamRules
from quizgen.football.scheme import Phase, ReadMan, Scheme
from quizgen.football.sides import Letter, Side
from tests.outside.field import Defense, formation, option

DIVE, QB, PITCH = Phase.DIVE, Phase.QUARTERBACK, Phase.PITCH
GUN = formation("GT", "GT", ("tailback", -1.5, 4.1))
TIGHT = formation("GTE", "GT", ("tailback", -1.5, 4.1))
UNDER_CENTER = formation("GT", "GT", ("fullback", 0.0, 4.0), ("tailback", 0.0, 6.9))
# The exchange, and the end on the quarterback where a lineman stands in B.
STAFF = TeamRules(options={"read": OptionRule(DIVE, QB, PITCH), f"read{LINEMAN_IN_B}": OptionRule(QB, DIVE, PITCH)})


def shade_and_end() -> Defense:
    """A shade and a 5 technique to our left, a backer in the B between them, the rest to our right."""
    defense = Defense(STAFF).down("end", "5", "L", "L edge").down("shade", "1", "L", "L A")
    defense.fill("backer", "tackle", "L", "L B").fill("Mike", "guard", "R", "R A")
    return defense.down("tackle", "3", "R", "R B").down("right end", "5", "R", "R edge")


def three_and_end() -> Defense:
    """A 3 technique and a 5 technique to our left, the backer in A behind them."""
    defense = Defense(STAFF).down("end", "5", "L", "L edge").down("tackle", "3", "L", "L B")
    defense.fill("backer", "guard", "L", "L A").fill("Mike", "guard", "R", "R A")
    return defense.down("right tackle", "3", "R", "R B").down("right end", "5", "R", "R edge")


def end_over_end() -> Defense:
    """Against an end to our left: our end outside him in D, a backer in the C inside him."""
    defense = Defense(STAFF).down("end", "9", "L", "L D").fill("backer", "tackle", "L", "L C")
    return defense.down("shade", "1", "L", "L A").fill("Mike", "guard", "R", "R A")


def overhang(defense: Defense) -> Defense:
    """The same with a force man outside on our right."""
    return defense.support("overhang", RunJob.FORCE, "R", 8.0, 5.0, PlayerClass.SAFETY)


ZONE_READ = option("read", ReadMan.BACK_EDGE, DIVE, QB)
MIDLINE = option("read", ReadMan.FIRST_PAST_CENTER, DIVE, QB)
SPEED = option("read", ReadMan.PLAY_EDGE, QB, PITCH, aim=Letter.C)

ROWS = [
    # source: blogs.usafootball.com article 7717, 2019-12-05, fill and fold: with the shade and a 5 technique to the
    # back's side the exchange is on: the end bends down the middle of the tackle, the backer has the quarterback.
    (shade_and_end, ZONE_READ, Side.RIGHT, "end", (DIVE, "left B")),
    (shade_and_end, ZONE_READ, Side.RIGHT, "backer", (QB, "left C")),
    # source: burntorangenation.com 2016-12-14 with the rule before it: the backer has A behind a 3 technique and
    # cannot leave it: no exchange, the end has the quarterback.
    (three_and_end, ZONE_READ, Side.RIGHT, "end", (QB, "left C")),
    (three_and_end, ZONE_READ, Side.RIGHT, "backer", (None, "left A")),
    # source: elevenwarriors.com 2012-04, the scrape exchange in gap words: the end has C, the backer D and contain.
    (end_over_end, ZONE_READ, Side.RIGHT, "end", (DIVE, "left C")),
    (end_over_end, ZONE_READ, Side.RIGHT, "backer", (QB, "left D")),
    # source: movethemchains.blogspot.com 2010-05-31, midline: the 3 technique is the give key, the man outside him the
    # second key.
    (shade_and_end, MIDLINE, Side.RIGHT, "tackle", (DIVE, "right B")),
    (shade_and_end, MIDLINE, Side.RIGHT, "right end", (QB, "right C")),
    # source: breakdownsports.blogspot.com 2014-06, speed option: the end man has the quarterback, the man who comes
    # from outside the pitch.
    (lambda: overhang(shade_and_end()), SPEED, Side.RIGHT, "right end", (QB, "right C")),
    (lambda: overhang(shade_and_end()), SPEED, Side.RIGHT, "overhang", (PITCH, None)),
]


@pytest.mark.parametrize(("defense", "play", "to", "man", "expected"), ROWS)
def test_published_option_jobs(
    defense: Callable[[], Defense], play: Scheme, to: Side, man: str, expected: tuple[Phase | None, str | None]
) -> None:
    built = defense()
    if play is SPEED:
        built.rules = TeamRules(options={"read": OptionRule(QB, DIVE, PITCH)})
    if play is MIDLINE:
        built.rules = TeamRules(options={"read": OptionRule(DIVE, QB, PITCH)})
    offense = UNDER_CENTER if play is MIDLINE else TIGHT if defense is end_over_end else GUN
    answer = built.against(offense, play, to)
    fit = answer.fit(man)
    lane = answer.lanes[fit.lanes[0]].name if fit.owns else None
    assert (fit.phase, lane) == expected
