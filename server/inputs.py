"""What may be sent, field by field: typed, bounded, unknown fields refused, text that no database chokes on."""

from __future__ import annotations

from typing import Annotated

from fastapi import Path
from pydantic import AfterValidator, BaseModel, ConfigDict, Field, StringConstraints

from server.languages import LANGUAGES
from server.told import Told


def _plain(text: str) -> str:
    """Text without NUL and without halves of characters."""
    if "\x00" in text or any("\ud800" <= sign <= "\udfff" for sign in text):
        raise ValueError(Told("expected text without NUL characters and without halves of characters"))
    return text


Text = Annotated[str, StringConstraints(max_length=200), AfterValidator(_plain)]
Id = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9_-]{1,64}$")]
AnswerId = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9_-]{16,64}$")]
ChoiceId = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9_-]{1,40}$")]
Place = Annotated[int, Path(ge=1, le=100)]
TookMs = Annotated[int, Field(ge=0, le=86_400_000)]


class Sent(BaseModel):
    """Anything sent by a form or a script: no field too many."""

    model_config = ConfigDict(extra="forbid")


class JoinForm(Sent):
    """A player's number and PIN."""

    number: Text
    pin: Text


class CoachForm(Sent):
    """A coach's team, name and passphrase."""

    team: Text = ""
    name: Text
    passphrase: Text


class LanguageForm(Sent):
    """The language that this device wants, and the page of ours to go back to."""

    lang: Annotated[str, StringConstraints(pattern=f"^({'|'.join(LANGUAGES)})$")]
    back: Annotated[str, StringConstraints(max_length=200, pattern="^/([A-Za-z0-9_-][A-Za-z0-9_./-]*)?$")] = "/"


class AnswerForm(Sent):
    """An answer from the plain form: a choice for each part of the rep."""

    answer_id: AnswerId
    choice_1: ChoiceId | None = None
    choice_2: ChoiceId | None = None
    choice_3: ChoiceId | None = None
    choice_4: ChoiceId | None = None
    took_ms: TookMs | None = None

    @property
    def chosen(self) -> tuple[str, ...]:
        """The choices made, in order of the parts."""
        return tuple(c for c in (self.choice_1, self.choice_2, self.choice_3, self.choice_4) if c is not None)


class AnswerBody(Sent):
    """An answer from the page's script."""

    rep_id: Id
    chosen: Annotated[list[ChoiceId], Field(min_length=1, max_length=8)]
    attempt: Annotated[int, Field(ge=1, le=1)] = 1
    took_ms: TookMs | None = None


class OrderFields(Sent):
    """A set as a coach types it into a form. Everything is text here, so that what is wrong can be said on the form,
    with nothing typed lost; `server/orders.py` reads it.

    ``is_filled`` says that the form was there before; without it, what is empty is filled in. ``pick``, ``day``,
    ``again`` and ``who`` ask for help with it: those not there yet, a day of practice, a set sent before, its players.
    """

    call: Text = ""
    group: Text = ""
    positions: Annotated[list[Text], Field(max_length=60)] = []
    players: Annotated[list[Text], Field(max_length=300)] = []
    stages: Annotated[list[Text], Field(max_length=10)] = []
    sides: Annotated[list[Text], Field(max_length=10)] = []
    purpose: Text = "reps"
    length: Text = ""
    due: Text = ""
    is_weighted: Text = ""
    is_filled: Text = ""
    pick: Text = ""
    day: Text = ""
    again: Text = ""
    who: Text = ""


class DayForm(Sent):
    """A day of practice as typed; an id where there is one to change. `server/practice_days.py` reads it."""

    id: Text = ""
    name: Text = ""
    weekday: Text = ""
    due: Text = ""
    purpose: Text = "reps"
    stages: Annotated[list[Text], Field(max_length=10)] = []
    sides: Annotated[list[Text], Field(max_length=10)] = []
    length: Text = ""
    is_weighted: Text = ""


class SuggestedDayForm(Sent):
    """A suggested day that a coach takes."""

    key: Text


class DueForm(Sent):
    """A new due date."""

    due: Text = ""


SideName = Annotated[str, StringConstraints(pattern="^(left|right)$")]


class SnapFields(Sent):
    """A snap that a coach wants drawn; empty while he has not chosen."""

    call: Text = ""
    to: SideName = "right"
    formation: Text = ""
    play: Text = ""
    play_to: SideName = "right"
    position: Text = ""
    saved: Annotated[str, StringConstraints(pattern="^1?$")] = ""


class FileForm(Sent):
    """One of a team's files as edited, and the hash of the content that it was opened from."""

    text: Annotated[str, StringConstraints(max_length=60_000), AfterValidator(_plain)] = ""
    stands: Annotated[str, StringConstraints(pattern="^[0-9a-f]{1,128}$")]
    action: Annotated[str, StringConstraints(pattern="^(look|save)$")] = "look"


class CodesForm(Sent):
    """The players who get a new PIN."""

    players: Annotated[list[Id], Field(min_length=1, max_length=200)]


class EraseForm(Sent):
    """A player's name, typed to confirm that he is to be erased."""

    typed: Text = ""


class CoachAccountForm(Sent):
    """A new coach: his name, what he may, and a passphrase; empty: one is made."""

    name: Annotated[str, StringConstraints(max_length=60), AfterValidator(_plain)] = ""
    role: Annotated[str, StringConstraints(pattern="^(owner|coach|position coach)$")] = "coach"
    groups: Annotated[list[Text], Field(max_length=30)] = []
    passphrase: Text = ""


class PassphraseForm(Sent):
    """Another passphrase; empty: one is made."""

    passphrase: Text = ""


class RosterForm(Sent):
    """A roster's file that was looked at: its text, a use for each column, what becomes of players it does not have."""

    text: Annotated[str, StringConstraints(max_length=60_000), AfterValidator(_plain)]
    use: Annotated[
        list[Annotated[str, StringConstraints(pattern="^(number|name|positions|nothing)$")]], Field(max_length=60)
    ] = []
    others: Annotated[str, StringConstraints(pattern="^(stay|go)$")] = "stay"
    digest: Annotated[str, StringConstraints(pattern="^[0-9a-f]{0,64}$")] = ""
    action: Annotated[str, StringConstraints(pattern="^(look|take)$")] = "look"


class OpponentForm(Sent):
    """An opponent's name."""

    name: Text = ""


class NextForm(Sent):
    """Who is the next opponent; empty for nobody."""

    opponent: Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9_-]{0,64}$")] = ""


class TendencyForm(Sent):
    """What an opponent runs, typed: a name and a number for each row; shares of so many snaps, or counts."""

    play: Annotated[list[Text], Field(max_length=400)] = []
    number: Annotated[list[Text], Field(max_length=400)] = []
    unit: Annotated[str, StringConstraints(pattern="^(count|percent)$")] = "count"
    snaps: Text = ""


class PracticeForm(Sent):
    """A call that a player practices on his own, and how many reps of it."""

    call: Text
    length: Annotated[int, Field(ge=1, le=20)] = 4


Sheet = Annotated[str, StringConstraints(max_length=1_000_000), AfterValidator(_plain)]
Place0 = Annotated[str, StringConstraints(pattern="^[0-9]{0,2}$")]


class PlayListForm(Sent):
    """A play list on its way: its text, which line has the headings, which column is what (empty: none), and what each
    of its words is meant to be. ``listed`` says by which headings and column the words were listed, ``stands`` when
    what he runs had been changed last as it was looked at, in microseconds (empty: not looked at)."""

    sheet: Sheet = ""
    heading: Place0 = ""
    play: Place0 = ""
    count: Place0 = ""
    formation: Place0 = ""
    direction: Place0 = ""
    down: Place0 = ""
    distance: Place0 = ""
    listed: Annotated[str, StringConstraints(pattern="^[0-9]{0,2}/?[0-9]{0,2}$")] = ""
    word: Annotated[list[Annotated[str, StringConstraints(max_length=500)]], Field(max_length=300)] = []
    meant: Annotated[list[Text], Field(max_length=300)] = []
    way: Annotated[str, StringConstraints(pattern="^(replace|add)$")] = "replace"
    stands: Annotated[str, StringConstraints(pattern="^[0-9]{0,20}$")] = ""
