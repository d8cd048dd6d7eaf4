"""Importing a play list: choose the file, map its columns and words, look at the dry run, store it.

Nothing is stored between the steps: the page carries the file's text and the choices.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, File, Form, Request, UploadFile
from pydantic import AfterValidator, Field, StringConstraints
from sqlmodel import col
from starlette.responses import Response

from server.accounts.members import write_audit
from server.database.store import TeamSession
from server.database.tables import EPOCH, MICROSECOND, Opponent, PlayWord
from server.errors import BadInput
from server.i18n.lazy_text import LazyText
from server.opponents.play_list import (
    KEEP_NAME,
    LEAVE_OUT,
    Column,
    DryRun,
    PlaySheet,
    Word,
    check_size,
    dry_run,
    find_columns,
    find_words,
    most_common_cells,
    normalize,
    read_lines,
    to_sheet,
)
from server.opponents.tendencies import UNCHARTED, find_opponent, store_counts, tendency_of
from server.playbook.rep_summary import PlaySummary
from server.reading.csv_files import decode
from server.reading.fields import Id, Sent, Text, storable
from server.web.deps import AppServices, SignedIn, services_of, viewer_of
from server.web.responses import page, redirect_to

router = APIRouter()
WORDS_KEPT = 2_000
CHECKED = (Column.FORMATION, Column.DIRECTION, Column.DOWN, Column.DISTANCE)

SheetText = Annotated[str, StringConstraints(max_length=1_000_000), AfterValidator(storable)]
Place0 = Annotated[str, StringConstraints(pattern="^[0-9]{0,2}$")]


class PlayListForm(Sent):
    """A play list during its import: its text, the line with the headings, the column for each use (empty: none), and
    the play for each of its words. ``listed`` is the headings and column that the words were listed for; ``stands`` is
    when the opponent's plays were last changed, as seen in the dry run, in microseconds (empty: none seen yet)."""

    sheet: SheetText = ""
    heading: Place0 = ""
    play: Place0 = ""
    count: Place0 = ""
    formation: Place0 = ""
    direction: Place0 = ""
    down: Place0 = ""
    distance: Place0 = ""
    listed: Annotated[str, StringConstraints(pattern="^[0-9]{0,2}/?[0-9]{0,2}$")] = ""
    word: Annotated[list[Annotated[str, StringConstraints(max_length=500)]], Field(max_length=300)] = Field(
        default_factory=list
    )
    meant: Annotated[list[Text], Field(max_length=300)] = Field(default_factory=list)
    way: Annotated[str, StringConstraints(pattern="^(replace|add)$")] = "replace"
    stands: Annotated[str, StringConstraints(pattern="^[0-9]{0,20}$")] = ""


@dataclass(frozen=True, slots=True)
class Import:
    """The data of an import: the opponent, the team's plays, and the meanings of words from earlier imports."""

    opponent: Opponent
    plays: Sequence[PlaySummary]
    before: Mapping[str, str]


def gather(request: Request, opponent_id: str) -> Import:
    """Load the data of an import. Raises: NotFound."""
    services, viewer = services_of(request), viewer_of(request)
    plays = services.playbooks.of(viewer.team).plays()
    with services.store.read(viewer.team.id) as t:
        before = {one.word: one.play for one in t.rows(PlayWord)}
        return Import(find_opponent(t, opponent_id), plays, before)


@router.get("/coach/opponents/{opponent_id}/import")
def choose_file(request: Request, opponent_id: Id) -> Response:
    """The page to choose a file."""
    return file_page(request, gather(request, opponent_id))


def file_page(request: Request, work: Import, problem: str = "") -> Response:
    """The page to choose a file, with the problem of the last one."""
    return page(request, "coach/opponent_import.html", 422 if problem else 200, opponent=work.opponent, problem=problem)


@router.post("/coach/opponents/{opponent_id}/import")
def read_file(request: Request, opponent_id: Id, file: Annotated[UploadFile | None, File()] = None) -> Response:
    """Parse the file, and suggest columns and words."""
    work = gather(request, opponent_id)
    try:
        text = check_size(decode(file.file.read() if file else b""))
        return map_page(request, work, PlayListForm(sheet=text), is_new=True)
    except BadInput as refusal:
        return file_page(request, work, refusal.message)


@router.post("/coach/opponents/{opponent_id}/import/map")
def map_again(request: Request, opponent_id: Id, form: Annotated[PlayListForm, Form()]) -> Response:
    """Map the same file again, with other columns or after the dry run; choices for its words stay."""
    work = gather(request, opponent_id)
    try:
        return map_page(request, work, form)
    except BadInput as refusal:
        return file_page(request, work, refusal.message)


@router.post("/coach/opponents/{opponent_id}/import/try")
def show_dry_run(request: Request, opponent_id: Id, form: Annotated[PlayListForm, Form()]) -> Response:
    """What would be stored; nothing is."""
    work = gather(request, opponent_id)
    try:
        sheet, dry = run_dry(work, form)
    except BadInput as refusal:
        return map_page(request, work, form, refusal.message)
    return page(
        request,
        "coach/opponent_try.html",
        opponent=work.opponent,
        form=form,
        dry=dry,
        tendency=tendency_of(dry.play_counts, work.plays),
        there=sum(work.opponent.play_counts.values()),
        stands=last_change(work.opponent),
        glances=[(column, most_common_cells(sheet, columns_of(form, sheet), column)) for column in CHECKED],
        snaps=len(sheet.snaps),
    )


@router.post("/coach/opponents/{opponent_id}/import/store")
def store(
    request: Request, opponent_id: Id, form: Annotated[PlayListForm, Form()], services: AppServices, viewer: SignedIn
) -> Response:
    """Store what the dry run showed, all or nothing, replacing or adding to what is there."""
    now = services.now()
    work = gather(request, opponent_id)
    try:
        _, dry = run_dry(work, form)

        def take(t: TeamSession) -> None:
            opponent = find_opponent(t, opponent_id)
            if form.stands and form.stands != last_change(opponent):
                raise BadInput("What he runs was changed since you looked. Nothing was stored; look again.")
            counts = dict(dry.play_counts)
            if form.way == "add":
                for name, count in opponent.play_counts.items():
                    counts[name] = counts.get(name, 0.0) + count
            store_counts(t, viewer.member.id, opponent_id, counts, work.plays, now)
            store_words(t, meanings_of(form))
            write_audit(t, viewer.member.id, "imported a play list", opponent_id, now)

        services.writes.write(viewer.team.id, take)
    except BadInput as refusal:
        return map_page(request, work, form, refusal.message)
    return redirect_to(f"/coach/opponents/{opponent_id}")


def run_dry(work: Import, form: PlayListForm) -> tuple[PlaySheet, DryRun]:
    """The sheet and what would be stored from it. Raises: BadInput."""
    sheet = read_sheet(work, form)
    columns = columns_of(form, sheet)
    if Column.PLAY not in columns:
        raise BadInput("the column of plays: expected one of the columns, found none chosen")
    if form.listed != listing_key(form.heading, form.play):
        raise BadInput("The column of plays or the line of headings was changed. These are its words now.")
    if len(form.meant) != len(form.word):
        raise BadInput(
            LazyText(
                "words: expected a play for each of {count}, found {found}", count=len(form.word), found=len(form.meant)
            )
        )
    known = {LEAVE_OUT, KEEP_NAME, UNCHARTED, *(play.key for play in work.plays)}
    for target in form.meant:
        if target not in known:
            raise BadInput(LazyText("{play}: expected a play of your team", play=target[:60]))
    dry = dry_run(sheet, columns, meanings_of(form), work.plays)
    if not dry.total:
        raise BadInput("Nothing would be stored: every line is left out, or counts nothing.")
    return sheet, dry


def map_page(
    request: Request, work: Import, form: PlayListForm, problem: str = "", *, is_new: bool = False
) -> Response:
    """The page to map columns and words. Raises: BadInput when the text is no play list."""
    sheet = read_sheet(work, form)
    if is_new:
        heading = 0 if sheet.heading is None else sheet.heading + 1
        found = find_columns(sheet, work.plays)
        chosen = {column.value: str(place) for column, place in found.items()}
        form = PlayListForm.model_validate({"sheet": form.sheet, "heading": str(heading), **chosen})
    words: list[Word] = []
    columns = columns_of(form, sheet)
    if Column.PLAY in columns:
        try:
            meant = {normalize(word): target for word, target in meanings_of(form).items()}
            words = find_words(sheet, columns, work.plays, {**work.before, **meant})
        except BadInput as refusal:
            problem = problem or refusal.message
    return page(
        request,
        "coach/opponent_map.html",
        422 if problem else 200,
        opponent=work.opponent,
        problem=problem,
        form=form,
        sheet=sheet,
        listed=listing_key(form.heading, form.play),
        words=words,
        plays=work.plays,
        uncharted=UNCHARTED,
    )


def read_sheet(work: Import, form: PlayListForm) -> PlaySheet:
    """Parse the sheet with the headings chosen in the form. Raises: BadInput."""
    return to_sheet(read_lines(form.sheet), work.plays, int(form.heading) if form.heading else None)


def columns_of(form: PlayListForm, sheet: PlaySheet) -> dict[Column, int]:
    """The chosen column for each use, without columns that the sheet doesn't have."""
    chosen = {column: getattr(form, column.value) for column in Column}
    return {column: int(place) for column, place in chosen.items() if place and int(place) < sheet.width}


def listing_key(heading: str, play: str) -> str:
    """The headings and column that the page's words were listed for, as one value."""
    return f"{heading}/{play}"


def last_change(opponent: Opponent) -> str:
    """When the opponent's plays were last changed, in microseconds."""
    return str((opponent.changed_at - EPOCH) // MICROSECOND)


def meanings_of(form: PlayListForm) -> dict[str, str]:
    """The chosen play for each word."""
    return dict(zip(form.word, form.meant, strict=False))


def store_words(t: TeamSession, meant: Mapping[str, str]) -> None:
    """Store the meanings of words, to suggest them next time; a word equal to its play's name is removed."""
    stored = {one.word: one for one in t.rows(PlayWord, col(PlayWord.word).in_([normalize(word) for word in meant]))}
    room = WORDS_KEPT - t.count(PlayWord)
    for word, target in meant.items():
        row = stored.get(normalize(word))
        if target == KEEP_NAME:
            if row is not None:
                t.delete(row)
                del stored[normalize(word)]
        elif row is not None:
            row.play = target
            t.add(row)
        elif room > 0 and normalize(word):
            stored[normalize(word)] = PlayWord(team_id=t.team_id, word=normalize(word), play=target)
            t.add(stored[normalize(word)])
            room -= 1
