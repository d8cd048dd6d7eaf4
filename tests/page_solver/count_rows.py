"""Published facts on counts and whole fronts: how many lanes, who owns each. The source stands beside each row."""

from __future__ import annotations

from quizgen.football.pressure import Exchange, Trigger
from tests.page_solver.row import (
    FIVE,
    FIVE_GUN,
    LEFT,
    RIGHT,
    TIGHT,
    TWO_ENDS,
    Row,
)
from tests.page_solver.snaps import play

TRADE = (Exchange("End", "Backer", "tackle", (Trigger.DOWN, Trigger.PULL)),)

ROWS = (
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
        "W1",
        "Bryant 1960, ch. 4, figs 3 and 6: 5-4, the 5-tech has C and the 9-tech D",
        "Five, 5 right, rush right C\nNine, 9 right, edge right D",
        TWO_ENDS,
        play("Inside zone"),
        RIGHT,
        "Five lane right C\nNine lane right D\nNine threat right end",
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
