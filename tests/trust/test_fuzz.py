"""A parser gives a value or a documented refusal, whatever it is given. Long form: python -m tests.bench.trust_fuzz"""

import random

import pytest

from server.problems import BadInput
from tests.trust.fuzzed import targets
from tests.trust.fuzzing import Target, fuzz, spoiled

#: Inputs for each target here; a hundred thousand in the long form.
INPUTS = {"content": 25, "filters": 25, "commands": 5, "backup rows": 10, "backup files": 60}


@pytest.mark.filterwarnings("ignore:Column .* is marked as a member of the primary key")
@pytest.mark.parametrize("target", targets(), ids=lambda target: target.name)
def test_a_value_or_a_documented_refusal(target: Target) -> None:
    came = fuzz(target, INPUTS.get(target.name, 200), seed=1)
    assert list(came.wrong.values()) == []
    assert came.inputs == came.taken + came.refused


def parse_badly(text: str) -> None:
    """A parser with a hole: it knows digits only by looking at the first sign."""
    if not text[:1].isdigit():
        raise BadInput("expected a number")
    int(text)


def refuse_wordlessly(text: str) -> None:
    raise BadInput("")


@pytest.mark.parametrize("parse", [parse_badly, refuse_wordlessly])
def test_a_parser_with_a_hole_is_found(parse) -> None:
    target = Target("bad", 1, lambda chance: spoiled(chance, "54", ["54", "7"]), parse)
    assert fuzz(target, 300, seed=1).wrong


def test_the_same_seed_spoils_alike() -> None:
    once, again = (spoiled(random.Random(3), "a sample", ["another"]) for _ in range(2))
    assert once == again
