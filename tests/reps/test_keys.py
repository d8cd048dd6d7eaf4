"""Keys of choices: the same thing has the same key, whatever the team calls it and whoever asks."""

from __future__ import annotations

from dataclasses import replace

from quizgen.football.rules import Words
from quizgen.football.team import TeamBook
from quizgen.reps.catalogue import Catalogue
from quizgen.reps.rep import Rep
from server.i18n.languages import language

OWN_WORDS = Words(
    gaps={"A": "Ash", "B": "Birch", "C": "Cedar", "D": "Dogwood"},
    terms={"dive": "fullback", "kick": "log", "quarterback": "keeper"},
)

Keys = dict[tuple[object, ...], list[list[tuple[str, bool]]]]


def keys_of(team: TeamBook) -> Keys:
    """The keys of every rep's choices and which of them are right, by what the rep asks of whom."""

    def what(rep: Rep) -> tuple[object, ...]:
        return (rep.kind, rep.position, rep.call, rep.to, rep.formation, rep.play, rep.play_to)

    return {
        what(rep): [[(choice.key, choice.id in part.right) for choice in part.choices] for part in rep.parts]
        for rep in Catalogue(team).reps(calls=["Hammer"], formations=["Even"])
    }


def test_keys_do_not_change_with_a_teams_words(small: TeamBook) -> None:
    plain, own = keys_of(small), keys_of(replace(small, words=OWN_WORDS))
    assert len(plain) > 200
    assert plain == own


def test_a_key_says_what_kind_of_thing_it_is(small: TeamBook) -> None:
    found = {
        (what[0], key.split(":")[0]) for what, parts in keys_of(small).items() for part in parts for key, _ in part
    }
    assert found == {
        *((kind, "lane") for kind in ("track", "moved-gap", "hooked", "pull-read", "edge", "open-gap", "support")),
        *((kind, "man") for kind in ("order", "behind-you", "matchup", "support")),
        *((kind, "blocker") for kind in ("hooked", "matchup")),
        ("count", "count"),
        ("option-man", "phase"),
        ("half-man", "half"),
        ("after-release", "release"),
        ("support", "when"),
    }


def test_a_lane_has_one_key_whether_its_gap_or_its_blockers_are_shown(small: TeamBook) -> None:
    labels: dict[str, set[str]] = {}
    for rep in Catalogue(small).reps(kinds=["track", "moved-gap"], calls=["Hammer"], formations=["Even"]):
        for choice in rep.parts[0].choices:
            labels.setdefault(choice.key, set()).add(choice.label)
    assert {"right B", "Between the right guard and the right tackle"} <= {
        w.replace("Right B", "right B") for w in labels["lane:right B"]
    }


def test_a_lane_within_a_sentence_begins_in_small_letters_unless_the_team_named_it(small: TeamBook) -> None:
    own = replace(small, words=OWN_WORDS)
    asked = {"kinds": ["track", "moved-gap"], "calls": ["Hammer"], "formations": ["Even"]}
    phrases = {choice.phrase for rep in Catalogue(own).reps(**asked) for choice in rep.parts[0].choices}
    assert {"left Ash", "right Birch", "between the left guard and the center"} <= phrases
    spoken = Catalogue(own, language("es").translate_template)
    phrases = {choice.phrase for rep in spoken.reps(**asked) for choice in rep.parts[0].choices}
    assert {"Ash izquierdo", "Birch derecho"} <= phrases
    assert any(phrase.startswith("entre el ") for phrase in phrases)
