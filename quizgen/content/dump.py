"""Nouns -> TOML, the way back from ``load``: what it writes loads as the same team.

Leaves out what equals a default, so that a coach sees only what he has decided. Knows no comments: a file written by
hand keeps them only while it is edited by hand.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import fields
from enum import Enum
from typing import Any

import tomli_w

from quizgen.content.build import FEET_IN_A_YARD
from quizgen.football.coverage import Coverage
from quizgen.football.defense import TECHNIQUES, Alignment, Front, Position
from quizgen.football.formation import Formation, OffensivePlayer, Role
from quizgen.football.keys import slug
from quizgen.football.layout import last_x
from quizgen.football.motion import FormationMotion
from quizgen.football.opponent import AcceptedLack, ChartedOpponent
from quizgen.football.pressure import Adjustment, CallGap, Drop, Pressure, Rush
from quizgen.football.rules import Changes, OptionRule, TeamRules, Timing, Words
from quizgen.football.scheme import LeftFree, Protection, Scheme
from quizgen.football.sides import Side
from quizgen.football.team import TeamBook

PLACES = 9

Table = dict[str, Any]


def dump_team(team: TeamBook) -> dict[str, str]:
    """The team as TOML files (file name -> text)."""
    plays: Table = {"play": [_scheme(one) for one in team.schemes]}
    if team.protections:
        plays["protection"] = [_protection(one) for one in team.protections]
    files: dict[str, Table] = {
        "team.toml": _team(team),
        "positions.toml": {"position": [_position(one) for one in team.positions]},
        "rules.toml": _rules(team.rules, team.words),
        "fronts.toml": {"front": [_front(one, team.rules) for one in team.fronts]},
        "pressures.toml": {
            **_plain(coverage=[_coverage(one) for one in team.coverages]),
            "pressure": [_pressure(one, team.rules) for one in team.pressures],
        },
        "formations.toml": {"formation": [_formation(one) for one in _without_twins(team.formations)]},
        "plays.toml": plays,
        "roster.toml": {"player": [_plain(number=p.number, name=p.name, positions=p.positions) for p in team.roster]},
    }
    texts = {name: tomli_w.dumps(table) for name, table in files.items()}
    return {**texts, **dump_opponents(team.opponents), **dump_accepted(team.accepted)}


def dump_opponents(opponents: Sequence[ChartedOpponent]) -> dict[str, str]:
    """The opponents as a TOML file; none without opponents."""
    found = {"opponent": [_opponent(one) for one in opponents]}
    return {"opponents.toml": tomli_w.dumps(found)} if opponents else {}


def dump_accepted(accepted: Sequence[AcceptedLack]) -> dict[str, str]:
    """What the staff accepted as a TOML file; none where it is nothing."""
    found = {"accepted": [_accepted(one) for one in accepted]}
    return {"accepted.toml": tomli_w.dumps(found)} if accepted else {}


def _opponent(one: ChartedOpponent) -> Table:
    runs = [_plain(play=run.play, formation=run.formation, to=run.to, count=run.count) for run in one.runs]
    return _plain(name=one.name, key=_key(one.key, one.name), next=one.is_next, run=runs)


def _accepted(one: AcceptedLack) -> Table:
    snap = _plain(call=one.call, to=one.to, formation=one.formation, play=one.play, play_to=one.play_to)
    return {**snap, **_plain(why=one.why, lack=one.lack)}


def _plain(**values: Any) -> Table:
    """A table of what was given as TOML can hold it; empty values are left out."""
    return {key: _value(value) for key, value in values.items() if not _is_empty(value)}


def _is_empty(value: Any) -> bool:
    return value is None or value is False or (isinstance(value, str | tuple | list | Mapping) and not value)


def _value(value: Any) -> Any:
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Mapping):
        return {_value(key): _value(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_value(one) for one in value]
    if isinstance(value, CallGap):
        return value.word
    return value


def _changed(value: Any, default: Any) -> Any:
    """The value, or None where it is the default."""
    return None if value == default else value


def _key(key: str, name: str) -> str | None:
    """The key to write down: one that the name does not say by itself."""
    return None if key == slug(name) else key


def _team(team: TeamBook) -> Table:
    about = dict(team.about)
    return _plain(
        name=team.name,
        school=about.pop("school", None),
        time_zone=team.time_zone,
        season_end=team.season_end,
        rule_book=team.rules.rule_book,
        about=about,
    )


def _position(one: Position) -> Table:
    table = _plain(name=one.name, key=_key(one.key, one.name), label=one.label, group=one.group)
    return {**table, "class": one.player_class.value, **_plain(mirrors=one.mirrors)}


def _rules(rules: TeamRules, words: Words) -> Table:
    base = TeamRules()
    said = {
        one.name: _changed(getattr(rules, one.name), getattr(base, one.name))
        for one in fields(rules)
        if one.name not in ("by_position", "options", "motion", "rule_book", "measures", "timing")
    }
    options = {name: _option_rule(rule) for name, rule in rules.options.items() if base.options.get(name) != rule}
    return _plain(
        rules=_plain(**said, by_position=_by_position(rules.by_position)),
        options=options,
        motion=[_plain(kind=r.kind, coverage=r.coverage, answer=r.answer, owner=r.owner) for r in rules.motion],
        measures=_measures(rules),
        timing=_timing(rules.timing),
        words=_plain(gaps=words.gaps, terms=words.terms),
    )


def _by_position(changes: Mapping[str, Changes]) -> Table:
    return {name: _plain(**dict(own)) for name, own in changes.items()}


def _option_rule(rule: OptionRule) -> Table:
    owners = {phase.value: names for phase, names in rule.owners}
    plays = _changed(rule.plays, OptionRule(rule.read_man, rule.scrape, rule.force).plays)
    return _plain(read_man=rule.read_man, scrape=rule.scrape, force=rule.force, **owners, plays=plays)


def _measures(rules: TeamRules) -> Table:
    base, found = TeamRules().measures, {}
    for one in fields(rules.measures):
        value = getattr(rules.measures, one.name)
        if value != getattr(base, one.name):
            is_split = "split" in one.name
            key = one.name.replace("_yd", "_ft") if is_split else one.name
            found[key] = round(value * FEET_IN_A_YARD, PLACES) if is_split else value
    return found


def _timing(timing: Timing) -> Table:
    base = Timing()
    found: Table = {}
    for one in fields(timing):
        value, default = getattr(timing, one.name), getattr(base, one.name)
        if isinstance(value, Mapping):
            own = {key: own for key, own in value.items() if default.get(key) != own}
            if one.name != "ball_s":
                own = {key: _plain(reaction_s=p.reaction_s, speed_yd_s=p.speed_yd_s) for key, p in own.items()}
            found.update(_plain(**{one.name: own}))
        elif value != default:
            found[one.name] = value
    return found


def _place(position: str, alignment: Alignment, rules: TeamRules) -> Table:
    spot = (alignment.landmark, alignment.shade)
    technique = next((number for number, one in TECHNIQUES[rules.numbering].items() if one == spot), None)
    how = _plain(technique=technique) if technique else _plain(on=alignment.landmark, shade=alignment.shade)
    return {
        "position": position,
        **how,
        "side": alignment.toward.value,
        **_plain(out=_changed(alignment.out_yd, 0.0)),
        "depth": alignment.depth_yd,
    }


def _front(front: Front, rules: TeamRules) -> Table:
    spots = [{**_place(spot.position, spot.alignment, rules), **_plain(down=spot.down)} for spot in front.spots]
    return {**_plain(name=front.name, key=_key(front.key, front.name)), "spot": spots}


def _coverage(one: Coverage) -> Table:
    man = None if one.under is not None and one.man == 0 else one.man
    return {
        **_plain(name=one.name, key=_key(one.key, one.name)),
        "deep": one.deep,
        **_plain(under=one.under, man=man, whom=one.whom),
    }


def _pressure(one: Pressure, rules: TeamRules) -> Table:
    exchanges = [_plain(first=e.first, second=e.second, blocker=e.blocker, when=e.triggers) for e in one.exchanges]
    return {
        **_plain(name=one.name, key=_key(one.key, one.name), front=one.front),
        **_plain(
            to=one.goes_to[0] if len(one.goes_to) == 1 else one.goes_to, coverage=one.coverage.name, peel=one.peel
        ),
        **_plain(concede=one.conceded, read=one.read),
        **_plain(rules=dict(one.rules), by_position=_by_position(dict(one.by_position))),
        **_plain(options={name: _option_rule(rule) for name, rule in one.options}),
        **_plain(align=[_place(position, alignment, rules) for position, alignment in one.align]),
        **_plain(show=[_place(position, alignment, rules) for position, alignment in one.show]),
        "rush": [_rush(rush) for rush in one.rushes],
        **_plain(adjust=[_adjustment(row, rules) for row in one.adjust]),
        **_plain(drop=[_drop(drop) for drop in one.drops], exchange=exchanges),
    }


def _adjustment(row: Adjustment, rules: TeamRules) -> Table:
    against = [fact.word for fact in row.against]
    return _plain(
        against=against[0] if len(against) == 1 else against,
        check=row.check,
        align=[_place(position, alignment, rules) for position, alignment in row.align],
        rush=[_rush(rush) for rush in row.rushes],
        drop=[_drop(drop) for drop in row.drops],
        coverage=row.coverage.name if row.coverage else None,
    )


def _rush(rush: Rush) -> Table:
    plain = Rush(rush.position, rush.gap)
    return _plain(
        position=rush.position,
        gap=rush.gap,
        order=_changed(rush.order, plain.order),
        path=_changed(rush.path, plain.path),
        part=_changed(rush.part, plain.part),
        second_gap=rush.second_gap,
    )


def _drop(drop: Drop) -> Table:
    return _plain(
        position=drop.position,
        cover=drop.cover,
        man=drop.man,
        run=drop.run,
        side=drop.toward,
        gap=drop.gap,
        second_gap=drop.second_gap,
    )


def _without_twins(formations: Iterable[Formation]) -> list[Formation]:
    """The formations as written: of a pair of twins the first."""
    kept: list[Formation] = []
    for one in formations:
        if not any(other.mirror_name == one.name and other.name == one.mirror_name for other in kept):
            kept.append(one)
    return kept


def _formation(one: Formation) -> Table:
    line = {side: [man.role for man in one.on_side(side)] for side in Side}
    quarterback = one.find(Role.QUARTERBACK)
    assert quarterback is not None  # a formation without one cannot be
    by_key = sorted(one.players, key=lambda man: (len(man.key), man.key))
    backs = [man for man in by_key if not man.attached and man.role not in (Role.QUARTERBACK, Role.RECEIVER)]
    receivers = [man for man in by_key if man.role is Role.RECEIVER]
    return {
        **_plain(name=one.name, key=_key(one.key, one.name)),
        **_plain(mirror=one.mirror_name, mirror_key=_key(one.mirror_key, one.mirror_name)),
        **{side.value: _value(roles) for side, roles in line.items()},
        "quarterback": quarterback.y,
        **_plain(
            back=[{"role": man.role.value, "x": man.x, "y": man.y} for man in backs],
            receiver=[_receiver(man, one) for man in receivers],
            motion=[_motion(motion) for motion in one.motions],
        ),
    }


def _motion(one: FormationMotion) -> Table:
    return _plain(
        name=one.name,
        key=_key(one.key, one.name),
        kind=one.kind,
        who=one.who,
        to=one.to,
        split=one.split_yd,
        attached=one.attached,
        plays=one.used_with,
    )


def _receiver(man: OffensivePlayer, formation: Formation) -> Table:
    assert man.side is not None  # a receiver always has a side
    split = abs(man.x - last_x(man.side, formation.surface))
    return {"side": man.side.value, "split": round(split, PLACES), "on_line": man.on_line}


def _scheme(scheme: Scheme) -> Table:
    blocks = []
    for row in scheme.rows:
        who = [one.word for one in row.who]
        blocks.append({"who": who[0] if len(who) == 1 else who, **_plain(job=row.job, past=row.past, gap=row.gap)})
        blocks[-1].update(_plain(optional=row.optional))
    option = scheme.option
    return _plain(
        name=scheme.name,
        key=_key(scheme.key, scheme.name),
        family=scheme.family,
        aim=scheme.aim or "edge",
        carrier=_changed(scheme.carrier, Role.TAILBACK),
        ball_s=scheme.ball_s,
        block=blocks,
        option=_plain(name=option.name, read=option.read, phases=option.phases) if option else None,
        attached=_plain(zone=scheme.attached.zone, side=scheme.attached.flow) if scheme.attached else None,
    )


def _protection(one: Protection) -> Table:
    stay, release = ([who.word for who in words] for words in (one.stay_in, one.release))
    free = _changed(one.free, LeftFree.WIDEST)
    key = _key(one.key, one.name)
    return _plain(name=one.name, key=key, slide=one.slide, stay_in=stay, release=release, free=free)
