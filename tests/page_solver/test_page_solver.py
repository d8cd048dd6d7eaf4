"""The page solver against the page's own worked example and published facts.

The laws of the page are held by the engine (tests/engine/laws.py), and the page solver says what the engine says
(test_agreement).
"""

from __future__ import annotations

import pytest

from quizgen.football.rules import OptionRule, TeamRules
from quizgen.football.scheme import Phase
from quizgen.football.sides import Side
from tests.outside import block_facts, edge_facts, option_facts
from tests.page_solver import block_rows, count_rows, option_rows
from tests.page_solver.row import FIVE, FIVE_GUN, Row
from tests.page_solver.snaps import offense, play, snap
from tests.page_solver.verdict import Answer, solve

ROWS = (*block_rows.ROWS, *count_rows.ROWS, *option_rows.ROWS)
FACTS = (*block_facts.ROWS, *edge_facts.ROWS, *option_facts.ROWS)
#: Expectations in the engine's own words, of which this solver knows nothing ("End read close").
READ = " read "


def holds(line: str, answer: Answer) -> bool:
    """Whether one expectation of a row holds (see the head of ``row``)."""
    words = line.split()
    if words == ["sound"]:
        return answer.sound
    if words[0] == "open":
        return len(answer.open) == int(words[1])
    if words[0] == "lanes":
        return sum(1 for lane in answer.lanes if lane.side and lane.side.value == words[1]) == int(words[2])
    if words[0] == "parts":
        name = f"{words[1]} {words[2]}"
        named = [lane for lane in answer.lanes if name in lane.name]
        return len(named) == int(words[3])
    man = next(one for one in answer.men if line.startswith(f"{one.position} "))
    fit, rest = answer.fit(man.position), line.removeprefix(f"{man.position} ")
    plain = {"is read": fit.is_read, "on the hip": fit.on_the_hip, "over the top": fit.over_the_top}
    if rest in plain:
        return plain[rest]
    what, value = rest.split(" ", 1)
    found = {
        "lane": fit.lane or "none",
        "side": fit.side or "none",
        "threat": " + ".join(fit.threat) or "nobody",
        "lost": fit.lost_to or "nowhere",
        "phase": fit.phase or "none",
        "owns": ", ".join(answer.lanes[index].name for index in man.lanes),
    }
    return found[what] == value


@pytest.mark.parametrize("row", [*ROWS, *FACTS], ids=lambda row: row.key)
def test_a_published_fact_holds(row: Row) -> None:
    answer = solve(
        snap(
            row.defenders,
            row.formation,
            row.scheme,
            row.play_to,
            rules=row.rules,
            exchanges=row.exchanges,
            concede=row.concede,
        )
    )
    failed = [line for line in row.expected.splitlines() if READ not in line and not holds(line, answer)]
    assert not failed, (row.source, failed, answer.fits)


def lane_left_edge(scheme: str, lane: str) -> float:
    """Where a lane begins on its inner side, for a 3-tech and a 5-tech on the right and a run to the right."""
    defenders = "Tackle, 3 right, rush right B\nEnd, 5 right, edge right C"
    answer = solve(snap(defenders, FIVE_GUN, play(scheme), Side.RIGHT))
    return next(one.x_from for one in answer.lanes if one.name == lane)


def test_a_gap_moves_with_the_near_shoulder_of_the_blocker() -> None:
    # source: American Football Monthly 5590, learning to read blocks (outside row F5).
    assert lane_left_edge("Guard kick", "right B") < lane_left_edge("Base", "right B")
    assert lane_left_edge("Outside zone", "right C") > lane_left_edge("Base", "right C")


def test_the_count_of_the_worked_example() -> None:
    # source: the design page, section 5: five linemen, the left guard pulls and kicks to our right.
    answer = solve(snap("End, 5 right, edge right C", FIVE, play("Guard kick"), Side.RIGHT))
    assert [lane.name for lane in answer.lanes] == [
        "left C",
        "left A/B",
        "right A",
        "right B",
        "right C inside the kick",
        "right C outside the kick",
    ]
    assert (answer.frontside[0], answer.backside[0]) == (4, 2)


def test_an_attached_blocker_adds_exactly_one_lane() -> None:
    # source: the design page, section 8, law 6.
    line = "Nose, 0, rush right A"
    counts = [len(solve(snap(line, offense("GT", right), play("Base"), Side.RIGHT)).lanes) for right in ("GT", "GTE")]
    assert counts == [6, 7]


def test_six_in_six_gaps_own_everything_without_a_puller() -> None:
    # source: the design page, section 8, law 6.
    row = next(one for one in ROWS if one.key == "W24")
    for scheme in ("Inside zone", "Outside zone", "Base", "Draw"):
        answer = solve(snap(row.defenders, FIVE_GUN, play(scheme), Side.RIGHT))
        assert [len(owners) for owners in answer.owners] == [1] * 6, scheme


SCRAPE = TeamRules(options={"zone read": OptionRule(Phase.DIVE, Phase.QUARTERBACK, Phase.PITCH)})
END = "End, 5 left, edge left C"


@pytest.mark.parametrize(
    ("men", "end", "backer", "opened"),
    [
        # Side by side they trade.
        ("Backer, 20 left, fill left B", "left B", "left C", None),
        # Across the tackle they don't: the end keeps C, the backer goes over the top from his depth, A stays open.
        ("Tackle, 3 left, rush left B\nBacker, 10 left, fill left A", "left C", None, "left A"),
        # Nor across a lane that only support comes to.
        ("Backer, 10 left, fill left A\nForce, x -8 depth 7, force left", "left C", None, "left A"),
    ],
)
def test_a_read_man_trades_only_with_a_neighbour(men: str, end: str, backer: str | None, opened: str | None) -> None:
    # source: the design page, section 6, options, and section 8, law 9.
    answer = solve(snap(f"{END}\n{men}", FIVE_GUN, play("Zone read"), Side.RIGHT, rules=SCRAPE))
    assert (answer.fit("End").phase, answer.fit("Backer").phase) == ("dive", "quarterback")
    assert answer.fit("End").is_read
    assert not answer.fit("End").threat
    assert (answer.fit("End").lane, answer.fit("Backer").lane) == (end, backer)
    assert (opened in answer.open) is (opened is not None)
    for lane, owners in zip(answer.lanes, answer.owners, strict=True):
        # Who is between them has not moved, and the lane that was left has nobody.
        assert lane.name != "left B" or "Tackle" in owners or "Tackle" not in men
        assert lane.name != opened or not owners
