"""Signing in and out: team code, number and PIN; the coach's passphrase; sign-out."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from starlette.responses import Response

from server.accounts.credentials import (
    CODE_ALPHABET,
    CODE_LENGTH,
    KEY_KEPT,
    cookie_name,
    device_cookie_name,
    from_typed_code,
)
from server.accounts.sign_in import SignedInDevice
from server.database.tables import AccountRole
from server.errors import BadInput, Refusal, TooManyTries, WrongSecret
from server.i18n.lazy_text import LazyText
from server.reading.fields import Sent, Text
from server.web.deps import AppServices, SignedIn, device_of, find_viewer, is_https, services_of
from server.web.responses import moved_to, page, redirect_to

router = APIRouter()


class PlayerSignInForm(Sent):
    """A player's number and PIN."""

    number: Text
    pin: Text


class CoachForm(Sent):
    """A coach's team, name and passphrase."""

    team: Text = ""
    name: Text
    passphrase: Text


@router.get("/")
def start(request: Request) -> Response:
    """Redirect to the player's home, the coach's board, or sign-in."""
    viewer = find_viewer(request)
    if viewer is None:
        return redirect_to("/team")
    return redirect_to("/coach/board" if viewer.is_coach else "/home")


@router.get("/team")
def ask_team_code(request: Request, code: Text = "") -> Response:
    """The page for the team's code."""
    if not code:
        return page(request, "player/team.html", code="", problem="")
    typed = from_typed_code(code)
    if len(typed) != CODE_LENGTH or not set(typed) <= set(CODE_ALPHABET):
        problem = LazyText(
            "code: expected {count} letters and digits as on the wall or the code sheet", count=CODE_LENGTH
        )
        return page(request, "player/team.html", 422, code=code, problem=problem)
    return redirect_to(f"/team/{typed}")


@router.get("/join")
def old_team_page(code: Text = "") -> Response:
    """The team page's address before it was /team; bookmarks and printed sheets still have it."""
    return moved_to("/team", code=code)


@router.get("/join/{code}")
def old_sign_in_page(code: Text) -> Response:
    """The sign-in page's old address."""
    return moved_to(f"/team/{code}")


@router.get("/team/{code}")
def ask_number(request: Request, code: Text, services: AppServices) -> Response:
    """The page for number and PIN, in the team with this code."""
    team = services.sign_ins.team_by_code(from_typed_code(code), device_of(request), services.now())
    return page(request, "player/sign_in.html", team=team, number="", problem="")


@router.post("/team/{code}")
def sign_in_player(
    request: Request, code: Text, form: Annotated[PlayerSignInForm, Form()], services: AppServices
) -> Response:
    """Sign a player in on this phone."""
    device = device_of(request)
    team = services.sign_ins.team_by_code(from_typed_code(code), device, services.now())
    try:
        number = parse_number(form.number)
        begun = services.sign_ins.sign_in_player(team, number, "".join(form.pin.split()), device, services.now())
    except (BadInput, WrongSecret, TooManyTries) as refusal:
        return try_again(
            page(
                request, "player/sign_in.html", refusal.status, team=team, number=form.number, problem=refusal.message
            ),
            refusal,
        )
    return with_session(request, redirect_to("/home"), begun, services.settings.player_session_days)


@router.get("/coach/sign-in")
def coach_sign_in(request: Request, team: Text = "") -> Response:
    """The page for sign-in name and passphrase; also for the team, if the address and the server leave it open."""
    return page(request, "coach/sign_in.html", team=team, asks_team=asks_team(request, team), name="", problem="")


@router.post("/coach/sign-in")
def sign_in_coach(request: Request, form: Annotated[CoachForm, Form()], services: AppServices) -> Response:
    """Sign a coach in on this device."""
    device = device_of(request)
    team_id = form.team.strip() or only_team(request) or ""
    try:
        begun = services.sign_ins.sign_in_coach(team_id, form.name, form.passphrase, device, services.now())
    except (WrongSecret, TooManyTries) as refusal:
        return try_again(
            page(
                request,
                "coach/sign_in.html",
                refusal.status,
                team=form.team,
                asks_team=asks_team(request, form.team),
                name=form.name,
                problem=refusal.message,
            ),
            refusal,
        )
    return with_session(request, redirect_to("/coach/board"), begun, services.settings.coach_session_days)


@router.post("/sign-out")
def sign_out(request: Request, services: AppServices, viewer: SignedIn) -> Response:
    """End this device's session."""
    services.sessions.sign_out(viewer)
    response = redirect_to(f"/team/{viewer.team.join_code}" if viewer.role is AccountRole.PLAYER else "/coach/sign-in")
    https = is_https(request)
    response.delete_cookie(cookie_name(https), path="/", secure=https, httponly=True, samesite="lax")
    return response


def parse_number(text: str) -> int:
    """A jersey number. Raises: BadInput."""
    typed = text.strip().removeprefix("#")
    if not typed.isascii() or not typed.isdigit() or len(typed) > 3:
        raise BadInput(LazyText("number: expected the number on your jersey, found {found!r}", found=text[:20]))
    return int(typed)


def only_team(request: Request) -> str | None:
    """The id of the server's only team; None when there are none or several."""
    teams = services_of(request).store.teams()
    return teams[0].id if len(teams) == 1 else None


def asks_team(request: Request, team: str) -> bool:
    """Whether a coach has to name his team."""
    return not team and only_team(request) is None


def try_again(response: Response, refusal: Refusal) -> Response:
    """The form again; with Retry-After if the refusal has one."""
    if refusal.retry_after_s is not None:
        response.headers["Retry-After"] = str(refusal.retry_after_s)
    return response


def with_session(request: Request, response: Response, begun: SignedInDevice, days: int) -> Response:
    """A response that sets the session's cookie, and the one by which this device is known."""
    https = is_https(request)
    cookies = ((cookie_name(https), begun.token, days), (device_cookie_name(https), begun.key, KEY_KEPT.days))
    for name, value, kept_days in cookies:
        response.set_cookie(
            name, value, max_age=kept_days * 86_400, path="/", secure=https, httponly=True, samesite="lax"
        )
    return response
