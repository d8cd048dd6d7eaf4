"""Nouns -> TOML -> nouns gives the same team, whatever it has decided."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

from hypothesis import given, settings
from hypothesis import strategies as st

from quizgen.content import load_team
from quizgen.content.dump import dump_team
from quizgen.football.defense import Alignment, Landmark, Numbering, PlayerClass, Shade
from quizgen.football.facts import OF_A_SIDE, OF_THE_WHOLE, FormationFact
from quizgen.football.formation import Formation, Role, RuleBook
from quizgen.football.layout import lay_out
from quizgen.football.motion import FormationMotion
from quizgen.football.pressure import Adjustment, CallGap, GoesTo, Pressure
from quizgen.football.rules import (
    AwayRule,
    CrackRule,
    DownRule,
    EdgeRule,
    FlowRule,
    KickRule,
    LeadRule,
    LooksRule,
    Measures,
    OptionRule,
    Pace,
    PullFirst,
    PullOwnSide,
    PullSecond,
    ReadPlay,
    SlantRule,
    SplitFlowRule,
    Timing,
)
from quizgen.football.scheme import Job, JobRow, LeftFree, Phase, SchemeFamily, parse_who
from quizgen.football.sides import Letter, Side, Toward
from quizgen.football.team import TeamBook

VEER = OptionRule(
    Phase.QUARTERBACK,
    Phase.DIVE,
    Phase.PITCH,
    ((Phase.DIVE, ("Mike",)), (Phase.PITCH, ("Sam", "force"))),
    ReadPlay.SLOW,
)


def test_the_demo_comes_back_the_same(demo: TeamBook) -> None:
    assert load_team(dump_team(demo)) == demo


def test_dumping_twice_gives_the_same_text(demo: TeamBook) -> None:
    files = dump_team(demo)
    assert dump_team(load_team(files)) == files


def test_a_team_that_has_decided_everything_comes_back_the_same(demo: TeamBook) -> None:
    rules = replace(
        demo.rules,
        pull_first=PullFirst.STAY,
        pull_second=PullSecond.STAY,
        pull_backer=PullSecond.STAY,
        edge=EdgeRule.SPILL,
        back_edge=EdgeRule.SPILL,
        lead=LeadRule.OUTSIDE,
        trap=LeadRule.OUTSIDE,
        crack=CrackRule.STAY,
        pull_own_side=PullOwnSide.HOLE,
        flow=FlowRule.SHUFFLE,
        split_flow=SplitFlowRule.INSIDE,
        slant=SlantRule.JUMP,
        down=DownRule.SPILL,
        looks=LooksRule.PULLER_KICK_MESH,
        kick=KickRule.BACKER,
        away=AwayRule.SQUEEZE,
        by_position=MappingProxyType({"Jack": (("flow", FlowRule.BOTH_SIDES), ("edge", EdgeRule.BOX))}),
        options=MappingProxyType({**demo.rules.options, "veer": VEER}),
        numbering=Numbering.THREE_A_MAN,
        rule_book=RuleBook.COLLEGE,
        timing=Timing(
            read=MappingProxyType({**Timing().read, PlayerClass.SAFETY: Pace(0.6, 5.0)}),
            rush=MappingProxyType({**Timing().rush, PlayerClass.LINEMAN: Pace(0.1, 3.25)}),
            ball_s=MappingProxyType({**Timing().ball_s, SchemeFamily.DRAW: 3.1}),
            order_delay_s=0.3,
            never_after_s=1.4,
        ),
    )
    call = replace(
        demo.pressures[0],
        rules=(("pull_backer", PullSecond.FRONT_SHOULDER),),
        by_position=(("Sam", (("lead", LeadRule.BY_BLOCK),)),),
        options=(("veer", VEER),),
    )
    wrap = JobRow((parse_who("back side guard"),), Job.PULL_WRAP, gap=Letter.B)
    changed = replace(
        demo,
        rules=rules,
        pressures=(call, *demo.pressures[1:]),
        formations=tuple(replace(one, rule_book=RuleBook.COLLEGE) for one in demo.formations),
        schemes=(replace(demo.schemes[0], ball_s=2.05, rows=(*demo.schemes[0].rows, wrap)), *demo.schemes[1:]),
        protections=(replace(demo.protections[0], free=LeftFree.INSIDE),),
        season_end="",
        time_zone="UTC",
        about=MappingProxyType({}),
    )
    assert load_team(dump_team(changed)) == changed


def test_a_renamed_team_comes_back_with_its_keys(demo: TeamBook) -> None:
    """Every noun that can be renamed without touching another file, and the plays in motions; the keys are those of the
    first names."""

    def motions(one: Formation) -> tuple[FormationMotion, ...]:
        return tuple(replace(m, used_with=tuple(f"New {name}" for name in m.used_with)) for m in one.motions)

    changed = replace(
        demo,
        pressures=tuple(
            replace(
                one,
                name=f"New {one.name}",
                adjust=tuple(replace(row, check=row.check and f"New {row.check}") for row in one.adjust),
            )
            for one in demo.pressures
        ),
        schemes=tuple(replace(one, name=f"New {one.name}") for one in demo.schemes),
        protections=tuple(replace(one, name=f"New {one.name}") for one in demo.protections),
        accepted=(),  # its rows hold names
        formations=tuple(
            replace(
                one,
                name=f"New {one.name}",
                mirror_name=one.mirror_name and f"New {one.mirror_name}",
                motions=motions(one),
            )
            for one in demo.formations
        ),
    )
    loaded = load_team(dump_team(changed))
    assert loaded == changed
    for kind in ("pressures", "schemes", "protections", "formations"):
        assert [one.key for one in getattr(loaded, kind)] == [one.key for one in getattr(demo, kind)]


YARDS = st.integers(-40, 40).map(lambda n: n / 4)
DEPTHS = st.integers(2, 80).map(lambda n: n / 4)
ALIGNMENTS = st.builds(
    Alignment, st.sampled_from(Landmark), st.sampled_from(Toward), st.sampled_from(Shade), YARDS, DEPTHS
)
GOES_TO = [one for one in GoesTo if one is not GoesTo.AS_CALLED]  # which is the same as no word
GAPS = st.builds(CallGap, st.sampled_from(Toward), st.sampled_from([*Letter, None]))


FACTS = st.one_of(
    st.builds(FormationFact, st.sampled_from([*OF_A_SIDE]), st.sampled_from([None, *Toward])),
    st.builds(FormationFact, st.sampled_from([*OF_THE_WHOLE])),
)


def adjustments(call: Pressure) -> st.SearchStrategy[Adjustment]:
    """Rows that check to the base call, or change where some men of this call line up and rush."""
    against = st.lists(FACTS, min_size=1, max_size=4).map(tuple)
    align = st.dictionaries(st.sampled_from(call.positions), ALIGNMENTS, min_size=1, max_size=3)
    rushers = st.lists(st.sampled_from(call.rushes), max_size=2, unique_by=lambda rush: rush.position)
    rushes = st.tuples(rushers, GAPS).map(lambda two: tuple(replace(rush, gap=two[1]) for rush in two[0]))
    return st.builds(
        Adjustment, against, align=align.map(lambda found: tuple(found.items())), rushes=rushes
    ) | st.builds(Adjustment, against, st.just("Varve"))


@settings(max_examples=30)
@given(st.data())
def test_any_call_comes_back_the_same(demo: TeamBook, data: st.DataObject) -> None:
    call = data.draw(st.sampled_from([one for one in demo.pressures if one.front == demo.pressure("Varve").front]))
    align = data.draw(st.dictionaries(st.sampled_from(call.positions), ALIGNMENTS, max_size=4))
    rushes = tuple(replace(rush, gap=data.draw(GAPS), order=data.draw(st.integers(1, 6))) for rush in call.rushes)
    changed = Pressure(
        "Outwash",
        call.front,
        rushes,
        call.drops,
        call.coverage,
        align=tuple(align.items()),
        conceded=tuple(data.draw(st.lists(GAPS, max_size=2))),
        exchanges=call.exchanges,
        peel=data.draw(st.booleans()),
        goes_to=tuple(data.draw(st.lists(st.sampled_from(GOES_TO), max_size=3))),
        adjust=tuple(data.draw(st.lists(adjustments(call), max_size=3))),
        show=tuple(
            data.draw(
                st.dictionaries(st.sampled_from([d.position for d in call.drops]), ALIGNMENTS, max_size=2)
            ).items()
        ),
    )
    team = replace(demo, pressures=(*demo.pressures, changed))
    assert load_team(dump_team(team)).pressures[-1] == changed


SPLITS_FT = st.integers(0, 20).map(lambda half_feet: half_feet / 2)


@settings(max_examples=30)
@given(SPLITS_FT, SPLITS_FT, st.booleans(), st.booleans(), st.integers(4, 80))
def test_any_formation_comes_back_the_same(
    demo: TeamBook, guard_ft: float, end_ft: float, has_end: bool, is_left: bool, quarter_yards: int
) -> None:
    measures = Measures(guard_split_yd=guard_ft / 3, end_split_yd=end_ft / 3)
    side = (Role.GUARD, Role.TACKLE, *([Role.END] if has_end else []))
    formation = lay_out(
        "Any",
        side,
        (Role.GUARD, Role.TACKLE),
        quarterback_yd=1.5,
        backs=[(Role.TAILBACK, -1.25, 5.0)],
        receivers=[(Side.LEFT if is_left else Side.RIGHT, quarter_yards / 4, True), (Side.RIGHT, 21.0, True)],
        measures=measures,
    )
    team = replace(demo, rules=replace(demo.rules, measures=measures), formations=(formation,), accepted=())
    assert load_team(dump_team(team)).formations == (formation,)
