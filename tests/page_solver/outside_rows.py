"""Published facts on reads and fits as rows for the second solver; the source stands beside each row.

A row asserts the men its source speaks of and nobody else. What is expected, one to a line: ``End lane right C``, ``End
threat fullback`` (``nobody``; ``a + b`` for two), ``End lost right A``, ``End phase dive``, ``End is read``, ``End on
the hip``, ``End over the top``, ``lanes right 4``, ``parts right C 3``, ``open 1`` and ``sound``. "C" after a source
means common practice with no source found.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from quizgen.football.formation import Formation
from quizgen.football.pressure import Exchange, Trigger
from quizgen.football.rules import EdgeRule, PullSecond, TeamRules
from quizgen.football.scheme import Job, JobRow, Phase, Scheme, parse_who
from quizgen.football.sides import Side
from tests.page_solver.snaps import DEMO, offense, play

RIGHT, LEFT = Side.RIGHT, Side.LEFT
PLAIN = TeamRules()
SPILL = TeamRules(edge=EdgeRule.SPILL)
BACK_SPILL = TeamRules(back_edge=EdgeRule.SPILL)
STAY = TeamRules(pull_backer=PullSecond.STAY)
LINEMAN_IN_B = TeamRules(options=DEMO.rules.options)

FIVE = offense("GT", "GT")
FIVE_GUN = offense("GT", "GT", gun=True)
TIGHT = offense("GT", "GTE")
TWO_ENDS = offense("GTE", "GTE")

_read = play("Zone read")
assert _read.option is not None
TRIPLE = replace(_read, option=replace(_read.option, phases=tuple(Phase)))
CRACKED = replace(TRIPLE, rows=(*TRIPLE.rows, JobRow((parse_who("back side receiver"),), Job.CRACK)))


@dataclass(frozen=True)
class Row:
    """One snap from a source: the men it names, what the offense does, what must come out."""

    key: str
    source: str
    defenders: str
    formation: Formation
    scheme: Scheme
    play_to: Side
    expected: str
    rules: TeamRules = PLAIN
    exchanges: tuple[Exchange, ...] = ()
    concede: str = ""


TRADE = (Exchange("End", "Backer", "tackle", (Trigger.DOWN, Trigger.PULL)),)
ROWS = (
    Row(
        "F1",
        "shakinthesouthland.com 2011-05-18, reading line blocks: guard straight at him, outside arm free in B",
        "Mike, 30 right, fill right B",
        FIVE,
        play("Base"),
        RIGHT,
        "Mike lane right B\nMike threat nobody",
    ),
    Row(
        "F2",
        "same: the guard reaches for his outside; he stays on the guard's outside half, in B",
        "Mike, 30 right, fill right B",
        FIVE_GUN,
        play("Outside zone"),
        RIGHT,
        "Mike lane right B\nMike threat right guard\nMike lost right A",
    ),
    Row(
        "F3",
        "spartyfootball.blogspot.com 2012-12, defensive line play: 3-tech reached by his guard keeps B",
        "Tackle, 3 right, rush right B",
        FIVE,
        play("Inside zone"),
        RIGHT,
        "Tackle lane right B\nTackle threat right guard\nTackle lost right A",
    ),
    Row(
        "F6 outside shade",
        "American Football Monthly 4708, read rules: an outside shade reads the man he is on",
        "End, 5 right, edge right C",
        FIVE,
        play("Inside zone"),
        RIGHT,
        "End threat right tackle\nEnd lost right B",
    ),
    Row(
        "F6 inside shade",
        "same: an inside shade reads the next lineman inside",
        "End, 4i right, rush right B",
        FIVE,
        play("Inside zone"),
        RIGHT,
        "End threat right guard\nEnd lost right A",
    ),
    Row(
        "F14",
        "breakdownsports.blogspot.com 2014-10, defending a trap: his man blocks down, nobody on him; he does not chase",
        "End, 5 right, edge right C\nTackle, 3 right, rush right B",
        FIVE,
        play("Short trap"),
        RIGHT,
        "End lane right C\nEnd threat nobody",
    ),
    Row(
        "F16",
        "coachxo.com, slanting lineman: the guard pulls, he follows in the hip pocket; another lineman fills behind",
        "Nose, 1 left, rush left A",
        FIVE,
        play("Power"),
        RIGHT,
        "Nose lane left A/B\nNose on the hip\nNose threat center",
    ),
    Row(
        "F18",
        "craigroh.com, tips against the run: doubled, he works between the two blockers",
        "Tackle, 3 right, rush right B",
        FIVE,
        play("Duo"),
        RIGHT,
        "Tackle lane right B\nTackle threat right guard + right tackle\nTackle lost nowhere",
    ),
    Row(
        "F19",
        "spartyfootball.blogspot.com 2012-12: the tight end releases down, the end outside him has D",
        "End, 9 right, edge right D\nTackle, 3 right, rush right B",
        TIGHT,
        play("Short trap"),
        RIGHT,
        "End lane right D",
    ),
    Row(
        "F23",
        "highschoolcoach32.blogspot.com 2008-02-02, guard reads: his guard pulls to the far side, he trails him",
        "Will, 20 left, fill left B\nNose, 1 left, rush left A\nEnd, 5 right, edge right C",
        FIVE,
        play("Guard kick"),
        RIGHT,
        "Will over the top\nWill side right",
    ),
    Row(
        "F23 stay",
        "mgoblog.com, keys that move gaps: other staffs keep him home, a team rule (R3)",
        "Will, 20 left, fill left B\nNose, 1 left, rush left A\nEnd, 5 right, edge right C",
        FIVE,
        play("Guard kick"),
        RIGHT,
        "Will lane left A/B",
        STAY,
    ),
    Row(
        "F26 short",
        "breakdownsports.blogspot.com 2015-05-21, trap: a back-side guard short traps the 3-tech",
        "Nose, 1 left, rush left A\nTackle, 3 right, rush right B\nEnd, 5 right, edge right C",
        FIVE,
        play("Short trap"),
        RIGHT,
        "Tackle threat left guard\nEnd threat nobody",
    ),
    Row(
        "F26 long",
        "same: long, he traps the 5-tech",
        "Nose, 1 right, rush right A\nEnd, 5 right, edge right C",
        FIVE,
        play("Long trap"),
        RIGHT,
        "End threat left guard",
    ),
    Row(
        "F27",
        "Bryant 1960, ch. 4, fig. 21: the end blocks in, so the 9-tech looks for the near back or a trapper",
        "End, 9 right, edge right outermost",
        TIGHT,
        play("Power"),
        RIGHT,
        "End threat fullback",
    ),
    Row(
        "F29",
        "C: guard and tackle double the 3-tech, so nobody is on the backer behind them yet",
        "Tackle, 3 right, rush right B\nMike, 20 right, fill right A",
        FIVE,
        play("Duo"),
        RIGHT,
        "Mike threat nobody",
    ),
    Row(
        "F30",
        "jonsvec.substack.com, power run fits: box, outside half of the kick, ball inside him",
        "End, 5 right, edge right C",
        FIVE,
        play("Power"),
        RIGHT,
        "End lane right C outside the kick\nEnd threat fullback",
    ),
    Row(
        "F31",
        "same: spill, inside half, ball outside him",
        "End, 5 right, edge right C",
        FIVE,
        play("Power"),
        RIGHT,
        "End lane right C between the wrap and the kick\nEnd lost right C outside the kick",
        SPILL,
    ),
    Row(
        "F36 spill",
        "jonsvec.substack.com, defending split zone: spill, and somebody must be named for the outside",
        "End, 5 left, edge left C\nSafety, x -6 depth 5, force left",
        FIVE,
        play("Split zone"),
        RIGHT,
        "End lane left C inside the kick\nSafety lane left C outside the kick",
        BACK_SPILL,
    ),
    Row(
        "F36 box",
        "same: box, the end sets the edge; force comes inside him (section 6 of the page)",
        "End, 5 left, edge left C\nSafety, x -6 depth 5, force left",
        FIVE,
        play("Split zone"),
        RIGHT,
        "End lane left C outside the kick\nSafety lane left C inside the kick",
    ),
    Row(
        "F37",
        "blitzology.com 2016-04-11, outside-to-inside blitz: the tackle blocks out on the end, he holds his track to B",
        "Overhang, x 5 depth 3, rush right B\nEnd, 5 right, edge right C",
        FIVE,
        play("Base"),
        RIGHT,
        "Overhang lane right B",
    ),
    Row(
        "F38",
        "same: a back leads into B, he takes the inside half and may never be kicked out",
        "Overhang, x 5 depth 3, rush right B\nEnd, 5 right, edge right C\nNose, 1 right, rush right A",
        FIVE,
        play("Lead"),
        RIGHT,
        "Overhang lane right B inside the lead\nOverhang threat fullback",
    ),
    Row(
        "F42",
        "xandolabs.com 2021-04-12, puller fits: a man inside and one outside of the puller, on the side he pulls to",
        "End, 5 right, edge right C\nNose, 1 left, rush left A",
        FIVE,
        play("Guard kick"),
        RIGHT,
        "parts right C 2\nlanes right 4\nlanes left 2",
    ),
    Row(
        "F43",
        "blitzology.com 2015-11-21, 4-2-5 v two backs, '4-4 fit': both safeties force, six men have every inside gap",
        """
        Weak end, 5 left, edge left C
        Nose, 1 left, rush left A
        Tackle, 3 right, rush right B
        Strong end, 7 right, edge right C
        Mike, 20 right, fill right A
        Will, 20 left, fill left B
        Strong safety, x 7 depth 5, force right
        Weak safety, x -6 depth 5, force left
        """,
        TIGHT,
        play("Base"),
        RIGHT,
        "sound\nStrong safety lane right D\nWeak safety lane none",
    ),
    Row(
        "F50",
        "C: two pullers make the front edge three lanes",
        "End, 5 right, edge right C",
        FIVE,
        play("Pin and pull"),
        RIGHT,
        "parts right C 3\nparts left A 1",
    ),
    Row(
        "F51",
        "blogs.usafootball.com 7717, 2019-12-05, fill and fold: back on the shade and 5 side, exchange",
        "Nose, 1 left, rush left A\nEnd, 5 left, edge left C\nWill, 20 left, fill left B",
        FIVE_GUN,
        play("Zone read"),
        RIGHT,
        "End is read\nEnd phase dive\nEnd lane left B\nEnd threat nobody\nWill phase quarterback\nWill lane left C",
    ),
    Row(
        "F53",
        "same, the 3 and 5 side: end has the quarterback, and a backer in A behind a 3-tech cannot leave it",
        """
        Tackle, 3 left, rush left B
        End, 5 left, edge left C
        Mike, 20 left, fill left A
        Nose, 1 right, rush right A
        Will, 20 right, fill right B
        """,
        FIVE_GUN,
        play("Zone read"),
        RIGHT,
        "End phase quarterback\nEnd lane left C\nMike lane left A\nNose phase dive",
        LINEMAN_IN_B,
    ),
    Row(
        "F56",
        "breakdownsports.blogspot.com 2014-06, speed option v two-high: the end man has the quarterback",
        "End, 5 right, edge right C\nSafety, x 6 depth 5, force right",
        FIVE_GUN,
        play("Speed option"),
        RIGHT,
        "End is read\nEnd phase quarterback\nSafety phase pitch",
    ),
    Row(
        "F57",
        "movethemchains.blogspot.com 2010-05-31, midline: the 3-tech is the give key, then the end (game plan)",
        "Nose, 1 left, rush left A\nTackle, 3 right, rush right B\nEnd, 5 right, edge right C",
        FIVE,
        play("Midline"),
        RIGHT,
        "Tackle is read\nTackle phase dive\nTackle threat nobody\nEnd phase quarterback",
    ),
    Row(
        "F59",
        "tripleoptionfootball.com 2024-11-25, inside veer in zone: the outside zone has the pitch",
        """
        Tackle, 3 right, rush right B
        End, 5 right, rush right C
        Outside, last right, edge right outermost
        Safety, x 8 depth 5, force right
        """,
        FIVE,
        play("Veer"),
        RIGHT,
        "Safety phase pitch",
    ),
    Row(
        "veer key",
        "Evidence section 4: inside veer, the first man outside B is the handoff key",
        "Tackle, 3 right, rush right B\nEnd, 5 right, edge right C\nMike, 20 right, fill right A",
        FIVE,
        play("Veer"),
        RIGHT,
        "End is read\nEnd phase dive\nEnd threat nobody",
    ),
    Row(
        "W1",
        "Bryant 1960, ch. 4, figs 3 and 6: 5-4, the 5-tech has C and the 9-tech D",
        "Five, 5 right, rush right C\nNine, 9 right, edge right D",
        TWO_ENDS,
        play("Inside zone"),
        RIGHT,
        "Five lane right C\nNine lane right D\nNine threat right end",
    ),
    Row(
        "W5",
        "Bryant 1960, ch. 4, figs 25 to 28: goal line, tackle outside eye dive, end quarterback, outside backer pitch",
        """
        Guard, 2i right, rush right A
        Tackle, 5 right, rush right C
        End, 9 right, edge right D
        Backer, x 7 depth 3, force right
        """,
        TIGHT,
        play("Veer"),
        RIGHT,
        "Tackle is read\nTackle phase dive\nEnd phase quarterback\nBacker phase pitch\nGuard lane right A",
    ),
    Row(
        "W7",
        "zachdavis24 2014-05-31: 4-3 over, end strong; each of six gaps by one man",
        """
        Strong end, 6 right, rush right C
        Tackle, 3 right, rush right B
        Nose, 1 left, rush left A
        Weak end, 5 left, edge left C
        Mike, 20 right, fill right A
        Sam, 20 left, fill left B
        """,
        TIGHT,
        play("Inside zone"),
        RIGHT,
        "Strong end lane right C\nTackle lane right B\nNose lane left A\nWeak end lane left C\nMike lane right A\n"
        "Sam lane left B\nopen 1",
    ),
    Row(
        "W8",
        "dawgsbynature 2011-05-19: 4-3 v an end, seven men for seven gaps",
        """
        Weak end, 5 left, edge left C
        Nose, 1 left, rush left A
        Tackle, 3 right, rush right B
        Strong end, 7 right, rush right C
        Mike, 20 right, fill right A
        Will, 20 left, fill left B
        Sam, x 5.5 depth 3, fill right D
        """,
        TIGHT,
        play("Inside zone"),
        RIGHT,
        "sound\nopen 0",
    ),
    Row(
        "W8 fullback",
        "same: add a fullback and they are one short",
        """
        Weak end, 5 left, edge left C
        Nose, 1 left, rush left A
        Tackle, 3 right, rush right B
        Strong end, 7 right, rush right C
        Mike, 20 right, fill right A
        Will, 20 left, fill left B
        Sam, x 5.5 depth 3, fill right D
        """,
        TIGHT,
        play("Lead"),
        RIGHT,
        "open 1",
    ),
    Row(
        "W11",
        "American Football Monthly, Streif, odd stack: the tackle blocks down, end and stacked backer exchange",
        "End, 4 right, rush right C\nBacker, 40 right, fill right B\nTackle, 3 left, rush left B",
        FIVE,
        play("Power"),
        RIGHT,
        "End lane right B\nBacker lane right C outside the kick",
        exchanges=TRADE,
    ),
    Row(
        "W11 no trigger",
        "same: end C, stacked backer B while the tackle does neither",
        "End, 4 right, rush right C\nBacker, 40 right, fill right B",
        FIVE,
        play("Inside zone"),
        RIGHT,
        "End lane right C\nBacker lane right B",
        exchanges=TRADE,
    ),
    Row(
        "W12",
        "coachhoover 2011, spread option v 4-3 over: end dive, Mike quarterback, safety pitch",
        """
        End, 5 left, edge left C
        Mike, 20 left, fill left B
        Safety, x -6 depth 5, force left
        Corner, x -11 depth 6, cover left
        """,
        FIVE_GUN,
        TRIPLE,
        RIGHT,
        "End phase dive\nMike phase quarterback\nSafety phase pitch",
    ),
    Row(
        "W12 crack",
        "same: the safety is cracked, so the corner has the pitch",
        """
        End, 5 left, edge left C
        Mike, 20 left, fill left B
        Safety, x -6 depth 5, force left
        Corner, x -11 depth 6, cover left
        """,
        FIVE_GUN,
        CRACKED,
        RIGHT,
        "Corner phase pitch\nSafety phase none",
    ),
    Row(
        "W16",
        "iamthe12thman 2010: v an I with an end, eight gaps with the fullback, four a side",
        "Nose, 1 left, rush left A",
        TIGHT,
        play("Lead"),
        LEFT,
        "lanes left 4\nlanes right 4",
    ),
    Row(
        "W18",
        "secondlevelfootball 2: the nose has both A gaps, end B, backer C",
        "Nose, 0, two-gap left A right A\nEnd, 4i right, rush right B\nBacker, last right, edge right C",
        FIVE_GUN,
        play("Outside zone"),
        RIGHT,
        "Nose owns left A, right A\nEnd lane right B\nBacker lane right C",
    ),
    Row(
        "W19",
        "coaches' forum, 3-4 slant strong: D C B A play side, A B C back side, seven of seven",
        """
        Strong outside, last right, edge right D
        Strong end, 4 right, rush right C
        Strong inside, 20 right, fill right B
        Nose, 0, rush right A
        Weak inside, 20 left, fill left A
        Weak end, 4 left, rush left B
        Weak outside, last left, edge left C
        """,
        TIGHT,
        play("Inside zone"),
        RIGHT,
        "sound\nStrong end lane right C\nNose lane right A\nWeak end lane left B\nWeak inside lane left A",
    ),
    Row(
        "W20",
        "thefreelibrary a055857699, 5-3 v wing-T: one A may be conceded on purpose",
        """
        End, 5 right, edge right C
        Tackle, 4i right, rush right B
        Nose, 0, rush right A
        Other tackle, 4i left, rush left B
        Other end, 5 left, edge left C
        """,
        FIVE,
        play("Base"),
        RIGHT,
        "open 0\nsound",
        concede="left A",
    ),
    Row(
        "W24",
        "xandolabs.com 2022, three deep two under: six rushers, six gaps",
        """
        End, 5 right, edge right C
        Tackle, 3 right, rush right B
        Mike, 20 right, rush right A
        Nose, 1 left, rush left A
        Will, 20 left, rush left B
        Other end, 5 left, edge left C
        """,
        FIVE_GUN,
        play("Outside zone"),
        LEFT,
        "sound\nopen 0",
    ),
    Row(
        "power arithmetic",
        "Evidence section 4: back-side B goes, an extra C and D appear at the play side (kick and wrap)",
        "End, 5 right, edge right C",
        FIVE,
        play("Power"),
        RIGHT,
        "lanes left 2\nlanes right 5",
    ),
)
