"""A snap turned round, left for right, and a snap under other names. Knows the nouns only."""

import random
from dataclasses import replace
from types import MappingProxyType

from quizgen.football.formation import Formation, OffensivePlayer
from quizgen.football.rules import OptionRule
from quizgen.football.sides import Side
from quizgen.football.team import Situation

OTHER = {Side.LEFT: Side.RIGHT, Side.RIGHT: Side.LEFT, None: None}


def partners(s: Situation) -> dict[str, str]:
    """Whoever does a position's job when everything is turned round."""
    return {p.name: p.mirrors or p.name for p in s.positions}


def turn_player(player: OffensivePlayer) -> OffensivePlayer:
    """The same man on the other side of the center, his key turned round with him."""
    key = player.key
    if player.attached and player.side is not None:
        key = {"L": "R", "R": "L"}[key[0]] + key[1:]
    return replace(player, key=key, x=-player.x, side=OTHER[player.side])


def turn_key(key: str) -> str:
    """A key of an attached man turned round; others name no side."""
    return {"L": "R", "R": "L"}[key[0]] + key[1:] if key[0] in "LR" else key


def turn_formation(formation: Formation) -> Formation:
    """The formation turned round, and what happened before the snap with it."""
    moved = formation.moved
    if moved is not None:
        motion = replace(moved.motion, to=OTHER[moved.motion.to])
        moved = replace(moved, motion=motion, key=turn_key(moved.key), x=-moved.x, before=turn_formation(moved.before))
    players = tuple(turn_player(p) for p in formation.players)
    return Formation("turned round", players, formation.rule_book, moved=moved)


def mirror_everything(s: Situation) -> Situation:
    """The snap turned round: formation, call and play to the other side; positions that trade jobs with the call's side
    trade build and rules too, so that the same man does the same job."""
    trade = partners(s)
    by_name = {p.name: p for p in s.positions}
    positions = tuple(replace(p, player_class=by_name[trade[p.name]].player_class) for p in s.positions)
    own = MappingProxyType({trade[name]: changes for name, changes in s.rules.by_position.items()})
    formation = turn_formation(s.formation)
    motion = tuple(replace(rule, owner=tuple(trade.get(word, word) for word in rule.owner)) for rule in s.rules.motion)
    return replace(
        s,
        rules=replace(s.rules, by_position=own, motion=motion),
        positions=positions,
        to=OTHER[s.to],
        formation=formation,
        play_to=OTHER[s.play_to],
    )


def renamed(s: Situation, seed: int) -> tuple[Situation, dict[str, str]]:
    """The same snap under other names and with its content in another order, and each position's new name."""
    rng = random.Random(seed)
    letters = rng.sample([f"{a}{b}" for a in "ZYXKJHGFQ" for b in "aeioumn"], len(s.positions))
    new = {p.name: letters[k] for k, p in enumerate(s.positions)}

    def shuffled(items: tuple) -> tuple:
        return tuple(rng.sample(items, len(items)))

    positions = tuple(
        replace(p, name=new[p.name], label=new[p.name], mirrors=p.mirrors and new[p.mirrors]) for p in s.positions
    )
    spots = tuple(replace(spot, position=new[spot.position]) for spot in s.front.spots)
    pressure = replace(
        s.pressure,
        name="other call",
        front="other front",
        rushes=shuffled(tuple(replace(r, position=new[r.position]) for r in s.pressure.rushes)),
        drops=shuffled(tuple(replace(d, position=new[d.position]) for d in s.pressure.drops)),
        align=tuple((new[name], where) for name, where in s.pressure.align),
        conceded=shuffled(s.pressure.conceded),
        exchanges=tuple(replace(e, first=new[e.first], second=new[e.second]) for e in s.pressure.exchanges),
        by_position=shuffled(tuple((new[name], own) for name, own in s.pressure.by_position)),
        options=shuffled(tuple((name, _renamed_owners(rule, new)) for name, rule in s.pressure.options)),
        read=shuffled(tuple(new[name] for name in s.pressure.read)),
        show=shuffled(tuple((new[name], where) for name, where in s.pressure.show)),
        adjust=tuple(
            replace(
                row,
                align=tuple((new[name], where) for name, where in row.align),
                rushes=tuple(replace(r, position=new[r.position]) for r in row.rushes),
                drops=tuple(replace(d, position=new[d.position]) for d in row.drops),
            )
            for row in s.pressure.adjust
        ),
    )
    own = {new[name]: changes for name, changes in reversed(s.rules.by_position.items())}
    options = {name: _renamed_owners(rule, new) for name, rule in shuffled(tuple(s.rules.options.items()))}
    motion = tuple(replace(rule, owner=tuple(new.get(word, word) for word in rule.owner)) for rule in s.rules.motion)
    rules = replace(s.rules, motion=motion, by_position=MappingProxyType(own), options=MappingProxyType(options))

    def other_key(p: OffensivePlayer) -> OffensivePlayer:
        return p if p.attached else replace(p, key="other " + p.key[::-1])

    players = shuffled(tuple(other_key(p) for p in s.formation.players))
    moved = s.formation.moved
    if moved is not None:
        man = next(p for p in s.formation.players if p.key == moved.key)
        moved = replace(moved, key=other_key(man).key)
    other = replace(
        s,
        rules=rules,
        positions=shuffled(positions),
        front=replace(s.front, name="other front", spots=shuffled(spots)),
        pressure=pressure,
        formation=Formation("other formation", players, s.formation.rule_book, moved=moved),
        play=replace(s.play, name="other play"),
    )
    return other, new


def _renamed_owners(rule: OptionRule, new: dict[str, str]) -> OptionRule:
    owners = tuple((phase, tuple(new.get(name, name) for name in names)) for phase, names in rule.owners)
    return replace(rule, owners=owners)
