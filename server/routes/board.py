"""The coach's views of where his people stand: the board, a call, a player."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from starlette.responses import Response

from server.board import (
    behind_on,
    find_player,
    groups_of,
    make_board,
    misses_of,
    seen_players,
    sides_of,
    to_cell,
    wrong_taps,
)
from server.confused import find_confusions, of_call, of_player, show
from server.inputs import Id, Text
from server.mastery.readout import readout
from server.mastery.values import STAGES, State
from server.parts import parts_of, viewer_of
from server.people import write_audit
from server.replies import go, page
from server.spoken import speak_misses, speak_mixed, speak_taps

router = APIRouter()
Stage = Annotated[int | None, Query(ge=1, le=5)]


@router.get("/coach")
async def coach_start() -> Response:
    """The coach's first screen is the board."""
    return go("/coach/board")


@router.get("/coach/board")
async def show_board(request: Request, group: Text = "", call: Text = "", stage: Stage = None) -> Response:
    """Players by position group, calls across; beside it those not there yet on the chosen call."""
    parts, viewer = parts_of(request), viewer_of(request)
    playbook, now = await parts.playbooks.of(viewer.team), parts.now()
    chosen = playbook.check_call(call) if call else (playbook.calls[0] if playbook.calls else "")
    with parts.store.read(viewer.team.id) as t:
        members = seen_players(t, playbook, viewer)
    standing = await parts.standings.of(parts.store, viewer.team.id, playbook)
    groups = make_board(members, playbook, standing, now, group=group, stage=stage)
    shown = [line.member for one in groups for line in one.lines]
    return page(
        request,
        "coach/board.html",
        groups=groups,
        group_names=list(dict.fromkeys(p.group for p in playbook.positions if viewer.sees_group(p.group))),
        calls=playbook.calls,
        call=chosen,
        group=group,
        stage=stage,
        stages=STAGES,
        states=list(State),
        behind=behind_on(shown, chosen, standing, now, stage) if chosen else [],
        players=len(shown),
    )


@router.get("/coach/call")
async def show_call(request: Request, name: Text, group: Text = "", stage: Stage = None) -> Response:
    """A call: who is not there yet, and where wrong answers go."""
    parts, viewer = parts_of(request), viewer_of(request)
    playbook, now = await parts.playbooks.of(viewer.team), parts.now()
    call = playbook.check_call(name)
    with parts.store.read(viewer.team.id) as t:
        members = [m for m in seen_players(t, playbook, viewer) if not group or group in groups_of(m, playbook)]
        taps = wrong_taps(t, call, members)
    standing = await parts.standings.of(parts.store, viewer.team.id, playbook)
    behind = behind_on(members, call, standing, now, stage)
    positions = {position for member in members for position in member.positions}
    found = of_call(await find_confusions(parts.store, viewer.team.id), call, positions)
    return page(
        request,
        "coach/call.html",
        mixed=await speak_mixed(request, await show(parts.store, viewer.team.id, playbook, found)),
        call=call,
        calls=playbook.calls,
        behind=behind,
        players=len(members),
        group=group,
        group_names=list(dict.fromkeys(p.group for p in playbook.positions if viewer.sees_group(p.group))),
        stage=stage,
        stages=STAGES,
        taps=await speak_taps(request, call, taps),
    )


@router.get("/coach/players/{player_id}")
async def show_player(request: Request, player_id: Id, call: Text = "") -> Response:
    """A player: where he stands on each call, and his wrong reps as he saw them."""
    parts, viewer = parts_of(request), viewer_of(request)
    playbook, now = await parts.playbooks.of(viewer.team), parts.now()
    chosen = playbook.check_call(call) if call else ""
    with parts.store.read(viewer.team.id) as t:
        member = find_player(t, playbook, viewer, player_id)
        stored = misses_of(t, parts.shown, member.id, chosen)
    misses = await speak_misses(request, stored)
    with parts.store.write(viewer.team.id) as t:
        write_audit(t, viewer.member.id, "viewed a player", member.id, now)
    standing = await parts.standings.of(parts.store, viewer.team.id, playbook)
    found = of_player(await find_confusions(parts.store, viewer.team.id), member.id, chosen)
    readouts = [
        readout(standing.state, member.id, one, standing.seconds(now), standing.settings) for one in playbook.calls
    ]
    return page(
        request,
        "coach/player.html",
        mixed=await speak_mixed(request, await show(parts.store, viewer.team.id, playbook, found)),
        player=member,
        calls=[
            {
                "cell": to_cell(one.estimate),
                "sides": sides_of(one),
                "counts": one.counts,
                "short": [s.value for s in one.estimate.short],
                "parts": one.parts,
            }
            for one in readouts
        ],
        misses=misses,
        call=chosen,
    )
