"""What can go wrong between a person and the server, in one tree, and what each kind means in HTTP, in one table.

GapsoundServerError
├── SettingProblem      a setting that is unsafe or makes no sense; the start is refused
└── Refusal             a request that is refused with one clear message
    ├── BadInput        422  the message names what, where, and what was expected
    ├── NeedsSignIn     401
    ├── WrongSecret     401  number and PIN, or name and passphrase, don't match
    ├── NotAllowed      403
    ├── NotFound        404  no such thing, or another team's: the two answer alike
    ├── Conflict        409
    ├── Expired         410  a set that is closed or past due
    ├── TooLarge        413
    ├── TooManyTries    429
    └── Unavailable     503  the database can't be reached or written; nothing was changed

It must not know how a page looks or what a request was for.
"""

from __future__ import annotations

from collections.abc import Sequence

from server.i18n.lazy_text import LazyText


class GapsoundServerError(Exception):
    """Base of every error that the server raises on purpose."""


class SettingProblem(GapsoundServerError):
    """Settings that stop the start, a line each."""

    def __init__(self, lines: Sequence[str]) -> None:
        self.lines = list(lines)
        super().__init__("\n".join(lines))


class Refusal(GapsoundServerError):
    """A request refused with one message; ``status`` is its HTTP code, ``title`` the heading of its page.

    ``details`` are further lines (each problem of a file, say); ``retry_after_s`` says when to try again, None when
    that makes no sense; ``extra`` are values that only the API sends.
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
        """The kind in one word, for programs."""
        return type(self).__name__


class BadInput(Refusal):
    """Something sent is not what was expected."""

    status = 422
    title = LazyText("Something is not right in what was sent")


class NeedsSignIn(Refusal):
    """Nobody is signed in, or the session has ended."""

    status = 401
    title = LazyText("Sign in first")


class WrongSecret(Refusal):
    """Name and secret do not belong together."""

    status = 401
    title = LazyText("That did not match")


class NotAllowed(Refusal):
    """Signed in, but not for this."""

    status = 403
    title = LazyText("Not for this account")


class NotFound(Refusal):
    """There is no such thing in this team."""

    status = 404
    title = LazyText("There is nothing here")


class WrongMethod(Refusal):
    """The address is right, the way of asking is not."""

    status = 405
    title = LazyText("Not in this way")


class Conflict(Refusal):
    """Something else already stands."""

    status = 409
    title = LazyText("Already answered")


class Expired(Refusal):
    """Closed or past due."""

    status = 410
    title = LazyText("This set is over")


class TooLarge(Refusal):
    """More was sent than is taken."""

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
    """A fault of the program; the log has it under the request's id."""

    status = 500
    title = LazyText("Our fault")
