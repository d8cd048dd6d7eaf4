"""All errors of the server in one tree, with the HTTP status of each.

GapsoundServerError
├── SettingProblem      an unsafe or invalid setting; the start is refused
└── Refusal             a request refused with one clear message
    ├── BadHost         400  the Host header is missing, there twice, or names another server
    ├── BadInput        422  the message names what, where, and what was expected
    ├── NeedsSignIn     401
    ├── WrongSecret     401  number and PIN, or name and passphrase, don't match
    ├── NotAllowed      403
    ├── NotFound        404  no such thing, or another team's: both get the same answer
    ├── WrongMethod     405
    ├── Conflict        409
    │   └── Outdated         another coach changed the same since
    ├── Expired         410  a set that is closed or past due
    ├── TooLarge        413
    ├── TooManyTries    429
    ├── Unexpected      500  a bug; the log has it under the request's id
    └── Unavailable     503  the database can't be reached or written; nothing was changed

Knows nothing of pages or of what a request was for.
"""

from __future__ import annotations

from collections.abc import Sequence

from server.i18n.lazy_text import LazyText


class GapsoundServerError(Exception):
    """Base of all errors that the server raises on purpose."""


class SettingProblem(GapsoundServerError):
    """Settings that stop the start, one line each."""

    def __init__(self, lines: Sequence[str]) -> None:
        self.lines = list(lines)
        super().__init__("\n".join(lines))


class Refusal(GapsoundServerError):
    """A request refused with one message; ``status`` is the HTTP status, ``title`` the heading of the page.

    ``details`` are more lines (for example each problem of a file); ``retry_after_s`` says when to try again, None when
    trying again won't help; ``extra`` holds values for the API only.
    """

    status = 400
    title = LazyText("That did not work")

    def __init__(
        self,
        message: str,
        details: Sequence[str] = (),
        *,
        retry_after_s: int | None = None,
        extra: dict[str, object] | None = None,
    ) -> None:
        self.message = message
        self.details = list(details)
        self.retry_after_s = retry_after_s
        self.extra = dict(extra or {})
        super().__init__(message)

    @property
    def code(self) -> str:
        """The type's name, for programs."""
        return type(self).__name__


class BadHost(Refusal):
    """The Host header names no server of ours."""

    status = 400


class BadInput(Refusal):
    """Something sent was not what was expected."""

    status = 422
    title = LazyText("Something is not right in what was sent")


class NeedsSignIn(Refusal):
    """Nobody is signed in, or the session has ended."""

    status = 401
    title = LazyText("Sign in first")


class WrongSecret(Refusal):
    """The secret does not match."""

    status = 401
    title = LazyText("That did not match")


class NotAllowed(Refusal):
    """Signed in, but without permission."""

    status = 403
    title = LazyText("Not for this account")


class NotFound(Refusal):
    """There is no such thing in this team."""

    status = 404
    title = LazyText("There is nothing here")


class WrongMethod(Refusal):
    """The address exists, but not with this method."""

    status = 405
    title = LazyText("Not in this way")


class Conflict(Refusal):
    """Something else is already stored."""

    status = 409
    title = LazyText("Already answered")


class Outdated(Conflict):
    """Another coach changed the same since."""

    title = LazyText("Another coach was first")


class Expired(Refusal):
    """Closed or past due."""

    status = 410
    title = LazyText("This set is over")


class TooLarge(Refusal):
    """The request body is too large."""

    status = 413
    title = LazyText("Too large")


class TooManyTries(Refusal):
    """Too many wrong tries; wait."""

    status = 429
    title = LazyText("Wait a little")


class Unavailable(Refusal):
    """The database can't be reached or written just now."""

    status = 503
    title = LazyText("Not right now")


class Unexpected(Refusal):
    """A bug; the log has it under the request's id."""

    status = 500
    title = LazyText("Our fault")
