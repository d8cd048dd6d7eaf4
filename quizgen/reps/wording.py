"""Every word a player reads, in his own team's vocabulary: gaps, lanes, men, sides, plays.

Must not know: which answer is right, where anything is drawn. A sentence is a template with named slots that goes
through ``say`` first, so that another language needs no other code. A template that does not stand in the call of
``say`` itself is marked by ``to_say``: what is neither is never found by those who translate.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from types import MappingProxyType

from quizgen.engine.alignment import Man
from quizgen.engine.lanes import Lane, Portion
from quizgen.engine.movement import BlockerMove
from quizgen.engine.reasons import USUAL_ORDER
from quizgen.football.calling import Adjusted
from quizgen.football.facts import Fact, FormationFact
from quizgen.football.formation import Formation, OffensivePlayer, Role
from quizgen.football.motion import MotionKind
from quizgen.football.rules import Words
from quizgen.football.scheme import SchemeFamily
from quizgen.football.sides import Gap, Side

Say = Callable[[str], str]


def to_say(template: str) -> str:
    """The template itself: a mark for the extraction of texts that go through ``say`` elsewhere."""
    return template


BAND_LABEL_MAX = 12

# The trade's terms a team may rename in its words file: what it calls each thing, as it stands in a sentence.
DEFAULT_TERMS: Mapping[str, str] = MappingProxyType(
    {
        "kick": to_say("kick"),
        "wrap": to_say("wrap"),
        "lead": to_say("lead"),
        "trap": to_say("trap"),
        "arc": to_say("arc"),
        "zone": to_say("zone"),
        "reach": to_say("zone wide"),
        "hook": to_say("hook"),
        "wash": to_say("wash"),
        "hip": to_say("get on his hip"),
        "stay": to_say("stay"),
        "over the top": to_say("go over the top"),
        "box": to_say("box"),
        "spill": to_say("spill"),
        "force": to_say("force"),
        "alley": to_say("alley"),
        "fold": to_say("fold"),
        "free": to_say("free"),
        "cutback": to_say("cutback"),
        "dive": to_say("dive"),
        "quarterback": to_say("quarterback"),
        "pitch": to_say("pitch"),
        "man in motion": to_say("man in motion"),
        "run": to_say("run"),
        "throw": to_say("throw"),
    }
)

# What the offense does, as a player sees it, by family of plays.
PLAY_SENTENCES: Mapping[SchemeFamily, str] = MappingProxyType(
    {
        SchemeFamily.INSIDE_ZONE: to_say("They {zone} to your {side}."),
        SchemeFamily.SPLIT_ZONE: to_say("They {zone} to your {side} and one man comes back across."),
        SchemeFamily.OUTSIDE_ZONE: to_say("They {reach} to your {side}."),
        SchemeFamily.BASE: to_say("They block straight ahead and run to your {side}."),
        SchemeFamily.DUO: to_say("They double inside and run to your {side}."),
        SchemeFamily.LEAD: to_say("A back leads through to your {side}."),
        SchemeFamily.POWER: to_say("They run power to your {side}."),
        SchemeFamily.GUARD_KICK: to_say("A guard pulls to your {side} to kick out."),
        SchemeFamily.COUNTER: to_say("They run counter to your {side}."),
        SchemeFamily.TRAP: to_say("They trap to your {side}."),
        SchemeFamily.DART: to_say("They run dart to your {side}."),
        SchemeFamily.DOWN: to_say("They block down and run to your {side}."),
        SchemeFamily.SWEEP: to_say("They sweep to your {side}."),
        SchemeFamily.PIN_AND_PULL: to_say("They pin and pull to your {side}."),
        SchemeFamily.TOSS: to_say("They toss to your {side}."),
        SchemeFamily.MIDLINE: to_say("They run midline to your {side}."),
        SchemeFamily.VEER: to_say("They run veer to your {side}."),
        SchemeFamily.ZONE_READ: to_say("They run zone read to your {side}."),
        SchemeFamily.SPEED_OPTION: to_say("They run speed option to your {side}."),
        SchemeFamily.QUARTERBACK_RUN: to_say("The quarterback runs to your {side}."),
        SchemeFamily.DRAW: to_say("They show pass, then draw to your {side}."),
        SchemeFamily.JET_SWEEP: to_say("He gets the ball."),
    }
)
# What happens before the snap, by kind of motion: said before the play, short, since a stem has room for 140 letters.
MOTION_SENTENCES: Mapping[MotionKind, str] = MappingProxyType(
    {
        MotionKind.JET: to_say("Jet motion {side}."),
        MotionKind.ORBIT: to_say("Orbit motion {side}."),
        MotionKind.RETURN: to_say("Return motion {side}."),
        MotionKind.SHORT: to_say("Short motion {side}."),
        MotionKind.TRADE: to_say("End trade {side}."),
    }
)

PORTION_TAILS: Mapping[Portion, str] = MappingProxyType(
    {
        Portion.WHOLE: "",
        Portion.INSIDE: to_say(" in"),
        Portion.BETWEEN: to_say(" mid"),
        Portion.OUTSIDE: to_say(" out"),
    }
)
PORTION_WORDS: Mapping[Portion, str] = MappingProxyType(
    {
        Portion.INSIDE: to_say("{gap} inside {words}"),
        Portion.BETWEEN: to_say("{gap} between {words}"),
        Portion.OUTSIDE: to_say("{gap} outside {words}"),
    }
)
SIDE_WORDS: Mapping[Side, str] = MappingProxyType({Side.LEFT: to_say("left"), Side.RIGHT: to_say("right")})
# A side before a gap or a man: elsewhere than in English its form depends on the word it stands by.
SIDED_GAPS: Mapping[Side, str] = MappingProxyType({Side.LEFT: to_say("left {gap}"), Side.RIGHT: to_say("right {gap}")})
SIDED_MEN: Mapping[Side, str] = MappingProxyType({Side.LEFT: to_say("left {man}"), Side.RIGHT: to_say("right {man}")})
ROLE_WORDS: Mapping[Role, str] = MappingProxyType(
    {
        Role.CENTER: to_say("center"),
        Role.GUARD: to_say("guard"),
        Role.TACKLE: to_say("tackle"),
        Role.END: to_say("end"),
        Role.WING: to_say("wing"),
        Role.QUARTERBACK: to_say("quarterback"),
        Role.FULLBACK: to_say("fullback"),
        Role.TAILBACK: to_say("tailback"),
        Role.SLOTBACK: to_say("slotback"),
        Role.RECEIVER: to_say("receiver"),
        Role.IN_MOTION: to_say("man in motion"),
    }
)
ORDER_WORDS = (
    to_say("first"),
    to_say("second"),
    to_say("third"),
    to_say("fourth"),
    to_say("fifth"),
    to_say("sixth"),
)


# Each fact of a formation; those of a side are said with the player's own left or right.
FACT_WORDS: Mapping[Fact, str] = MappingProxyType(
    {
        Fact.TRIPS: to_say("trips"),
        Fact.QUADS: to_say("four receivers"),
        Fact.BUNCH: to_say("a bunch"),
        Fact.TWINS: to_say("twins"),
        Fact.TIGHT_END: to_say("a tight end"),
        Fact.NUB: to_say("a nub"),
        Fact.OPEN: to_say("no tight end"),
        Fact.WING: to_say("a wing"),
        Fact.UNBALANCED: to_say("an unbalanced line"),
        Fact.BACK: to_say("the back"),
        Fact.STRENGTH: to_say("the strength"),
        Fact.PASSING_STRENGTH: to_say("the passing strength"),
        Fact.EMPTY: to_say("an empty backfield"),
        Fact.ONE_BACK: to_say("one back"),
        Fact.TWO_BACKS: to_say("two backs"),
        Fact.THREE_BACKS: to_say("three backs"),
        Fact.NO_TIGHT_END: to_say("no tight end"),
        Fact.TWO_TIGHT_ENDS: to_say("two tight ends"),
        Fact.BALANCED: to_say("no strength"),
        Fact.GUN: to_say("the gun"),
        Fact.UNDER_CENTER: to_say("a quarterback under center"),
    }
)


def is_sided(player: OffensivePlayer) -> bool:
    """Whether a man with a side is named by it: a receiver split wide and a man who crosses the formation are not."""
    return player.attached or player.role not in (Role.RECEIVER, Role.IN_MOTION)


def as_is(text: str) -> str:
    """The sentence itself: English."""
    return text


def first_up(text: str) -> str:
    """The text with its first letter upper case."""
    return text[:1].upper() + text[1:]


class Wording:
    """One team's way of saying things. ``say`` turns a template into another language's."""

    def __init__(self, words: Words | None = None, say: Say = as_is) -> None:
        self.words = words if words is not None else Words()
        self._say = say

    @property
    def say_template(self) -> Say:
        """What turns a template into another language's."""
        return self._say

    def say(self, template: str, **slots: object) -> str:
        """A template with its slots filled and its first letter upper case."""
        return first_up(self._say(template).format(**slots))

    def phrase(self, template: str, **slots: object) -> str:
        """A template with its slots filled, as part of a sentence."""
        return self._say(template).format(**slots)

    def term(self, key: str) -> str:
        """The team's word for one of the trade's terms; the plain one where it has none of its own."""
        return self.words.terms.get(key) or self._say(DEFAULT_TERMS.get(key, key))

    def side(self, side: Side) -> str:
        """Left or right, the defense's own."""
        return self._say(SIDE_WORDS[side])

    def length(self, text: str) -> int:
        """The letters of a text, left and right taken to be equally long: what is said of a snap does not depend on its
        side."""
        words = [self.side(side) for side in Side]
        longest = max(map(len, words))
        return len(text) + sum(len(re.findall(rf"\b{word}\b", text, re.I)) * (longest - len(word)) for word in words)

    def letter(self, gap: Gap) -> str:
        """What the team calls a gap's letter."""
        return self.words.gaps.get(gap.letter.value, gap.letter.value)

    def adjusted(self, adjusted: Adjusted) -> str:
        """What a formation makes of a call: "Against trips on your right, Hammer left checks to Anvil left"."""
        against = self.all_of(self.fact(fact, adjusted.to) for fact in adjusted.against)
        call = self.call(adjusted.call, adjusted.to)
        if not adjusted.check:
            return self.say("Against {look}, {call} changes", look=against, call=call)
        other = self.call(adjusted.check, adjusted.check_to or adjusted.to)
        return self.say("Against {look}, {call} checks to {other}", look=against, call=call, other=other)

    def fact(self, fact: FormationFact, to: Side) -> str:
        """A fact of their formation, for a call to ``to``: "trips on your right"."""
        words = self._say(FACT_WORDS[fact.fact])
        if fact.toward is None:
            return words
        return self.phrase("{fact} on your {side}", fact=words, side=self.side(fact.toward.side(to)))

    def gap(self, gap: Gap) -> str:
        """A gap before the snap: "left B"."""
        return self.phrase(SIDED_GAPS[gap.side], gap=self.letter(gap))

    def gaps(self, gaps: Iterable[Gap]) -> str:
        """Gaps from left to right: "left A and right A"."""
        ordered = sorted(gaps, key=lambda gap: gap.side.sign * (gap.letter.index + 1))
        return self.all_of(self.gap(gap) for gap in ordered)

    def all_of(self, parts: Iterable[str]) -> str:
        """A list in words: "a", "a and b", "a, b and c"."""
        return self._join(tuple(parts), self._say("{some} and {last}"))

    def any_of(self, parts: Iterable[str]) -> str:
        """A choice in words: "a", "a or b", "a, b or c"."""
        return self._join(tuple(parts), self._say("{some} or {last}"))

    @staticmethod
    def _join(parts: tuple[str, ...], template: str) -> str:
        if len(parts) < 2:
            return "".join(parts)
        return template.format(some=", ".join(parts[:-1]), last=parts[-1])

    def merged(self, gaps: tuple[Gap, ...]) -> str:
        """Gaps that have become one: "left A/B", "left A/right A"."""
        ordered = sorted(gaps, key=lambda gap: gap.side.sign * (gap.letter.index + 1))
        if len({gap.side for gap in gaps}) > 1:
            return "/".join(self.gap(gap) for gap in ordered)
        letters = "/".join(self.letter(gap) for gap in sorted(gaps, key=lambda gap: gap.letter.index))
        return self.phrase(SIDED_GAPS[gaps[0].side], gap=letters)

    def lane(self, lane: Lane) -> str:
        """A lane after the snap: "right C inside the kick"."""
        return self._portion(lane, self.merged(lane.gaps))

    def sideless(self, lane: Lane) -> str:
        """A lane on one side of the center, where the side has been named: "C inside the kick"."""
        return self._portion(
            lane, "/".join(self.letter(gap) for gap in sorted(lane.gaps, key=lambda g: g.letter.index))
        )

    def _portion(self, lane: Lane, name: str) -> str:
        if lane.portion is Portion.WHOLE:
            return name
        words = self.all_of(self.phrase("the {word}", word=self._arrival(word)) for word in lane.words)
        if lane.side is None and lane.portion is not Portion.BETWEEN:
            side = Side.LEFT if lane.portion is Portion.INSIDE else Side.RIGHT
            return self.phrase("{gap} {side} of {words}", gap=name, side=self.side(side), words=words)
        return self.phrase(PORTION_WORDS[lane.portion], gap=name, words=words)

    def _arrival(self, word: str) -> str:
        """A lane's word for the man who arrived: "kick", or "left guard's lead" where two do the same."""
        head, mark, tail = word.rpartition("'s ")
        return self.phrase("{man}'s {word}", man=self._man(head), word=self.term(tail)) if mark else self.term(word)

    def _man(self, plain: str) -> str:
        """A man whom the engine names by side and role: "left guard"."""
        for side in Side:
            if plain.startswith(f"{side.value} "):
                return self.phrase(SIDED_MEN[side], man=self._say(plain.removeprefix(f"{side.value} ")))
        return self._say(plain)

    def lane_between(self, lane: Lane) -> str:
        """A lane by the team's word and by the blockers beside it: "right C, outside the right tackle"."""
        return self.phrase("{lane}, {between}", lane=self.lane(lane), between=self.between(lane))

    def lanes(self, lanes: Iterable[Lane]) -> str:
        """Lanes in a row: "left A and right A"."""
        return self.all_of(self.lane(lane) for lane in lanes)

    def band(self, lane: Lane) -> str:
        """A lane's short name for the picture: letters, and which portion of a split gap."""
        tail = PORTION_TAILS[lane.portion]
        tail = self._say(tail) if tail else ""
        gaps = lane.gaps if lane.side is None else tuple(sorted(lane.gaps, key=lambda gap: gap.letter.index))
        for letters in ([self.letter(gap) for gap in gaps], [gap.letter.value for gap in gaps]):
            label = "/".join(letters) + tail
            if len(label) <= BAND_LABEL_MAX:
                return label
        return lane.gaps[0].letter.value + tail

    def between(self, lane: Lane) -> str:
        """Where a lane is by the blockers beside it, without its name, as part of a sentence: "between the left guard
        and the center"."""
        left, right = (self._beside(m) if m else None for m in (lane.left, lane.right))
        if left and right:
            return self.phrase("between the {left} and the {right}", left=left, right=right)
        return self.phrase("outside the {last}", last=left or right)

    def _beside(self, m: BlockerMove) -> str:
        """A man who bounds a lane; one who pulled there is called so, since he stands on a side that isn't his."""
        man = self.blocker(m.player)
        return self.phrase("pulling {man}", man=man) if m.rule.pulls and m.word else man

    def blocker(self, player: OffensivePlayer) -> str:
        """An offensive man: "left guard", "center"; a second tackle or guard on a side is the outer one."""
        role = self._say(ROLE_WORDS[player.role])
        if player.attached and player.order > USUAL_ORDER.get(player.role, player.order):
            role = self.phrase("outer {role}", role=role)
        if player.side and player.role is not Role.CENTER and is_sided(player):
            return self.phrase(SIDED_MEN[player.side], man=role)
        return role

    def blockers(self, moves: Iterable[BlockerMove]) -> str:
        """Blockers in a row: "the left guard and the center"."""
        return self.all_of(self.phrase("the {man}", man=self.blocker(m.player)) for m in moves)

    def checked(self, adjusted: Adjusted) -> str:
        """The same as ``adjusted`` in a few words, before a reason: "Now Anvil left: "."""
        if adjusted.check:
            other = self.call(adjusted.check, adjusted.check_to or adjusted.to)
            return self.say("Now {other}: ", other=other)
        return self.say("Changed here: ")

    def call(self, name: str, to: Side) -> str:
        """A call with its side, as it is called: "Hammer right"."""
        return self.phrase("{call} {side}", call=name, side=self.side(to))

    def play(self, family: SchemeFamily, to: Side) -> str:
        """What the offense does, as one sentence."""
        return self.say(PLAY_SENTENCES[family], side=self.side(to), zone=self.term("zone"), reach=self.term("reach"))

    def motion(self, formation: Formation) -> str:
        """What happens before the snap, as a sentence and a blank; empty where nobody moves."""
        if formation.moved is None:
            return ""
        motion = formation.moved.motion
        return self.say(MOTION_SENTENCES[motion.kind], side=self.side(motion.to)) + " "

    def job(self, man: Man) -> str:
        """What a man has by the call, said to him: "You rush left B."."""
        if not man.gaps:
            return ""
        gaps = self.gaps(man.gaps)
        if man.rush is None:
            return self.say("you have {gaps}.", gaps=gaps)
        if man.order > 1:
            return self.say("you rush {gaps}, {order}.", gaps=gaps, order=self.order(man.order))
        return self.say("you rush {gaps}.", gaps=gaps)

    def his_job(self, man: Man) -> str:
        """What another man has by the call: "Will rushes left A"."""
        if man.rush is not None:
            return self.phrase("{man} rushes {gaps}", man=man.position, gaps=self.gaps(man.gaps))
        return self.phrase("{man} has {gaps}", man=man.position, gaps=self.gaps(man.gaps))

    def order(self, order: int) -> str:
        """First, second and so on."""
        return self._say(ORDER_WORDS[order - 1])

    def place(self, man: Man, surface: tuple[OffensivePlayer, ...]) -> str:
        """Where a man lines up, by the nearest blocker: "across from the left guard, 4.5 yards off the line"."""
        x, depth_yd = man.stands
        near = min(surface, key=lambda p: (abs(p.x - x), abs(p.x)))
        off = x - near.x
        if abs(off) <= 0.2:
            where = self.phrase("across from the {man}", man=self.blocker(near))
        else:
            side = self.side(Side.RIGHT if off > 0 else Side.LEFT)
            where = self.phrase("to the {side} of the {man}", side=side, man=self.blocker(near))
        yards = f"{depth_yd:g}"
        one, many = to_say("{where}, {yards} yard off the line"), to_say("{where}, {yards} yards off the line")
        template = one if yards == "1" else many
        return self.phrase(template, where=where, yards=yards)


class _Silent(Wording):
    """Says nothing: for what is right alone, without what it costs to put it into words."""


for _name in [name for name in vars(Wording) if not name.startswith("_")]:
    setattr(_Silent, _name, lambda *_, **__: "")
SILENT: Wording = _Silent()
