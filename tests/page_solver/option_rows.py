"""Published facts on options: who is read, who has which phase. The source stands beside each row."""

from __future__ import annotations

from tests.page_solver.row import (
    CRACKED,
    FIVE,
    FIVE_GUN,
    LINEMAN_IN_B,
    RIGHT,
    TIGHT,
    TRIPLE,
    Row,
)
from tests.page_solver.snaps import play

ROWS = (
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
)
