"""The shape of a row: a published fact on reads and fits that the page solver must come to as well.

A row asserts the men its source speaks of and nobody else. What is expected, one to a line: ``End lane right C``, ``End
threat fullback`` (``nobody``; ``a + b`` for two), ``End lost right A``, ``End phase dive``, ``End is read``, ``End on
the hip``, ``End over the top``, ``lanes right 4``, ``parts right C 3``, ``open 1`` and ``sound``. "C" after a source
means common practice with no source found.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from quizgen.football.formation import Formation
from quizgen.football.pressure import Exchange
from quizgen.football.rules import EdgeRule, PullSecond, TeamRules
from quizgen.football.scheme import OPTION_PHASES, Job, JobRow, Scheme, parse_who
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
TRIPLE = replace(_read, option=replace(_read.option, phases=OPTION_PHASES))
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
