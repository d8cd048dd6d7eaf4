"""The sentence a player reads: one for every read and threat, made of the lane, the blocker and the lane he is lost
to. The lanes and blockers in it are worked by hand."""

from __future__ import annotations

import pytest

from quizgen.engine.fits import Threat
from quizgen.engine.protection import solve_pass
from quizgen.engine.reads import Read
from quizgen.engine.reasons import PLAIN, SENTENCES, THREATS, because, because_rush, find_kicked, threat_words, why
from quizgen.engine.verdict import RunAnswer
from quizgen.football.defense import PlayerClass
from quizgen.football.pressure import Exchange, RunJob, Trigger
from quizgen.football.rules import EdgeRule, LeadRule, OptionRule, TeamRules
from quizgen.football.scheme import OPTION_PHASES, Phase, Protection, ReadMan, Slide, parse_who
from quizgen.football.sides import Letter, Side
from quizgen.football.team import PassSituation
from quizgen.reps import why as lessons
from quizgen.reps.wording import Wording
from tests.engine.snap import ONE_BACK, TWO_BACKS, play, six
from tests.engine.test_support import CRACK, SPLIT, cracked, line_without
from tests.outside.field import BASE, GUARD_KICK, ZONE, Defense, call_gap, option
from tests.page_solver.snaps import DEMO

SAFETY = PlayerClass.SAFETY


def text(answer: RunAnswer, position: str) -> str:
    return because(answer, answer.fit(position))


def six_and_second() -> Defense:
    return line_without("L A", "R C").rush("second", "guard", "L", "L A", order=2).down("end", "5", "R", "R edge")


def test_a_gap_kept_names_the_men_it_lies_between() -> None:
    answer = six().against(ONE_BACK, BASE, Side.RIGHT)
    assert text(answer, "right nose") == (
        "Right A is still between the center and the right guard, wherever they take it."
    )
    sam = Defense().fill("Sam", "last man", "R", "R edge").fill("Will", "last man", "L", "L edge")
    answer = sam.against(ONE_BACK, BASE, Side.RIGHT)
    assert text(answer, "Sam") == "Right C is still outside the right tackle, wherever he takes it."
    assert text(answer, "Will") == "Left C is still outside the left tackle, wherever he takes it."


@pytest.mark.parametrize("to", list(Side))
def test_the_edge_in_words(to: Side) -> None:
    play_side, back_side = to.value, to.other.value
    base = six().against(ONE_BACK, BASE, to)
    assert text(base, f"{play_side} end") == f"Set the edge: nothing gets outside {play_side} C."
    assert text(base, f"{back_side} end") == (
        f"The play goes away: chase flat in {back_side} C, quarterback and reverse first."
    )
    down = six().against(ONE_BACK, play("base: line", "down: play side tackle"), to)
    assert text(down, f"{play_side} end") == (
        f"The man beside you blocks down: close with him and keep {play_side} C; look for the puller, the lead back, "
        "the ball away, the reverse."
    )
    kick = play("base: line", "kick: fullback")
    boxed = six().against(TWO_BACKS, kick, to)
    assert text(boxed, f"{play_side} end") == (
        f"Kicked by the fullback: box it, outside shoulder, {play_side} C outside the kick; ball inside. "
        f"The fullback wants to move you off the edge; beaten, you end up in {play_side} C inside the kick."
    )
    spilled = six(TeamRules(edge=EdgeRule.SPILL)).against(TWO_BACKS, kick, to)
    assert text(spilled, f"{play_side} end") == (
        f"Kicked by the fullback: spill it, inside shoulder, {play_side} C inside the kick; ball bounces. "
        f"The fullback wants to move you off the edge; beaten, you end up in {play_side} C outside the kick."
    )


def test_a_pull_in_words() -> None:
    # The guard kicks to the right. The center comes back into left A/B.
    answer = six_and_second().against(ONE_BACK, GUARD_KICK, Side.RIGHT)
    assert text(answer, "L B") == (
        "The left guard pulls: on his hip, flat, and left A/B is yours. The center comes in on you: squeeze and stay "
        "tight on his block; beaten, you end up in left C."
    )
    assert text(answer, "second").startswith(
        "The left guard pulls away: over the top to right C inside the kick, the first lane there that nobody owns."
    )
    stay = six_and_second()
    stay.rules = TeamRules().all_stay
    answer = stay.against(ONE_BACK, GUARD_KICK, Side.RIGHT)
    assert text(answer, "L B").startswith("The left guard pulls: stay, and left A/B is yours.")
    assert text(answer, "second").startswith("The left guard pulls: our rule is to stay in left A/B.")
    full = six(TeamRules(by_position={"right end": (("edge", EdgeRule.SPILL),)})).fill("Sam", "last man", "R", "R edge")
    full.rush("second", "guard", "L", "L A", order=2)
    answer = full.against(ONE_BACK, GUARD_KICK, Side.RIGHT)
    assert text(answer, "second").startswith(
        "The left guard pulls, but every lane over there is owned: stay in left A/B."
    )


def test_a_lead_in_words() -> None:
    lead = play("base: line", "lead to the aim: fullback", aim=Letter.B)
    answer = six().against(TWO_BACKS, lead, Side.RIGHT)
    assert text(answer, "right tackle") == (
        "A man leads through your gap: inside half of him, right B inside the lead. The fullback leads through on you; "
        "beaten, you end up in right B outside the lead."
    )
    answer = six(TeamRules(lead=LeadRule.OUTSIDE)).against(TWO_BACKS, lead, Side.RIGHT)
    assert text(answer, "right tackle").startswith(
        "A man leads through your gap: outside half of him, right B outside the lead."
    )


def test_an_arc_in_words() -> None:
    toss = play("reach: line", "arc: fullback", aim=None)
    defense = six().support("force", RunJob.FORCE, "R", 7.0, 5.0, SAFETY)
    answer = defense.against(TWO_BACKS, toss, Side.RIGHT)
    assert text(answer, "force") == (
        "You are force: turn it in from right C outside the arc. The fullback comes round the edge for you; beaten, "
        "you end up in right C inside the arc."
    )
    assert [m.player.word for m in answer.fit("right end").threats] == ["right tackle"]


def test_trades_and_two_gaps_in_words() -> None:
    stack = Defense().down("end", "4", "R", "R C").fill("backer", "tackle", "R", "R B")
    stack.exchanges.append(Exchange("end", "backer", "tackle", (Trigger.DOWN,)))
    answer = stack.against(ONE_BACK, play("base: line", "down: play side tackle"), Side.RIGHT)
    assert text(answer, "backer") == "The block beside you makes you trade gaps: right C is yours."
    # The tackle comes down into right B from outside: beaten, the end is one lane further in.
    assert text(answer, "end") == (
        "The block beside you makes you trade gaps: right B is yours. The right tackle comes in on you: squeeze and "
        "stay tight on his block; beaten, you end up in right A."
    )
    rules = TeamRules(options={"table": OptionRule(Phase.DIVE, Phase.QUARTERBACK, Phase.PITCH)})
    scrape = Defense(rules).down("end", "5", "L", "L edge").fill("Will", "tackle", "L", "L B")
    read = option("table", ReadMan.BACK_EDGE, Phase.DIVE, Phase.QUARTERBACK)
    answer = scrape.against(ONE_BACK, read, Side.RIGHT)
    assert text(answer, "Will") == "The quarterback is yours, from left C."
    assert text(answer, "end") == "The quarterback reads you, so nobody blocks you: the dive is yours, from left B."
    nose = Defense().down("nose", "0", "R", "R A", "L A").against(ONE_BACK, BASE, Side.RIGHT)
    assert text(nose, "nose") == "Two gaps: right A and left A are both yours."


def test_the_phases_of_an_option_in_words() -> None:
    rules = TeamRules(options={"table": OptionRule(Phase.DIVE, Phase.QUARTERBACK, Phase.PITCH)})
    defense = (
        Defense(rules).down("end", "5", "L", "L edge").down("tackle", "3", "L", "L B").fill("Will", "guard", "L", "L A")
    )
    defense.support("force", RunJob.FORCE, "L", 8.0, 6.0, SAFETY)
    answer = defense.against(ONE_BACK, option("table", ReadMan.BACK_EDGE, *OPTION_PHASES), Side.RIGHT)
    assert text(answer, "Will") == "The quarterback is yours, over the top: nobody has left A then."
    assert text(answer, "force") == "The pitch is yours."
    # The rule gives the read man a phase that the play does not have.
    none = defense.against(ONE_BACK, option("table", ReadMan.BACK_EDGE, Phase.PITCH), Side.RIGHT)
    assert text(none, "end") == "The quarterback reads you, so nobody blocks you: left C is yours."


def test_support_in_words() -> None:
    def filled(job: RunJob, gap: str, side: str = "R") -> str:
        defense = line_without(gap).support("man", job, side, 1.0, 4.0, SAFETY)
        return text(defense.against(ONE_BACK, BASE, Side.RIGHT), "man")

    assert filled(RunJob.FORCE, "R C") == "You are force: turn it in from right C."
    assert filled(RunJob.ALLEY, "R B") == "Alley: inside-out of force to right B."
    assert filled(RunJob.FREE, "R B") == "Free: stay behind the ball; take the lane nobody has, right B."
    assert filled(RunJob.CUTBACK, "L A") == "Cutback: left A is the way back."
    assert filled(RunJob.COVER, "R C") == "Pass first: no fit of your own until the ball is across the line."
    assert filled(RunJob.ALLEY, "L B") == (
        "Every lane you may fill has an owner: come late, inside-out or outside-in by your job."
    )
    fold = line_without("L A", "L B").support("man", RunJob.FOLD, "L", 2.0, 4.0, PlayerClass.BACKER)
    answer = fold.against(ONE_BACK, play("base: line", "fake: back side guard"), Side.RIGHT)
    assert text(answer, "man") == "Fold: left A/B was left behind on your side."
    from quizgen.football.rules import CrackRule

    answer = cracked(CrackRule.REPLACE).against(SPLIT, CRACK, Side.RIGHT)
    assert text(answer, "corner") == "Safety is cracked: you are force now, in right C."


def test_a_hook_in_words() -> None:
    answer = six().against(ONE_BACK, ZONE, Side.RIGHT)
    assert text(answer, "right nose") == (
        "Right A is still between the center and the right guard, wherever they take it. The center comes for your far "
        "shoulder: cross his face; beaten, you end up in left A."
    )
    assert threat_words(answer.fit("right nose")) == "the center"
    assert threat_words(answer.fit("left end")) == ""
    double = Defense().down("tackle", "3", "R", "R B").against(ONE_BACK, play("double: line"), Side.RIGHT)
    assert threat_words(double.fit("tackle")) == "the right guard and the right tackle"


def test_a_man_with_two_lanes_is_told_which_one_he_leaves() -> None:
    # Zone to our right: the center hooks the nose in right A; beaten, he has left A only.
    nose = (
        Defense().down("nose", "0", "R", "R A", "L A").against(ONE_BACK, play("base: line", "zone: center"), Side.RIGHT)
    )
    assert text(nose, "nose").endswith("beaten, you have left A only and leave right A.")


def test_a_man_on_a_hip_whom_two_blockers_want_goes_now() -> None:
    # The left guard pulls; the center comes back and the tackle cuts off into the one lane that is left.
    pull = play("base: line", "back: center", "pull and kick: back side guard", "cut off: back side tackle")
    answer = Defense().down("tackle", "3", "L", "L B").against(ONE_BACK, pull, Side.RIGHT)
    assert text(answer, "tackle") == (
        "The left guard pulls: on his hip, flat, and left A/B is yours. The left tackle and the center both want to "
        "cut you off: go now."
    )


def test_a_hinge_in_words() -> None:
    answer = six().against(ONE_BACK, play("base: line", "hinge: back side tackle"), Side.RIGHT)
    assert text(answer, "left end").endswith(
        "The left tackle swings back on you: stay square, and across his face when the ball comes back."
    )


def test_every_read_and_threat_has_its_words() -> None:
    assert set(SENTENCES) == set(Read) - {Read.SCRAPE}  # who scrapes has a phase, and is told that
    assert set(THREATS) == set(Threat)


# --- pass


def rushed(slide: Slide, *stay: str, defense: Defense | None = None) -> dict[str, str]:
    defense = defense or six()
    front, call = defense.pressure()
    protection = Protection("table", slide, tuple(parse_who(who) for who in stay))
    s = PassSituation(
        defense.rules, tuple(defense.positions), front, call, Side.RIGHT, ONE_BACK, protection, Side.RIGHT
    )
    answer = solve_pass(s)
    return {m.man.position: because_rush(answer, m) for m in answer.matchups}


def test_a_rush_in_words() -> None:
    # Full slide to the right: each lineman has the gap to his right; the left edge comes free.
    found = rushed(Slide.FULL)
    assert found["left end"] == "Nobody has you: straight to the quarterback through your lane."
    assert found["right end"] == "You contain: outside half of the right tackle, quarterback inside you."
    assert found["right tackle"] == (
        "The center turns right: outside half of the right guard, that is where your rush lane is."
    )
    assert (
        found["left tackle"] == "The center turns right: inside half of the left tackle, your rush lane is inside him."
    )


def test_a_helper_in_words() -> None:
    # Nobody in right A: the center helps the man he turns to, the right guard, on the tackle in right B.
    gone = line_without("R A")
    assert rushed(Slide.FULL, defense=gone)["R B"] == (
        "The center turns right: outside half of the right guard, that is where your rush lane is; "
        "the center helps on you."
    )


def test_a_trap_is_no_kick_off_the_edge() -> None:
    trap = play("base: line", "pull and trap: back side guard", aim=Letter.B)
    told = text(line_without("R A").against(ONE_BACK, trap, Side.RIGHT), "R B")
    assert told.startswith("A man traps through your gap: inside half of him, ")
    assert "The left guard wants to move you out; beaten, " in told


def test_an_arc_goes_outside_the_edge() -> None:
    arc = play("base: line", "arc: fullback", aim=Letter.B)
    answer = six().against(TWO_BACKS, arc, Side.RIGHT)
    assert text(answer, "right end").startswith("The fullback goes outside you: hold right C inside the arc.")


def test_a_second_man_on_the_edge_fits_off_the_one_who_is_kicked() -> None:
    # End and backer both have right C; the end spills the kick, the backer boxes it.
    rules = TeamRules(by_position={"right end": (("edge", EdgeRule.SPILL),)})
    defense = six(rules).fill("Sam", "last man", "R", "R edge")
    answer = defense.against(TWO_BACKS, play("base: line", "kick: fullback"), Side.RIGHT)
    assert text(answer, "right end").startswith("Kicked by the fullback: spill it")
    assert text(answer, "Sam") == "The fullback kicks right end: fit off him, right C outside the kick."
    assert find_kicked(answer, answer.fit("Sam")) == "right end"
    assert find_kicked(answer, answer.fit("right tackle")) is None
    # A spilling backer stands nearer to the kick than a boxing end, so he is the one who is kicked.
    boxed = six(TeamRules(edge=EdgeRule.BOX, by_position={"Sam": (("edge", EdgeRule.SPILL),)})).fill(
        "Sam", "last man", "R", "R edge"
    )
    answer = boxed.against(TWO_BACKS, play("base: line", "kick: fullback"), Side.RIGHT)
    assert text(answer, "Sam").startswith("Kicked by the fullback: spill it")


def test_force_and_alley_by_where_the_open_lane_lies() -> None:
    boxed = line_without("R C").down("end", "5", "R", "R edge")
    boxed.support("force", RunJob.FORCE, "R", 7.0, 5.0, SAFETY)
    answer = boxed.against(ONE_BACK, GUARD_KICK, Side.RIGHT)
    assert text(answer, "force") == "You are force, and the edge has a man: come inside him, right C inside the kick."
    alley = line_without("R C").support("alley", RunJob.ALLEY, "R", 5.0, 4.0, SAFETY)
    told = text(alley.against(ONE_BACK, BASE, Side.RIGHT), "alley")
    assert told == "Alley, and nobody is force there: right C is yours, from the inside out."


def test_who_has_no_lane_is_told_which_one_the_call_gives_up() -> None:
    defense = line_without("L A").support("man", RunJob.FREE, "R", 1.0, 4.0, SAFETY)
    defense.conceded.append(call_gap("L A"))
    answer = defense.against(ONE_BACK, BASE, Side.RIGHT)
    assert text(answer, "man") == (
        "The call gives up left A, and every other lane you may fill has an owner: "
        "come late, inside-out or outside-in by your job."
    )
    lesson = lessons.because(answer, answer.fit("man"), Wording())
    assert lesson == "We give up left A, and each other gap you may fill has a man: come last."


def test_who_would_have_to_cross_a_teammate_is_told_so() -> None:
    # The free man, 0.2 yd out on our right, is nearest to right A and takes it. Left A is the alley man's of our left
    # alone, and he stands further right.
    defense = line_without("L A", "R A").support("alley", RunJob.ALLEY, "L", -0.5, 4.0, SAFETY)
    answer = defense.support("free", RunJob.FREE, "R", 0.2, 4.0, SAFETY).against(ONE_BACK, BASE, Side.RIGHT)
    assert text(answer, "alley") == "Left A is open, but you would cross free, and support never crosses: come late."
    lesson = lessons.because(answer, answer.fit("alley"), Wording())
    assert lesson == "No one has left A, but you would cross free to get there: come last."
    assert why(answer) == "nobody in time for left A: two men of support would have to cross, and they never do"
    # Out of his reach, the lane is not kept from him by anybody.
    far = line_without("L A", "R A").support("alley", RunJob.ALLEY, "L", -0.5, 16.0, SAFETY)
    answer = far.support("free", RunJob.FREE, "R", 0.2, 4.0, SAFETY).against(ONE_BACK, BASE, Side.RIGHT)
    assert text(answer, "alley").startswith("Every lane you may fill has an owner")


def test_of_two_tackles_on_a_side_one_is_the_outer_one() -> None:
    two = DEMO.formation("Over right")
    men = two.on_side(Side.RIGHT)
    assert [PLAIN.blocker(man) for man in men] == ["right guard", "right tackle", "right outer tackle", "right end"]
    assert PLAIN.blocker(two.center) == "center"


def test_a_chase_on_an_option_leaves_the_quarterback_to_his_owner() -> None:
    rules = TeamRules(options={"table": OptionRule(Phase.QUARTERBACK, Phase.DIVE, Phase.PITCH)})
    read = option("table", ReadMan.PLAY_EDGE, Phase.QUARTERBACK)
    told = text(six(rules).against(ONE_BACK, read, Side.RIGHT), "left end")
    assert told == "The play goes away: chase flat in left C, reverse first."


def test_the_puller_named_is_the_one_beside_his_gap() -> None:
    # Left guard and tackle pull: the end's neighbour was the tackle.
    both = play("base: line", "pull and kick: back side guard", "pull and wrap: back side tackle", aim=Letter.C)
    answer = six().against(ONE_BACK, both, Side.RIGHT)
    assert answer.fit("left nose").puller.player.word == "left guard"
    assert answer.fit("left end").puller.player.word == "left tackle"


def test_support_from_depth_is_not_told_of_the_line() -> None:
    # The tackle comes down into the lane of the alley man, but no block waits for him.
    down = play("base: line", "down: play side tackle")
    defense = line_without("R B").support("alley", RunJob.ALLEY, "R", 3.0, 5.0, SAFETY)
    answer = defense.against(ONE_BACK, down, Side.RIGHT)
    assert answer.fit("alley").threat is Threat.WASH
    assert text(answer, "alley") == "Alley: inside-out of force to right B."


def test_in_man_nobody_turns() -> None:
    defense = line_without("L A").rush("left", "guard", "L", "L A")
    assert rushed(Slide.MAN, "tailback", defense=defense)["R B"] == (
        "Outside half of the right guard, that is where your rush lane is."
    )
    found = rushed(Slide.MAN, "tailback", defense=six().rush("seventh", "guard", "L", "L B"))
    assert found["seventh"].endswith("half of the tailback, away from the side they call.")
    # A boot slides the other way than the quarterback comes out.
    assert rushed(Slide.BOOT)["right tackle"].startswith("The center turns left: ")
