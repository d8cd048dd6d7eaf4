"""Who of the rushers is blocked by whom, and who comes free (section 6 of the page, pass).

The page gives each protector "a gap or a man" and lets the free rushers follow from the count. How the protections sort
themselves is taken from published facts (outside rows F70 to F76); a pocket that moves has none, so there is no answer.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import permutations

from quizgen.football.formation import OffensivePlayer
from quizgen.football.scheme import Slide
from quizgen.football.sides import Side
from quizgen.football.team import PassSituation
from tests.page_solver.movement import matches
from tests.page_solver.placing import Man, NoAnswer, place_defense

COVERED_YD = 0.9
ON_THE_LINE_YD = 2.0


@dataclass(frozen=True)
class PassAnswer:
    """Blocker and rusher in pairs, and the rushers whom nobody blocks, from left to right."""

    blocked: dict[str, str]
    free: tuple[str, ...]


def solve_pass(situation: PassSituation) -> PassAnswer:
    """Sorts the protectors and counts who comes free.

    Raises:
        NoAnswer: a sprint-out or a boot, or a formation without a man who should stay in.
    """
    for who in situation.protection.stay_in:
        if not any(matches(who, man, situation.turn_to) for man in situation.formation.players):
            raise NoAnswer(f"the formation has no {who.word} to stay in")
    slide = situation.protection.slide
    rushers = sorted((man for man in place_defense(situation) if man.rush), key=lambda man: (man.gaps[0], man.x))
    line, backs = protectors(situation)
    if slide is Slide.FULL:
        pairs, backs_side = slide_line(line, line, rushers, situation), situation.turn_to.other
    elif slide is Slide.HALF:
        pairs, backs_side = half_slide(line, rushers, situation), situation.turn_to.other
    elif slide is Slide.MAN:
        pairs, backs_side = big_on_big(line, rushers), None
    else:
        raise NoAnswer(f"the page does not say how a {slide.value} sorts itself")
    send_backs(pairs, backs, rushers, line, situation, backs_side)
    blocked = {man.position: blocker.word for man, blocker in pairs}
    free = tuple(man.position for man in rushers if man.position not in blocked)
    return PassAnswer(blocked, free)


Pairs = list[tuple[Man, OffensivePlayer]]


def protectors(situation: PassSituation) -> tuple[list[OffensivePlayer], list[OffensivePlayer]]:
    """The line from left to right (center, guards, tackles and whoever else attached stays in), and the backs."""
    stay = [
        man
        for man in situation.formation.players
        if any(matches(who, man, situation.turn_to) for who in situation.protection.stay_in)
    ]
    line = [man for man in situation.formation.surface if man.role.is_interior or man in stay]
    return line, [man for man in stay if not man.attached]


def zone_of(man: Man, line: list[OffensivePlayer], situation: PassSituation) -> int:
    """Between which two men of the line he comes: how many of them stand to the left of his gap."""
    surface = situation.formation.surface
    return sum(1 for one in line if surface.index(one) < man.gaps[0])


def slide_line(
    sliding: list[OffensivePlayer], line: list[OffensivePlayer], rushers: list[Man], situation: PassSituation
) -> Pairs:
    """Each man who slides takes the gap on the side of the turn, and there the first rusher from the inside."""
    pairs: Pairs = []
    for blocker in sliding:
        zone = line.index(blocker) + (1 if situation.turn_to is Side.RIGHT else 0)
        there = [man for man in rushers if zone_of(man, line, situation) == zone]
        if there:
            pairs.append((min(there, key=lambda man: (situation.turn_to.sign * man.gaps[0], abs(man.x))), blocker))
    return pairs


def half_slide(line: list[OffensivePlayer], rushers: list[Man], situation: PassSituation) -> Pairs:
    """F70, F71: away from the turn the tackle has the end and a covered guard the man on him; the first uncovered man
    from there starts the slide."""
    away = situation.turn_to.other
    center = next(number for number, man in enumerate(line) if man.side is None)
    man_side = line[:center][::-1] if away is Side.LEFT else line[center + 1 :]
    on_men: Pairs = []
    sliding = [man for man in line if man not in man_side]
    for number, blocker in enumerate(reversed(man_side)):
        taken = [man for man, _ in on_men]
        on_him = [man for man in rushers if man not in taken and covers(man, blocker, is_last=number == 0)]
        if not on_him:
            sliding += [man for man in man_side if man not in [one for _, one in on_men]]
            break
        on_men.append((max(on_him, key=lambda man: away.sign * man.x), blocker))
    left = [man for man in rushers if man not in [one for one, _ in on_men]]
    return [*on_men, *slide_line(sliding, line, left, situation)]


def covers(man: Man, blocker: OffensivePlayer, *, is_last: bool) -> bool:
    """Whether a rusher lines up on that blocker; the last man of the side also has whoever is outside him."""
    if man.depth > ON_THE_LINE_YD:
        return False
    outside = blocker.side is not None and is_last and blocker.side.sign * (man.x - blocker.x) > 0
    return outside or abs(man.x - blocker.x) < COVERED_YD


def big_on_big(line: list[OffensivePlayer], rushers: list[Man]) -> Pairs:
    """F72, F76: the line takes the men on the line of scrimmage, each the one on him, then the nearest backer.

    Every way to pair them is tried; blockers never cross each other.
    """
    close = sorted(rushers, key=lambda man: (man.depth > ON_THE_LINE_YD, abs(man.x)))[: len(line)]
    close.sort(key=lambda man: man.x)
    best: Pairs = []
    best_yards = float("inf")
    for chosen in permutations(range(len(line)), len(close)):
        if list(chosen) != sorted(chosen):
            continue
        pairs = [(man, line[index]) for man, index in zip(close, chosen, strict=True)]
        yards = sum(abs(man.x - blocker.x) for man, blocker in pairs)
        if yards < best_yards - 1e-9:
            best, best_yards = pairs, yards
    return best


def send_backs(
    pairs: Pairs,
    backs: list[OffensivePlayer],
    rushers: list[Man],
    line: list[OffensivePlayer],
    situation: PassSituation,
    side: Side | None,
) -> None:
    """F70, F75: a back takes the first rusher from the inside whom nobody has, away from the turn (either side in big
    on big)."""
    surface = situation.formation.surface
    middle = surface.index(situation.formation.center)
    for back in backs:
        taken = [man for man, _ in pairs]
        left = [man for man in rushers if man not in taken]
        if side is not None:
            left = [man for man in left if (man.gaps[0] > middle) is (side is Side.RIGHT)]
        if left:
            pairs.append((min(left, key=lambda man: (abs(man.gaps[0] - middle - 0.5), abs(man.x))), back))
