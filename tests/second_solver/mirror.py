"""Turns a whole snap round, left for right. Knows the nouns only."""

from dataclasses import replace
from types import MappingProxyType

from quizgen.football.formation import Formation, OffensivePlayer
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


def mirror_everything(s: Situation) -> Situation:
    """The snap turned round: formation, call and play to the other side; positions that trade jobs with the call's side
    trade build and edge rule too, so that the same man does the same job."""
    trade = partners(s)
    by_name = {p.name: p for p in s.positions}
    positions = tuple(replace(p, player_class=by_name[trade[p.name]].player_class) for p in s.positions)
    edges = MappingProxyType({trade[name]: rule for name, rule in s.rules.edge_by_position.items()})
    formation = Formation("turned round", tuple(turn_player(p) for p in s.formation.players), s.formation.rule_book)
    return replace(
        s,
        rules=replace(s.rules, edge_by_position=edges),
        positions=positions,
        to=OTHER[s.to],
        formation=formation,
        play_to=OTHER[s.play_to],
    )
