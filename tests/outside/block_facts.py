"""Published facts on blocks, pulls and flow, one man's job a row, with the source beside it.

F and W numbers are those of our list of published facts and worked examples; "R" after one names the team rule under
which it holds, since staffs differ there. What is expected comes from the page named, in our lanes, and never from our
engine. Sides are the defense's own.
"""

from __future__ import annotations

from quizgen.football.rules import (
    Changes,
    DownRule,
    FlowRule,
    LeadRule,
    PullOwnSide,
    PullSecond,
    SlantRule,
    SplitFlowRule,
    TeamRules,
)
from quizgen.football.scheme import Scheme, SchemeFamily
from quizgen.football.sides import Letter
from tests.outside.field import row
from tests.page_solver.row import FIVE, FIVE_GUN, RIGHT, TIGHT, Row
from tests.page_solver.snaps import offense, play

WING = offense("GT", "GTEW")
ALL_DOWN = Scheme(
    "down", SchemeFamily.POWER, (row("base", "line"), row("down", "play side line"), row("back", "center")), Letter.C
)
FAN_LEAD = Scheme(
    "fan and lead",
    SchemeFamily.LEAD,
    (
        row("base", "line"),
        row("double", "play side guard"),
        row("double", "play side tackle"),
        row("lead to the aim", "fullback"),
    ),
    Letter.B,
)


def his(position: str, *changes: tuple[str, object]) -> TeamRules:
    """Team rules with changes for one position."""
    own: Changes = changes  # type: ignore[assignment]
    return TeamRules(by_position={position: own})


ROWS = (
    Row(
        "F5 in",
        "American Football Monthly 5590, J. Groll, learning to read blocks: the near shoulder goes in, his gap is "
        "further in and he with it: the man on him blocks down, he closes",
        "End, 5 right, edge right C",
        FIVE,
        ALL_DOWN,
        RIGHT,
        "End lane right C\nEnd read close",
    ),
    Row(
        "F5 out",
        "the same: the shoulder goes out, the gap is wider: reached, he is beaten inside",
        "End, 5 right, edge right C",
        FIVE_GUN,
        play("Outside zone"),
        RIGHT,
        "End lane right C\nEnd threat right tackle\nEnd lost right B",
    ),
    Row(
        "F6 9-tech",
        "American Football Monthly 4708, D. Truitt, read rules: an outside shade reads the man he is on",
        "End, 9 right, edge right D",
        TIGHT,
        play("Inside zone"),
        RIGHT,
        "End threat right end\nEnd lost right C",
    ),
    Row(
        "F6 shade",
        "the same, a shade on the center",
        "Nose, 1 right, rush right A",
        FIVE,
        play("Inside zone"),
        RIGHT,
        "Nose threat center\nNose lost left A",
    ),
    Row(
        "F6 2i",
        "the same: an inside shade on the guard reads the next lineman inside, the center",
        "Nose, 2i right, rush right A",
        FIVE,
        play("Inside zone"),
        RIGHT,
        "Nose threat center\nNose lost left A",
    ),
    Row(
        "F6 7",
        "the same: an inside shade on the end reads the tackle",
        "End, 7 right, rush right C",
        TIGHT,
        play("Inside zone"),
        RIGHT,
        "End threat right tackle\nEnd lost right B",
    ),
    Row(
        "F8",
        "xando share site, basic inside-backer reads in the multiple 3-4: head-up ends, zone to him: over the top of "
        "the reach block, so outside the guard who reaches for him",
        "Nose, 0, two-gap left A right A\nEnd, 4 right, rush right C\nBacker, 20 right, fill right B",
        FIVE,
        play("Outside zone"),
        RIGHT,
        "Backer lane right B\nBacker threat right guard\nBacker lost right A",
    ),
    Row(
        "F9",
        "the same: split-flow zone, a back crosses: he fits inside the reach block",
        "Nose, 0, rush left A\nEnd, 4 right, rush right C\nBacker, 20 right, fill right B",
        FIVE,
        play("Split zone"),
        RIGHT,
        "Backer lane right A",
        TeamRules(split_flow=SplitFlowRule.INSIDE),
    ),
    Row(
        "F12",
        "coachxo.com, what a slanting lineman does: the guard he slants at reaches outward: cross his face, every "
        "slanter jumps one more gap",
        "Nose, 0, slant right A",
        FIVE_GUN,
        play("Outside zone"),
        RIGHT,
        "Nose lane right B",
        TeamRules(slant=SlantRule.JUMP),
    ),
    Row(
        "F11 both sides R",
        "humankinetics.com, L. Tepper, Complete Linebacking, 2nd ed., ch. 10: a '31' has B, flow away to the far A at "
        "once",
        "Backer, 30 left, fill left B\nNose, 1 left, rush left A",
        FIVE,
        play("Inside zone"),
        RIGHT,
        "Backer lane right A",
        his("Backer", ("flow", FlowRule.BOTH_SIDES)),
    ),
    Row(
        "F11 shuffle R",
        "the same: a '32' has B, flow away he shuffles and owns no gap",
        "Backer, 30 left, fill left B\nNose, 1 left, rush left A\nTackle, 3 left, rush left B\n"
        "End, 5 left, edge left C",
        FIVE,
        play("Inside zone"),
        RIGHT,
        "Backer lane none",
        his("Backer", ("flow", FlowRule.SHUFFLE)),
    ),
    Row(
        "F14 closes",
        "breakdownsports.blogspot.com 2014-10, defending a trap or kick block: his man blocks down, nobody is on him: "
        "he steps down with him and shrinks the space behind",
        "End, 9 right, edge right D",
        TIGHT,
        ALL_DOWN,
        RIGHT,
        "End read close\nEnd threat nobody",
    ),
    Row(
        "F17",
        "coachxo.com, what a slanting lineman does: the guard he slants at blocks down on him",
        "Nose, 0, rush right A",
        FIVE,
        play("Guard kick"),
        RIGHT,
        "Nose threat right guard",
    ),
    Row(
        "F19 closes",
        "spartyfootball.blogspot.com 2012-12, stuffing the run: the tight end releases down, the end outside him "
        "closes C with his body, himself in D",
        "End, 9 right, edge right D\nTackle, 3 right, rush right B",
        TIGHT,
        ALL_DOWN,
        RIGHT,
        "End lane right D\nEnd read close",
    ),
    Row(
        "F20 backer R2",
        "xando share site: front-side guard and tackle block down, flow to him: he spills",
        "End, 4 right, rush right B\nBacker, 20 right, fill right B",
        FIVE,
        play("Guard kick"),
        RIGHT,
        "Backer lane right C inside the kick",
        TeamRules(down=DownRule.SPILL),
    ),
    Row(
        "F20 support R2",
        "the same: the ball goes out to the outside support man",
        "End, 4 right, rush right B\nBacker, 20 right, fill right B\nOutside, x 6 depth 4, force right",
        FIVE,
        play("Guard kick"),
        RIGHT,
        "Outside lane right C outside the kick",
        TeamRules(down=DownRule.SPILL),
    ),
    Row(
        "F21 R2",
        "the same: the guard fans out with the tackle, he boxes: the ball turns back in",
        "End, 4i right, rush right B\nBacker, 20 right, fill right B",
        FIVE,
        FAN_LEAD,
        RIGHT,
        "Backer lane right B outside the lead",
        TeamRules(lead=LeadRule.BY_BLOCK),
    ),
    Row(
        "F22 R2",
        "highschoolcoach32.blogspot.com 2008-02-02, guard reads, 4-4: the guard blocks down, he hits down with his "
        "outside shoulder on the tackle's inside shoulder and plays inside",
        "Backer, 40 right, fill right B",
        FIVE,
        play("Guard kick"),
        RIGHT,
        "Backer lane right B\nBacker threat right tackle",
    ),
    Row(
        "F24 R3",
        "mgoblog.com, what is contain: the guard pulls away, the backer attacks his front-side shoulder",
        "Backer, 20 left, fill left B\nNose, 1 left, rush left A",
        FIVE,
        play("Guard kick"),
        RIGHT,
        "Backer read front shoulder\nBacker lane right C outside the kick",
        TeamRules(pull_backer=PullSecond.FRONT_SHOULDER),
    ),
    Row(
        "F25 outside R4",
        "highschoolcoach32.blogspot.com 2008-02-02: his guard pulls round his own end: he trails and fills outside the "
        "last lineman",
        "End, 5 right, edge right C\nBacker, 20 right, fill right B",
        FIVE,
        play("Down"),
        RIGHT,
        "Backer lane right C inside the kick",
        TeamRules(pull_own_side=PullOwnSide.OUTSIDE),
    ),
    Row(
        "F25 hole R4",
        "the same: or he hits the hole that the guard left: a team decides",
        "End, 5 right, edge right C\nBacker, 20 right, fill right B\nTackle, 3 right, rush right A",
        FIVE,
        play("Down"),
        RIGHT,
        "Backer lane right A/B\nBacker read told to stay",
        TeamRules(pull_own_side=PullOwnSide.HOLE),
    ),
    Row(
        "F26 front side",
        "breakdownsports.blogspot.com 2015-05-21, wham and trap: a front-side guard kicks the 9-tech or wider",
        "Tackle, 3 right, rush right B\nEnd, 9 right, edge right outermost",
        TIGHT,
        play("Down"),
        RIGHT,
        "End threat right guard",
    ),
    Row(
        "F27 trapper",
        "Bryant 1960, ch. 4, fig. 21: the end blocks in, so the 9-tech's next blocker is the near back or a trapper",
        "End, 9 right, edge right outermost",
        TIGHT,
        play("Guard kick"),
        RIGHT,
        "End threat left guard",
    ),
    Row(
        "F28",
        "Bryant 1960, ch. 4, fig. 16: the 4-tech, play away, has the tackle to control and goes through his head",
        "Tackle, 4 left, rush left B",
        FIVE,
        play("Inside zone"),
        RIGHT,
        "Tackle threat left tackle\nTackle lane left B",
    ),
)
