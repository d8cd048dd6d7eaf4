"""The player's pages: what is due, a set, a rep, its result. Plain forms, which work without scripts."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any

from fastapi import APIRouter, Form, Path, Query, Request
from starlette.responses import Response

from server.accounts.credentials import make_id
from server.accounts.sessions import Viewer
from server.answers.recording import GivenAnswer, SentAnswer
from server.database.tables import Answer
from server.errors import BadInput, Conflict, NotFound
from server.i18n.languages import language_of
from server.mastery.picker import CHECK_MIN
from server.reading.fields import AnswerId, ChoiceId, Id, Sent, TookMs
from server.routes.roster import team_link
from server.sets.check_sessions import find_check_result
from server.sets.meeting import find_own_meeting
from server.sets.opened_calls import opened_calls
from server.sets.opening import open_set
from server.sets.player_sets import (
    SetProgress,
    answers_of,
    check_not_over,
    is_over_for,
    is_taken_back,
    own_progress,
    own_sets,
)
from server.sets.practice import (
    LENGTHS,
    MAX_OPEN,
    SHORTEST,
    OwnCall,
    is_practice,
    nearest_first,
    open_practices,
    own_calls,
    suggest_call,
)
from server.sets.set_summary import summarize
from server.web.calendar_reply import calendar_reply
from server.web.deps import AppServices, Services, SignedIn
from server.web.responses import page, redirect_to
from server.web.translated_reps import draw_misses, translate_answer, translate_parts, translate_rep, translate_reps

router = APIRouter()
DONE_SHOWN, MISSED_SHOWN = 10, 5

PlaceNumber = Annotated[int, Path(ge=1, le=100)]


class AnswerForm(Sent):
    """An answer from the plain form: one choice for each part of the rep."""

    answer_id: AnswerId
    choice_1: ChoiceId | None = None
    choice_2: ChoiceId | None = None
    choice_3: ChoiceId | None = None
    choice_4: ChoiceId | None = None
    took_ms: TookMs | None = None

    @property
    def chosen(self) -> tuple[str, ...]:
        """The choices in order of the parts."""
        return tuple(c for c in (self.choice_1, self.choice_2, self.choice_3, self.choice_4) if c is not None)


@router.get("/home")
def home(request: Request, services: AppServices, viewer: SignedIn) -> Response:
    """What is due, the next first; then the player's calls and his own practice."""
    now = services.now()
    with services.store.read(viewer.team.id) as t:
        sets = own_sets(t, viewer.member)
        practices = open_practices(t, viewer.member, now)
        room = find_own_meeting(t, viewer.member, now)
    own = viewer.member.id
    sent = [s for s in sets if not is_practice(s.assignment) and not s.is_finished]
    due = [s for s in sent if not is_over_for(s.assignment, own, now)]
    missed = [s for s in sent if is_over_for(s.assignment, own, now) and not is_taken_back(s.assignment, own)]
    taken_back = [s for s in sent if is_taken_back(s.assignment, own) and s.assignment.due_at > now]
    done = sorted((s for s in sets if s.is_finished), key=lambda s: s.opened.opened_at if s.opened else now)
    calls = find_own_calls(services, viewer, now)
    return page(
        request,
        "player/home.html",
        room=room,
        due=due,
        is_new=not any(s.answered for s in sets),
        practices=practices,
        done=done[: -DONE_SHOWN - 1 : -1],
        missed=missed[-MISSED_SHOWN:],
        taken_back=taken_back,
        calls=nearest_first(calls),
        offered=suggest_call(calls),
        lengths=LENGTHS,
        shortest=SHORTEST,
        may_begin=len(practices) < MAX_OPEN,
    )


def find_own_calls(services: Services, viewer: Viewer, now: datetime) -> list[OwnCall]:
    """The player's state on the calls open to him; empty when the team's files have problems, so that the page can
    still show what is due."""
    try:
        playbook = services.playbooks.of(viewer.team)
    except BadInput:
        return []
    team_state = services.team_states.of(services.store, viewer.team.id, playbook)
    with services.store.read(viewer.team.id) as t:
        opened = opened_calls(t, viewer.member, team_state.state, playbook.calls)
    return own_calls(opened, viewer.member, team_state, now)


@router.get("/first-rep")
def show_first_rep(
    request: Request, services: AppServices, viewer: SignedIn, choice_1: Annotated[ChoiceId | None, Query()] = None
) -> Response:
    """A rep that shows how to tap and counts for nothing: nothing of it is stored."""
    playbook, language = services.playbooks.of(viewer.team), language_of(request.scope)
    own = set(viewer.member.positions)
    label = next((one.label for one in playbook.positions if one.key in own), "ME")
    football = playbook.football
    first = playbook.ask(lambda catalogue: football.first_rep(catalogue, label, choice_1 or ""), language)
    scene = first.scene if first.is_right is None else first.moved
    return page(request, "player/first_rep.html", first=first, svg=football.draw(scene))


@router.get("/no-signal")
def no_signal(request: Request, viewer: SignedIn) -> Response:
    """The page that his phone keeps, to show in place of one that it can't get."""
    return page(request, "player/no_signal.html")


@router.get("/sets/{set_id}")
def show_set(request: Request, set_id: Id, services: AppServices, viewer: SignedIn) -> Response:
    """A set: start it, continue it, or see how it went."""
    with services.store.read(viewer.team.id) as t:
        done = own_progress(t, set_id, viewer.member)
    done = services.check_sessions.settle(viewer.team, done, services.now())
    with services.store.read(viewer.team.id) as t:
        given = answers_of(t, done, viewer.member.id)
        answers = [given[p.place] for p in done.places if p.place in given]
        stored = [services.kept_reps.get(t, answer.rep_id) for answer in answers]
    reps = translate_reps(request, stored)
    results = [(translate_answer(request, answer, rep), rep) for answer, rep in zip(answers, reps, strict=True)]
    over = is_over_for(done.assignment, viewer.member.id, services.now())
    if done.is_finished or (over and done.answered):
        pictures = draw_misses(request, results)
        said = [translate_parts(request, answer, rep) for answer, rep in results]
        shown: dict[str, Any] = {"set": done, "results": results, "summary": summarize(done, results)}
        calls = find_own_calls(services, viewer, services.now())
        shown["own"] = next((one for one in calls if one.call == done.assignment.call), None)
        shown |= {"pictures": pictures, "said": said}
        shown["is_taken_back"] = is_taken_back(done.assignment, viewer.member.id)
        return page(request, "player/summary.html", **shown, is_over=over, verdict=find_check_result(done))
    check_not_over(done.assignment, viewer.member.id, services.now())
    return page(request, "player/set.html", set=done, check_min=CHECK_MIN)


@router.get("/sets/{set_id}/calendar.ics")
def calendar(request: Request, set_id: Id, services: AppServices, viewer: SignedIn) -> Response:
    """The moment when a set is due, as a calendar file."""
    with services.store.read(viewer.team.id) as t:
        done = own_progress(t, set_id, viewer.member)
    return calendar_reply(request, done.assignment, team_link(request, viewer.team.join_code))


@router.post("/sets/{set_id}/open")
def open_own_set(set_id: Id, services: AppServices, viewer: SignedIn) -> Response:
    """Lay the set out for this player if needed, and go to the first rep without an answer."""
    with services.store.read(viewer.team.id) as t:
        done = own_progress(t, set_id, viewer.member)
    done = open_if_new(services, viewer, done)
    done = services.check_sessions.settle(viewer.team, done, services.now())
    return redirect_to(where_next(done))


@router.get("/sets/{set_id}/reps/{place}")
def show_rep(request: Request, set_id: Id, place: PlaceNumber, services: AppServices, viewer: SignedIn) -> Response:
    """A rep to answer; after the answer, its result."""
    with services.store.read(viewer.team.id) as t:
        done = own_progress(t, set_id, viewer.member)
        found = done.find(place)
        if found is None and any(p.place == place for p in done.spare):
            return redirect_to(where_next(done))  # the call was decided after that page was loaded
        if found is None:
            raise NotFound("There is no such rep in this set for you.")
        stored = services.kept_reps.get(t, found.rep_id)
        given = t.find(Answer, viewer.member.id, found.answer.id) if found.answer else None
    rep = translate_rep(request, stored)
    shared: dict[str, Any] = {"set": done, "place": found, "rep": rep}
    if given is not None:
        answer = translate_answer(request, given, rep)
        [picture] = draw_misses(request, [(given, rep)])
        shared |= {"answer": answer, "said": translate_parts(request, given, rep), "picture": picture}
        return page(request, "player/feedback.html", **shared, next=where_next(done))
    check_not_over(done.assignment, viewer.member.id, services.now(), done.answered)
    return page(request, "player/rep.html", **shared, answer_id=make_id() + make_id())


@router.post("/sets/{set_id}/reps/{place}")
def answer_rep(
    request: Request,
    set_id: Id,
    place: PlaceNumber,
    form: Annotated[AnswerForm, Form()],
    services: AppServices,
    viewer: SignedIn,
) -> Response:
    """Store an answer from the plain form; sending it twice stores it once."""
    if not form.chosen:
        raise BadInput("answer: expected one of the choices, found none. Go back, choose, and send it again.")
    given = GivenAnswer(form.answer_id, place, form.chosen, took_ms=form.took_ms)
    sent = SentAnswer(set_id, viewer.member, given, services.now())
    outcome = services.writes.write(viewer.team.id, lambda t: services.recorder.record(t, sent))
    request.state.is_late = outcome.answer.is_late
    services.check_sessions.settle(viewer.team, outcome.done, services.now())
    if outcome.status == 409 and outcome.answer.place != place:
        raise Conflict("This answer was sent for another rep before. Go back to the set and answer this one anew.")
    return redirect_to(f"/sets/{set_id}/reps/{place}")


def open_if_new(services: Services, viewer: Viewer, done: SetProgress) -> SetProgress:
    """The player's copy of a set, laid out now if he has none yet."""
    if done.opened is not None:
        return done
    playbook = services.playbooks.of(viewer.team)
    team_state = services.team_states.of(services.store, viewer.team.id, playbook)
    return open_set(services.writes, playbook, team_state, done, viewer.member, services.now())


def where_next(done: SetProgress) -> str:
    """The address of the next rep, or of the summary after the last."""
    at = f"/sets/{done.assignment.id}"
    return at if done.next_place is None else f"{at}/reps/{done.next_place}"
