"""Published facts on options: one man's phase a row, with the source beside it; see ``block_facts``."""

from __future__ import annotations

from quizgen.football.rules import LINEMAN_IN_B, OptionRule, TeamRules
from quizgen.football.scheme import Phase
from tests.page_solver.row import FIVE, FIVE_GUN, RIGHT, TIGHT, Row
from tests.page_solver.snaps import offense, play

DIVE, QB, PITCH = Phase.DIVE, Phase.QUARTERBACK, Phase.PITCH
END_LEFT = offense("GTE", "GT", gun=True)
STAFF = TeamRules(
    options={"zone read": OptionRule(DIVE, QB, PITCH), "zone read" + LINEMAN_IN_B: OptionRule(QB, DIVE, PITCH)}
)
ALWAYS = TeamRules(options={"zone read": OptionRule(DIVE, QB, PITCH)})


def named(option: str, rule: OptionRule, *owners: tuple[Phase, tuple[str, ...]]) -> TeamRules:
    """Team rules that name the owners of an option's phases, in an order of preference."""
    return TeamRules(options={option: OptionRule(rule.read_man, rule.scrape, rule.force, owners)})


TRIPLE, SPEED = OptionRule(DIVE, QB, PITCH), OptionRule(QB, DIVE, PITCH)
VEER_MEN = """
Tackle, 3 right, rush right B
End, 5 right, edge right C
Mike, 20 right, fill right A
Sam, x 6 depth 4, force right
Corner, x 11 depth 6, cover right
"""
SPEED_MEN = """
End, 5 right, edge right C
Inside, 20 right, fill right B
Outside, x 6 depth 4, force right
Alley, x 3 depth 9, alley right
"""

ROWS = (
    Row(
        "F51 shade",
        "blogs.usafootball.com 7717, 2019-12-05, fill and fold: back on the shade and 5 side, the end down the middle "
        "of the tackle",
        "Shade, 1 left, rush left A\nEnd, 5 left, edge left C\nBacker, 40 left, fill left B",
        FIVE_GUN,
        play("Zone read"),
        RIGHT,
        "End phase dive\nEnd lane left B",
        STAFF,
    ),
    Row(
        "F51 backer",
        "the same: the exchange: the backer has the quarterback",
        "Shade, 1 left, rush left A\nEnd, 5 left, edge left C\nBacker, 40 left, fill left B",
        FIVE_GUN,
        play("Zone read"),
        RIGHT,
        "Backer phase quarterback\nBacker lane left C",
        STAFF,
    ),
    Row(
        "F53 end R8",
        "W14, blogs.usafootball.com 7717: back on the 3 and 5 side, the end has the quarterback",
        "Tackle, 3 left, rush left B\nEnd, 5 left, edge left C\nBacker, 20 left, fill left A\n"
        "Nose, 1 right, rush right A",
        FIVE_GUN,
        play("Zone read"),
        RIGHT,
        "End phase quarterback\nEnd lane left C",
        STAFF,
    ),
    Row(
        "F54 end",
        "elevenwarriors.com 2012-04, scrape exchange in gap words: the end has C",
        "End, 9 left, edge left D\nBacker, 40 left, fill left C\nNose, 1 left, rush left A",
        END_LEFT,
        play("Zone read"),
        RIGHT,
        "End phase dive\nEnd lane left C",
        STAFF,
    ),
    Row(
        "F54 backer",
        "the same: the weak backer has D and contain",
        "End, 9 left, edge left D\nBacker, 40 left, fill left C\nNose, 1 left, rush left A",
        END_LEFT,
        play("Zone read"),
        RIGHT,
        "Backer phase quarterback\nBacker lane left D",
        STAFF,
    ),
    Row(
        "F55 end R8",
        "xandolabs.com 3074, bend and chase: the end always bends flat off the tackle, the dive is his, whoever stands "
        "inside him",
        "Tackle, 3 left, rush left B\nEnd, 5 left, edge left C\nBacker, 20 left, fill left A",
        FIVE_GUN,
        play("Zone read"),
        RIGHT,
        "End phase dive\nEnd is read",
        ALWAYS,
    ),
    Row(
        "F55 backer R8",
        "the same: the inside backer has the quarterback",
        "Nose, 0, rush right A\nEnd, 5 left, edge left C\nBacker, 20 left, fill left A\n"
        "Overhang, x -6 depth 4, force left",
        FIVE_GUN,
        play("Zone read"),
        RIGHT,
        "Backer phase quarterback",
        ALWAYS,
    ),
    Row(
        "F56 safety",
        "breakdownsports.blogspot.com 2014-06, speed option v two-high: the front safety in the alley has the pitch",
        SPEED_MEN,
        FIVE_GUN,
        play("Speed option"),
        RIGHT,
        "Alley phase pitch",
        named("speed option", SPEED, (PITCH, ("alley", "force"))),
    ),
    Row(
        "F56 end man",
        "the same: the end man has the quarterback and nobody blocks him",
        SPEED_MEN,
        FIVE_GUN,
        play("Speed option"),
        RIGHT,
        "End phase quarterback\nEnd is read\nEnd threat nobody",
    ),
    Row(
        "F57 outside backer R9",
        "movethemchains.blogspot.com 2010-05-31, midline: the outside backer is the second key",
        "Tackle, 3 right, rush right B\nEnd, 5 right, edge right C\nSam, x 5 depth 4, force right",
        FIVE,
        play("Midline"),
        RIGHT,
        "Sam phase quarterback",
        named("midline", TRIPLE, (QB, ("Sam",))),
    ),
    Row(
        "F57 give key R9",
        "the same: the 3-tech is the give key, and the end may be the second one",
        "Tackle, 3 right, rush right B\nEnd, 5 right, edge right C\nSam, x 5 depth 4, force right",
        FIVE,
        play("Midline"),
        RIGHT,
        "Tackle phase dive\nTackle threat nobody\nEnd phase quarterback",
        named("midline", TRIPLE, (QB, ("End", "Sam"))),
    ),
    Row(
        "F58 end",
        "tripleoptionfootball.com 2024-11-25, defending inside veer: the end has the dive first",
        VEER_MEN,
        FIVE,
        play("Veer"),
        RIGHT,
        "End phase dive",
        named("veer", TRIPLE, (QB, ("Mike",))),
    ),
    Row(
        "F58 Mike",
        "the same: Mike has the quarterback first",
        VEER_MEN,
        FIVE,
        play("Veer"),
        RIGHT,
        "Mike phase quarterback",
        named("veer", TRIPLE, (QB, ("Mike",))),
    ),
    Row(
        "F59 man",
        "the same: in man the receiver's defender takes the pitch",
        VEER_MEN,
        FIVE,
        play("Veer"),
        RIGHT,
        "Corner phase pitch",
        named("veer", TRIPLE, (QB, ("Mike",)), (PITCH, ("Corner", "force"))),
    ),
    Row(
        "F59 zone",
        "the same: in zone the outside zone takes the pitch",
        VEER_MEN,
        FIVE,
        play("Veer"),
        RIGHT,
        "Sam phase pitch",
        named("veer", TRIPLE, (QB, ("Mike",))),
    ),
    Row(
        "F61 outside backer",
        "blitzology.com 2020-08-28, load option: the outside backer has the pitch",
        SPEED_MEN,
        FIVE_GUN,
        play("Speed option"),
        RIGHT,
        "Outside phase pitch",
        named("speed option", TRIPLE, (QB, ("Inside",)), (PITCH, ("Outside",))),
    ),
    Row(
        "F61 inside backer",
        "the same: the inside backer has the quarterback",
        SPEED_MEN,
        FIVE_GUN,
        play("Speed option"),
        RIGHT,
        "Inside phase quarterback",
        named("speed option", TRIPLE, (QB, ("Inside",)), (PITCH, ("Outside",))),
    ),
    Row(
        "W5 end",
        "Bryant 1960, ch. 4, figs 25 to 28, goal-line 6-5: the end has the quarterback",
        "Guard, 2i right, rush right A\nTackle, 5 right, rush right C\nEnd, 9 right, edge right D\n"
        "Backer, x 7 depth 3, force right",
        TIGHT,
        play("Veer"),
        RIGHT,
        "End phase quarterback\nTackle threat nobody",
    ),
)
