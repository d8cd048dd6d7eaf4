"""The few questions on which staffs differ; each answer is drawn on a snap of the team's own on which it matters."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING

from server.playbook.engine import CallSide, FootballError
from server.playbook.workbench import FieldAsked

if TYPE_CHECKING:
    from quizgen.football.team import TeamBook
    from quizgen.reps.call_field import CallField
    from quizgen.reps.wording import Say

#: The rules asked when a team begins, and how each may be answered; the file's words are explained beside them.
ASKED: Mapping[str, tuple[str, ...]] = {
    "edge": ("box", "spill"),
    "pull_first": ("hip", "stay"),
    "pull_second": ("over the top", "stay"),
}
NUMBERINGS = ("0 1 2 3 4 5 7 6 9 8", "three a man")
#: Runs on which these rules show: a kick-out, and pulls.
RUNS = ("Guard kick", "Power", "Counter", "Trap")


@dataclass(frozen=True, slots=True)
class AskedRule:
    """A question: the rule, its answers with what each man of the snap is told and its picture, and the team's answer
    now. ``man`` is the position in whom the answers differ, ``when`` the snap."""

    rule: str
    now: str
    man: str
    when: str
    answers: tuple[tuple[str, str, str], ...]


def asked_rules(files: Mapping[str, str], say: Say) -> list[AskedRule]:
    """The questions, each with a snap of these files on which its answers differ; one that makes no difference to any
    call here is left out."""
    from quizgen.content import load_team
    from quizgen.content.documents import parse_files, write_files
    from quizgen.content.edits import set_rule

    parsed = parse_files(files)
    try:
        load_team(files)
    except FootballError:  # a draft may be incomplete: nothing can be drawn then
        return []
    found = []
    for rule, answers in ASKED.items():
        edited = [set_rule(parsed, rule, answer).apply(parsed) for answer in answers]
        teams = [load_team(write_files(one, files, parsed)) for one in edited]
        shown = next(_differing(teams, answers), None)
        if shown is None:
            continue
        asked, man = shown
        fields = [_field(team, asked, man, say) for team in teams]
        told = [next(one for one in field.men if one.key == man) for field in fields]
        now = str(parsed.get("rules.toml", {}).get("rules", {}).get(rule, answers[0]))
        drawn = [field.drawn({}, "") for field in fields]
        pairs = tuple(zip(answers, [one.told for one in told], drawn, strict=True))
        found.append(AskedRule(rule, now, told[0].name, f"{fields[0].heading}: {asked.run}", pairs))
    return found


def _differing(teams: Sequence[TeamBook], answers: Sequence[str]) -> Iterator[tuple[FieldAsked, str]]:
    """Snaps on which a man is told something else under each of two rules, and who; the first whom his own sentence
    names the rule to."""
    team, others = teams[0], []
    runs = [name for name in RUNS if any(one.name == name for one in team.schemes)]
    for call, run, to, run_to in product(team.pressures, runs, CallSide, CallSide):
        for formation in team.formations[:4]:
            asked = FieldAsked(call.name, to, formation.name, "", run, run_to)
            try:
                fields = [_field(one, asked, "", str) for one in teams]
            except FootballError:
                continue
            told = [{man.key: man.told for man in field.men if man.lane} for field in fields]
            other = sorted(key for key in told[0].keys() & told[1].keys() if told[0][key] != told[1][key])
            named = [key for key in other if all(word in one[key] for word, one in zip(answers, told, strict=True))]
            if named:
                yield asked, named[0]
            elif other:
                others.append((asked, other[0]))
    yield from others


def _field(team: TeamBook, asked: FieldAsked, man: str, say: Say) -> CallField:
    from quizgen.reps.call_field import call_field

    return call_field(team, asked.call, asked.to, asked.formation, man, run=asked.run, run_to=asked.run_to, say=say)
