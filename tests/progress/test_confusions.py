"""Confusions on coaches' pages: the sentence with its counts, the taps on the picture, and who may see which."""

import json
from datetime import timedelta

import pytest
from sqlmodel import col

from quizgen.reps.choices import RELATIONS
from server.accounts.credentials import make_id
from server.database.tables import AccountRole, Answer, Assignment, KeptRep, Member
from server.i18n.languages import LANGUAGES, language
from server.playbook.stored_reps import snapshot
from server.progress.confusions import NO_DIRECTION
from server.web.responses import pages_in
from tests.harness.fake_football import FakeCatalogue, FakeFootball
from tests.harness.house import PAGE, House

REP = "hammer-mike-moved-gap-left-pro"
OTHER = "hammer-mike-moved-gap-left-spread"


def plant(house: House, number: int, answers: list[tuple[str, str]], relation_of_a: str = "one gap in") -> None:
    """Store a player's answers, given as rep and choice, a minute apart, oldest first."""
    member, at = house.member(number), house.clock()
    labels = {"a": "left A", "b": "left B", "c": "right B"}
    with house.store.write(house.team.id) as t:
        coach = t.first(Member, col(Member.role) == AccountRole.OWNER.value)
        for rep_id in sorted({rep for rep, _ in answers}):
            t.add_once(snapshot(FakeFootball(), house.team.id, FakeCatalogue().rep(rep_id), at))
        for n, (rep_id, choice) in enumerate(answers):
            rep = FakeCatalogue().rep(rep_id)
            one = Assignment(
                team_id=house.team.id, id=make_id(), call=rep.call, positions=["Mike"], stages=[2], sides=["left"],
                length=1, due_at=at, created_at=at, created_by=coach.id,
            )  # fmt: skip
            t.add(one)
            relation = {"a": relation_of_a, "c": "mirror side"}.get(choice, "")
            row = Answer(
                team_id=house.team.id, member_id=member.id, id=make_id() + make_id(), assignment_id=one.id, place=1,
                rep_id=rep_id, attempt=1, chosen=[choice], is_right=choice == "b", is_late=False,
                received_at=at - timedelta(minutes=len(answers) - n), call=rep.call, stage=rep.stage, side=rep.to,
                position=rep.position, kind=rep.kind, choices=3,
                chosen_key=f"lane:{labels[choice]}", right_key="lane:left B",
                chosen_words=labels[choice], right_words="left B",
                relation=relation, explanation="",
            )  # fmt: skip
            t.add(row)


def plant_mixer(house: House) -> None:
    """54 takes left A five times of six, on two pictures of one question; 33 once of three."""
    plant(house, 54, [(REP, "a"), (REP, "a"), (REP, "a"), (OTHER, "a"), (OTHER, "a"), (REP, "b")])
    plant(house, 33, [(REP, "a"), (REP, "b"), (REP, "b")])


def test_a_call_says_what_its_position_mixes_up_with_counts_and_taps(house: House) -> None:
    plant_mixer(house)
    page = house.coach().get("/coach/call?name=Hammer", headers=PAGE).text
    assert "What they mix up" in page
    assert (
        "Mike: 2 of 2 asked took <strong>left A</strong> where right is <strong>left B</strong>, in 6 of 6 misses"
        in page
    )
    assert "9 answers looked at" in page
    assert "picture-" not in page
    assert f"before {REP}: 1a 6" in page


def test_a_gap_that_was_renamed_is_still_the_same_answer(house: House) -> None:
    plant_mixer(house)
    with house.store.write(house.team.id) as t:
        renamed = t.get(KeptRep, OTHER)
        text = json.dumps(renamed.parts).replace("left A", "left Ash")
        renamed.parts = json.loads(text.replace("lane:left Ash", "lane:left A"))
        t.add(renamed)
        for answer in t.rows(Answer, col(Answer.rep_id) == OTHER, col(Answer.is_right).is_(False)):
            answer.chosen_words = "left Ash"
            t.add(answer)
    page = house.coach().get("/coach/call?name=Hammer", headers=PAGE).text
    assert "took <strong>left A</strong> where right is <strong>left B</strong>, in 6 of 6 misses" in page
    assert f"before {REP}: 1a 6" in page


def test_a_player_is_shown_his_own_only(house: House) -> None:
    plant_mixer(house)
    coach = house.coach()
    page = coach.get(f"/coach/players/{house.member(54).id}?call=Hammer", headers=PAGE).text
    assert "He takes <strong>left A</strong> where right is <strong>left B</strong>, in 5 of 5 misses" in page
    assert "6 answers looked at" in page
    assert f"before {REP}: 1a 5" in page
    gus = coach.get(f"/coach/players/{house.member(71).id}", headers=PAGE).text
    assert "What he mixes up" not in gus
    anvil = coach.get(f"/coach/players/{house.member(54).id}?call=Anvil", headers=PAGE).text
    assert "He takes" not in anvil


def test_a_coach_of_another_group_sees_none_of_it(house: House) -> None:
    plant_mixer(house)
    page = house.coach(AccountRole.POSITION_COACH).get("/coach/call?name=Hammer", headers=PAGE).text
    assert "What they mix up" not in page
    assert "asked took" not in page


def test_a_player_of_two_groups_does_not_show_his_coach_the_other_group(house: House) -> None:
    plant_mixer(house)
    with house.store.write(house.team.id) as t:
        gus = t.get(Member, house.member(71).id)
        gus.positions = [*gus.positions, "Mike"]
        t.add(gus)
    assert "What they mix up" in house.coach().get("/coach/call?name=Hammer", headers=PAGE).text
    assert "asked took" not in house.coach(AccountRole.POSITION_COACH).get("/coach/call?name=Hammer", headers=PAGE).text


def test_two_misses_are_no_confusion(house: House) -> None:
    plant(house, 54, [(REP, "a"), (REP, "a"), (REP, "b")])
    assert "What they mix up" not in house.coach().get("/coach/call?name=Hammer", headers=PAGE).text


@pytest.mark.parametrize(
    ("relation", "english", "spanish"),
    [
        ("his gap on another call", "in the gap he has on another call", "en el gap que tiene en otro call"),
        ("one gap in", "one gap in", "un gap más adentro"),
    ],
)
def test_relations_are_said_in_words(house: House, relation: str, english: str, spanish: str) -> None:
    plant(house, 54, [(REP, "a"), (REP, "a"), (OTHER, "a"), (OTHER, "a")], relation)
    address, coach = f"/coach/players/{house.member(54).id}", house.coach()
    assert f"lie <strong>{english}</strong>" in " ".join(coach.get(address, headers=PAGE).text.split())
    page = coach.get(address, headers={**PAGE, "Cookie": "lang=es"}).text
    assert spanish in page or spanish in coach.get(address, headers={**PAGE, "Accept-Language": "es"}).text


@pytest.mark.parametrize("code", LANGUAGES)
def test_every_relation_that_says_something_has_words(code: str) -> None:
    template = "{% from '_words.html' import RELATION_WORDS %}{{ RELATION_WORDS | tojson }}"
    words = json.loads(pages_in(language(code)).from_string(template).render())
    assert set(words) == set(RELATIONS) - set(NO_DIRECTION)
    assert all(words.values())
