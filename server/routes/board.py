"""The coach's views of his players' progress: the board, a call, a player."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import UTC, date, datetime, time
from typing import Annotated, Literal

from fastapi import APIRouter, Form, Query, Request
from markupsafe import escape
from pydantic import Field, StringConstraints
from sqlmodel import col
from starlette.responses import Response

from server.accounts.members import write_audit
from server.accounts.retention import check_season
from server.accounts.sessions import Viewer
from server.database.tables import Answer, Member
from server.i18n.languages import QUARTER_S, format_day, language_of
from server.mastery.readout import readout
from server.mastery.values import SIDES, STAGES, State
from server.playbook.playbooks import Playbook
from server.progress.answer_counts import by_week, count_by_stage, likely_range, to_row
from server.progress.board import (
    behind_on,
    count_misses,
    find_player,
    first_group,
    groups_of,
    make_board,
    misses_of,
    seen_players,
    wrong_taps,
)
from server.progress.charts import stage_chart, week_chart
from server.progress.confusions import of_call, of_player, show
from server.progress.past_answers import past_answers_of
from server.progress.reasons import reason
from server.progress.rep_next import rep_next
from server.progress.team_state import HURRIED_MS, TeamState
from server.reading.fields import Id, Sent, Text
from server.sets.assignment import AssignmentFields, check_order, find_just_sent, parse_order, send
from server.sets.assignment_form import fill
from server.sets.player_sets import still_to_do
from server.sets.set_summary import find_pattern
from server.web.conditional import find_unchanged, page_with_tag, tag_of
from server.web.deps import AppServices, SignedIn, viewer_of
from server.web.responses import address, page, redirect_to
from server.web.translated_reps import translate_confusions, translate_misses, translate_taps

router = APIRouter()
Stage = Annotated[int | None, Query(ge=1, le=5)]
OfSide = Annotated[Literal["left", "right"] | None, Query()]


@router.get("/coach")
def coach_start() -> Response:
    """Redirect to the board, the coach's first page."""
    return redirect_to("/coach/board")


@router.get("/coach/board")
def show_board(
    request: Request,
    services: AppServices,
    viewer: SignedIn,
    group: Text = "",
    call: Text = "",
    stage: Stage = None,
    side: OfSide = None,
) -> Response:
    """Players by position group with calls as columns, and those not there yet on the chosen call."""
    playbook, now = services.playbooks.of(viewer.team), services.now()
    chosen = playbook.check_call(call) if call else ""
    with services.store.read(viewer.team.id) as t:
        members = seen_players(t, playbook, viewer)
        to_do = still_to_do(t, members, now)
    team_state = services.team_states.of(services.store, viewer.team.id, playbook)
    tag = tag_of(request, *tag_values(team_state, now, members), sorted(to_do))
    if unchanged := find_unchanged(request, tag):
        return unchanged
    groups_of_positions = {p.key: p.group for p in playbook.positions}
    shown = [m for m in members if group in ("", first_group(m, groups_of_positions))]
    ids, every = [m.id for m in shown], playbook.calls
    whole = team_state.board(ids, every, now)
    found = team_state.board(ids, every, now, stage, side) if stage or side else whole
    lines = make_board(shown, playbook, whole, every)
    urgent = rep_next(lines, every, team_state.state, team_state.settings, to_do)
    chosen = chosen or (urgent.call if urgent else next(iter(every), ""))
    asked = [m for m in shown if playbook.has_job(chosen, m.positions)]
    answered = {call for (_, call), one in whole.items() if one.answered} or set(every)
    calls = [one for one in every if one == chosen] + [one for one in every if one != chosen and one in answered]
    days, said = day_formatter(request), language_of(request.scope).translate
    return page_with_tag(
        request,
        "coach/board.html",
        tag,
        groups=make_board(shown, playbook, found, calls),
        why={pair: said(reason(one, days)) for pair, one in found.items() if one.answered},
        next=urgent,
        group_names=own_groups(playbook, viewer),
        calls=calls,
        every=every,
        queries={one: escape(address("", call=one)) for one in ("", *every)},
        call=chosen,
        group=group,
        stage=stage,
        stages=STAGES,
        side=side,
        opponent=team_state.opponent,
        behind=behind_on(asked, chosen, found, team_state.settings) if chosen else [],
        players=len(shown),
        asked=len(asked),
        answers=team_state.state.answers,
        now=now,
    )


class RepNextForm(Sent):
    """What the board said to rep next, as it stood when the coach tapped it."""

    call: Text
    side: Annotated[str, StringConstraints(pattern="^(left|right)?$")] = ""
    players: Annotated[list[Id], Field(min_length=1, max_length=300)]


@router.post("/coach/rep-next")
def assign_rep_next(
    request: Request, form: Annotated[RepNextForm, Form()], services: AppServices, viewer: SignedIn
) -> Response:
    """Assign what the board says to rep next, with the form's usual values; a second tap finds the set already sent."""
    playbook, now = services.playbooks.of(viewer.team), services.now()
    check_season(viewer.team, services.settings.keep_results_days, now)
    team_state = services.team_states.of(services.store, viewer.team.id, playbook)
    with services.store.read(viewer.team.id) as t:
        seen = seen_players(t, playbook, viewer)
    has_opponent = bool(team_state.opponent)
    asked = AssignmentFields(call=form.call, players=form.players, sides=[form.side] if form.side else list(SIDES))
    fields = fill(asked, playbook, viewer, seen, team_state, now, has_opponent=has_opponent).fields
    order = check_order(parse_order(fields, viewer, now), playbook, viewer, seen, has_opponent=has_opponent)
    sent = services.writes.write(
        viewer.team.id, lambda t: find_just_sent(t, viewer, order, now) or send(t, viewer, order, now)
    )
    return redirect_to(f"/coach/sets/{sent.id}")


def tag_values(team_state: TeamState, now: datetime, members: Sequence[Member]) -> tuple[object, ...]:
    """Everything that decides the board of these players, apart from the viewer and his query; see `tag_of`."""
    people = [(m.id, m.number, m.name, m.positions) for m in members]
    opponent = (team_state.opponent, sorted(team_state.settings.stage_mix.items()))
    return team_state.state.answers, team_state.last_id, team_state.hour(now), opponent, people


def day_formatter(request: Request) -> Callable[[float], str]:
    """A function that formats the day of a time in seconds, in the team's time zone."""
    code, zone = language_of(request.scope).code, viewer_of(request).team.time_zone
    return lambda at: format_day(code, int(at) // QUARTER_S, zone)


def week_formatter(request: Request) -> Callable[[date], str]:
    """A function that formats the first day of a week."""
    said = language_of(request.scope).day
    return lambda day: said(datetime.combine(day, time(12), UTC), "UTC")


def own_groups(playbook: Playbook, viewer: Viewer) -> list[str]:
    """The names of the position groups that this coach sees."""
    return list(dict.fromkeys(p.group for p in playbook.positions if viewer.sees_group(p.group)))


@router.get("/coach/call")
def show_call(
    request: Request,
    name: Text,
    services: AppServices,
    viewer: SignedIn,
    group: Text = "",
    stage: Stage = None,
    side: OfSide = None,
) -> Response:
    """A call: where wrong answers go, counts by stage and side, and who is not there yet."""
    playbook, now = services.playbooks.of(viewer.team), services.now()
    call = playbook.check_call(name)
    with services.store.read(viewer.team.id) as t:
        seen = [m for m in seen_players(t, playbook, viewer) if not group or group in groups_of(m, playbook)]
    members = [m for m in seen if playbook.has_job(call, m.positions)]
    team_state = services.team_states.of(services.store, viewer.team.id, playbook)
    tag = tag_of(request, *tag_values(team_state, now, members))
    if unchanged := find_unchanged(request, tag):
        return unchanged
    with services.store.read(viewer.team.id) as t:
        taps = wrong_taps(t, call, members, stage, side)
    found = team_state.board([m.id for m in members], [call], now, stage, side)
    positions = {one for member in members for one in member.positions if viewer.sees_group(playbook.group_of(one))}
    confusions = of_call(services.confusions.of(services.store, viewer.team.id, team_state), call, positions)
    counts = count_by_stage(team_state, [m.id for m in members], call, stage, side)
    days, said = day_formatter(request), language_of(request.scope).translate
    return page_with_tag(
        request,
        "coach/call.html",
        tag,
        confusions=translate_confusions(
            request, show(services.store, viewer.team.id, playbook, confusions, language_of(request.scope))
        ),
        call=call,
        calls=playbook.calls,
        states=[(state, sum(found[m.id, call].state is state for m in members)) for state in State],
        behind=behind_on(members, call, found, team_state.settings),
        why={pair: said(reason(one, days)) for pair, one in found.items() if one.answered},
        players=len(members),
        group=group,
        group_names=own_groups(playbook, viewer),
        stage=stage,
        stages=STAGES,
        side=side,
        opponent=team_state.opponent,
        counts=counts,
        chart=stage_chart(counts),
        taps=translate_taps(request, taps),
        answers=team_state.state.answers,
        now=now,
    )


@router.get("/coach/players/{player_id}")
def show_player(request: Request, player_id: Id, services: AppServices, viewer: SignedIn, call: Text = "") -> Response:
    """A player: his state on each call and why, and his wrong reps as he saw them."""
    playbook, now = services.playbooks.of(viewer.team), services.now()
    chosen = playbook.check_call(call) if call else ""
    with services.store.read(viewer.team.id) as t:
        member = find_player(t, playbook, viewer, player_id)
        stored = misses_of(t, services.kept_reps, member.id, chosen)
        missed = count_misses(t, member.id, chosen)
        past = past_answers_of(t, member.id)
        hurried = t.count(Answer, col(Answer.member_id) == member.id, col(Answer.took_ms) < HURRIED_MS)
    misses = translate_misses(request, stored)
    services.writes.write(viewer.team.id, lambda t: write_audit(t, viewer.member.id, "viewed a player", member.id, now))
    team_state = services.team_states.of(services.store, viewer.team.id, playbook)
    confusions = of_player(services.confusions.of(services.store, viewer.team.id, team_state), member.id, chosen)
    found = team_state.board([member.id], playbook.calls, now)
    full = readout(team_state.state, member.id, chosen, team_state.hour(now), team_state.settings) if chosen else None
    weeks = by_week(team_state, member.id, chosen, viewer.team.time_zone, now)
    counts = count_by_stage(team_state, [member.id], chosen) if chosen else []
    days, said = day_formatter(request), language_of(request.scope).translate
    return page(
        request,
        "coach/player.html",
        confusions=translate_confusions(
            request, show(services.store, viewer.team.id, playbook, confusions, language_of(request.scope))
        ),
        player=member,
        calls=[to_row(found[member.id, one]) for one in playbook.calls],
        why={one: said(reason(found[member.id, one], days)) for one in playbook.calls},
        pattern=find_pattern([one.answer for one in stored]),
        full=full,
        range=None if full is None else likely_range(full.estimate),
        counts=counts,
        chart=stage_chart(counts),
        weeks=weeks,
        week_words=week_formatter(request),
        history=week_chart(weeks),
        misses=misses,
        missed=missed,
        past=[past[one] for one in playbook.calls if one in past and call in ("", one)],
        hurried=hurried,
        hurried_s=HURRIED_MS / 1000,
        opponent=team_state.opponent,
        call=chosen,
    )
