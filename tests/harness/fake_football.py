"""A stand-in for quizgen, so that tests of the server need no football and run fast.

One team, two calls, three positions, four kinds of question from both sides and two formations. The right answers are
made up; tests only need to know them.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from quizgen.engine.against import CallAgainst, ShortSnaps
from quizgen.football.errors import ContentProblems, Problem, UnknownName
from quizgen.football.opponent import AcceptedLack, ChartedOpponent
from quizgen.football.sides import Side
from quizgen.reps.answer_changes import AnswerChanges, ManChange
from quizgen.reps.first_rep import FirstRep, first_rep
from quizgen.reps.held_against import HeldAgainst, HeldRun, Lack, ShortSnap
from quizgen.reps.meeting import MeetingLane, MeetingSnap, WhatIf
from quizgen.reps.mending_words import MendedRun, SaidMending
from quizgen.reps.rep import RepKeys
from quizgen.reps.whiteboard import Change, HeldCall, Hold
from quizgen.reps.wording import Wording
from server.playbook.rep_summary import FormationSummary, KeptSituation, PlaySummary, RepSummary, facts


@dataclass(frozen=True)
class Named:
    """A noun, under a key that equals its name."""

    name: str
    label: str = ""
    group: str = ""

    @property
    def key(self) -> str:
        return self.name


@dataclass(frozen=True)
class RosterEntry:
    number: int
    name: str
    positions: tuple[str, ...]


@dataclass(frozen=True)
class FakeTeam:
    name: str
    positions: tuple[Named, ...]
    pressures: tuple[Named, ...]
    roster: tuple[RosterEntry, ...]
    time_zone: str = "America/Chicago"
    season_end: str = "2026-12-15"
    formations: tuple[Named, ...] = ()
    snap_formations: tuple[FormationSummary, ...] = ()
    schemes: tuple[PlaySummary, ...] = ()
    protections: tuple[PlaySummary, ...] = ()
    opponents: tuple[ChartedOpponent, ...] = ()
    accepted: tuple[AcceptedLack, ...] = ()


@dataclass(frozen=True)
class Choice:
    id: str
    key: str
    label: str
    leaves: str = ""
    relation: str = ""
    phrase: str = ""


@dataclass(frozen=True)
class Part:
    prompt: str
    choices: tuple[Choice, ...]
    right: frozenset[str]


@dataclass(frozen=True)
class Rep:
    id: str
    kind: str
    stage: int
    position: str
    call: str
    to: str
    formation: str
    play: str | None
    play_to: str | None
    stem: str
    parts: tuple[Part, ...]
    because: str
    picture: str
    guise: str
    scene: str
    moved: str

    @property
    def keys(self) -> RepKeys:
        return RepKeys(self.position, self.call, self.formation, self.play, f"job-{self.id}")

    def after(self, answer: Sequence[str]) -> str:
        return f"{self.moved}, missed with {' '.join(answer)}"


POSITIONS = (Named("Mike", "M", "backers"), Named("Will", "W", "backers"), Named("Nose", "N", "line"))
CALLS = (Named("Hammer"), Named("Anvil"))
ROSTER = (
    RosterEntry(54, "Dale", ("Mike",)),
    RosterEntry(33, "Rory", ("Will", "Mike")),
    RosterEntry(71, "Gus", ("Nose",)),
)
PLAYS = (
    PlaySummary("zone", "zone", 2, "inside zone"),
    PlaySummary("lead", "lead", 2, "lead"),
    PlaySummary("power", "power", 3, "power"),
    PlaySummary("counter", "counter", 3, "counter"),
    PlaySummary("veer", "veer", 4, "veer"),
    PlaySummary("half slide", "half slide", 5, ""),
)
FORMATIONS = (
    FormationSummary("pro", "pro"),
    FormationSummary("trips-left", "trips left", "trips-right", "left"),
    FormationSummary("trips-right", "trips right", "trips-left", "right"),
)
KINDS = (("track", 1), ("moved-gap", 2), ("pull-read", 3), ("open-gap", 2))
SNAP_KINDS = ("moved-gap", "pull-read")
LANES = ("left A", "left B", "right B")
#: What a player who ignores the call gets, and how far the call decides a kind.
DRILL_RATES = {"track": {"": 0.4, "Mike": 0.5}}
DRILL_WORTH = {"pull-read": 2.0}
RIGHT = "b"
BECAUSE = "The rule of this made-up call sends you there"


def part(prompt: str) -> Part:
    choices = (
        Choice("a", "lane:left A", "left A", "Left B stays open.", "one gap in"),
        Choice("b", "lane:left B", "left B"),
        Choice("c", "lane:right B", "right B", "Left B stays open.", "mirror side"),
    )
    return Part(prompt, choices, frozenset({RIGHT}))


def make_reps() -> tuple[Rep, ...]:
    reps = []
    for call in CALLS:
        for position in POSITIONS:
            for kind, stage in KINDS:
                for side in ("left", "right"):
                    for formation in ("pro", "spread"):
                        key = "-".join((call.name, position.name, kind, side, formation)).lower()
                        parts = (part("Your gap?"), part("Your eyes?")) if kind == "open-gap" else (part("Your gap?"),)
                        reps.append(
                            Rep(
                                id=key,
                                kind=kind,
                                stage=stage,
                                position=position.name,
                                call=call.name,
                                to=side,
                                formation=formation,
                                play=None if stage == 1 else "zone",
                                play_to=None if stage == 1 else "right",
                                stem=f"{call.name} to the {side} from {formation}, {kind}: where do you go?",
                                parts=parts,
                                because=f"{BECAUSE} ({key}).",
                                picture=f"picture-{key}",
                                guise=f"guise-{call.name}-{position.name}-{kind}",
                                scene=f"before {key}",
                                moved=f"after {key}",
                            )
                        )
    return tuple(reps)


REPS = make_reps()


class FakeCatalogue:
    def said_by(self, say: Any, /) -> "FakeCatalogue":
        """The same reps in another language: made-up words stay as they are."""
        return self

    def reps(
        self,
        *,
        positions: Any = None,
        calls: Any = None,
        stages: Any = None,
        sides: Any = None,
        kinds: Any = None,
        schemes: Any = None,
    ) -> Iterator[Rep]:
        words = None if sides is None else {getattr(side, "value", side) for side in sides}
        for rep in REPS:
            wanted = (
                (positions, rep.position),
                (calls, rep.call),
                (stages, rep.stage),
                (words, rep.to),
                (kinds, rep.kind),
                (schemes, rep.play),
            )
            if all(allowed is None or value in allowed for allowed, value in wanted):
                yield rep

    def rep(self, rep_id: str, /) -> Rep:
        found = next((rep for rep in REPS if rep.id == rep_id), None)
        if found is None:
            raise UnknownName("rep", rep_id, ())
        return found


class FakeFootball:
    """Content is one file; the word `broken` in it is a problem."""

    version = "made up"

    def load_team(self, files: Mapping[str, str]) -> FakeTeam:
        problems = tuple(
            Problem(path, f"line {line}", "no broken line", text)
            for path, whole in files.items()
            for line, text in enumerate(whole.splitlines(), start=1)
            if "broken" in text
        )
        if problems:
            raise ContentProblems(problems)
        formations = {"snap_formations": FORMATIONS}
        plays = {"schemes": PLAYS[:-1], "protections": PLAYS[-1:]}
        return FakeTeam("Made-up High", POSITIONS, CALLS, ROSTER, **formations, **plays)

    def catalogue(self, team: FakeTeam) -> FakeCatalogue:
        return FakeCatalogue()

    def plays(self, team: FakeTeam) -> tuple[PlaySummary, ...]:
        return PLAYS

    def formations(self, team: FakeTeam) -> tuple[FormationSummary, ...]:
        return FORMATIONS

    def men(self, team: FakeTeam) -> dict[str, frozenset[str]]:
        return {call.key: frozenset(p.key for p in team.positions) for call in team.pressures}

    def families(self, catalogue: FakeCatalogue) -> dict[str, dict[str, str]]:
        return {}

    def job_now(self, catalogue: FakeCatalogue, kept: KeptSituation) -> str | None:
        return kept.job

    def drill(self, catalogue: FakeCatalogue) -> dict[str, Any]:
        return {"rates": DRILL_RATES, "reps": [(rep.id, DRILL_WORTH.get(rep.kind, 1.0)) for rep in REPS]}

    def drilled(self, catalogue: FakeCatalogue, reps: Sequence[Sequence[Any]]) -> list[RepSummary]:
        return [replace(facts(catalogue.rep(rep_id)), worth=worth) for rep_id, worth in reps]

    def named(self, files: Mapping[str, str]) -> dict[str, list[tuple[str, str]]]:
        return {}

    def answer_changes(self, before: FakeCatalogue, after: FakeCatalogue, most: int) -> AnswerChanges:
        change = ManChange("nose", "nose", 3, "Hammer left, zone left, pro", "left A", "right A")
        return AnswerChanges((change,), ("will",), 3, 3, frozenset())

    def first_rep(self, catalogue: FakeCatalogue, label: str, chosen: str) -> FirstRep:
        return replace(first_rep(Wording(), label, chosen), scene="a lane to tap", moved="the tapped lane")  # type: ignore[arg-type]

    def look(self, catalogue: FakeCatalogue, call: str, *asked: Any) -> Any:
        raise UnknownName("snap", call, ())

    def sound_table(self, catalogue: FakeCatalogue, call: str, to: Side) -> list[HeldCall]:
        return [HeldCall(call, to, "pro", "zone", to, Hold.SOUND, ())]

    def hold_against(self, team: FakeTeam, say: Any, call: str, to: Side | None, opponent: Any, accepted: Any) -> Any:
        short = ShortSnaps("zone", ("pro",), 13.0)
        lack = Lack(Hold.OPEN, ("left B",), (1, 0), ("pro",), 13.0, Side.LEFT, "pro", Side.RIGHT)
        rows = () if accepted else (HeldRun("zone", False, 40.0, 13.0, (lack,)),)
        held = dict.fromkeys(accepted, 13.0)
        total = CallAgainst(call, 87.0, 13.0 * bool(accepted), (short,))
        return HeldAgainst(total, 13.0, 0.0, rows, (HeldRun("power", True, 60.0, 0.0),), held, ())

    def mend(self, team: FakeTeam, call: str, to: Side | None, opponent: Any, *, watch: Any, tell: Any) -> None:
        for tried in ([1, 2], [3]):
            for one in watch(tried):
                tell(one)

    def say_mendings(self, team: FakeTeam, say: Any, found: Any) -> list[SaidMending]:
        zone, power = MendedRun("zone", False, 9.0), MendedRun("power", True, 2.0)
        return [SaidMending((f"Mike {one}",), (), (zone,), (power,), 9.0, 2.0, 87.0, 94.0) for one in found]

    def short_snaps(
        self, team: FakeTeam, call: str, to: Side | None, opponent: Any, accepted: Any, run: tuple[str, bool]
    ) -> list[ShortSnap]:
        if accepted or run != ("zone", False):
            return []
        return [ShortSnap(call, Side.LEFT, "pro", "zone", Side.RIGHT, "0123456789ab")]

    def meeting_snaps(
        self, catalogue: FakeCatalogue, call: str, sides: Collection[Side], most: int
    ) -> list[MeetingSnap]:
        return [self.meeting_snap(catalogue, f"{call}-{side.value}-{kind}") for side in sides for kind in SNAP_KINDS]

    def meeting_snap(self, catalogue: FakeCatalogue, digest: str) -> MeetingSnap:
        call, side, kind = digest.split("-", 2)
        asked = catalogue.reps(calls=[call], sides=[Side(side)], kinds=[kind])
        reps: Any = {rep.position: rep for rep in asked if rep.formation == "pro"}
        lanes = tuple(MeetingLane(f"lane:{name}", name, (p.key,)) for name, p in zip(LANES, POSITIONS, strict=True))
        question: Any = f"wall {digest}"
        what_ifs = (WhatIf("What if Nose is hooked?", question),)
        names = (digest, f"{call} {side}", "They zone.", Side(side), "pro", "zone", Side.RIGHT)
        return MeetingSnap(*names, question, reps, frozenset(reps), lanes, what_ifs)

    def filled(self, catalogue: FakeCatalogue, digest: str, missing: Collection[str]) -> str:
        return f"filled {digest}, missing {' '.join(sorted(missing))}"

    def crossings(self, team: FakeTeam) -> tuple[str, ...]:
        return ()

    def side_rule(self, team: FakeTeam, call: str, to: Side) -> tuple[str, int, int]:
        return "tight end", 1, 3

    def change(self, before: FakeCatalogue, after: FakeCatalogue, most: int) -> Change:
        return Change(1, 1, 1, 1, ())

    def draw_end(self, scene: str) -> str:
        return self.draw(scene)

    def draw(self, scene: str) -> str:
        return (
            f'<svg class="gs" viewBox="0 0 10 10" role="img"><title>{scene}</title><rect width="4" height="4"/></svg>'
        )

    def draw_card(self, scene: str) -> str:
        return self.draw(f"card of {scene}")

    def draw_tapped(self, scene: str, chosen: Sequence[str]) -> str:
        return self.draw(f"{scene}, tapped {' '.join(chosen)}")

    def draw_counts(self, scene: str, counts: Mapping, right: Collection) -> str:
        taps = ", ".join(f"{n}{choice} {counts[n, choice]}" for n, choice in sorted(counts))
        return self.draw(f"{scene}: {taps}")


FILES = {"team.toml": "name = 'Made-up High'\n"}
