"""A play list on its way in: choose the file, say what its columns and words are, see what would be stored, store it.

Nothing is kept between the steps: the page carries the text of the file and what was chosen.
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
    Sheet,
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
    """A play list on its way: its text, which line has the headings, which column is what (empty: none), and what each
    of its words is meant to be. ``listed`` says by which headings and column the words were listed, ``stands`` when
    what he runs had been changed last as it was looked at, in microseconds (empty: not looked at)."""

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
    """What an import works with: whose it is, the team's plays, and what words were said to be before."""

    opponent: Opponent
    plays: Sequence[PlaySummary]
    before: Mapping[str, str]


def gather(request: Request, opponent_id: str) -> Import:
    """What the import works with. Raises: NotFound."""
    services, viewer = services_of(request), viewer_of(request)
    plays = services.playbooks.of(viewer.team).plays()
    with services.store.read(viewer.team.id) as t:
        before = {one.word: one.play for one in t.rows(PlayWord)}
        return Import(find_opponent(t, opponent_id), plays, before)


@router.get("/coach/opponents/{opponent_id}/import")
def choose_file(request: Request, opponent_id: Id) -> Response:
    """Where the file is chosen."""
    return file_page(request, gather(request, opponent_id))


def file_page(request: Request, work: Import, problem: str = "") -> Response:
    """The page on which the file is chosen, with what was wrong about the last one."""
    return page(request, "coach/opponent_import.html", 422 if problem else 200, opponent=work.opponent, problem=problem)


@router.post("/coach/opponents/{opponent_id}/import")
def read_file(request: Request, opponent_id: Id, file: Annotated[UploadFile | None, File()] = None) -> Response:
    """The file taken apart, its columns and words proposed."""
    work = gather(request, opponent_id)
    try:
        text = check_size(decode(file.file.read() if file else b""))
        return map_page(request, work, PlayListForm(sheet=text), is_new=True)
    except BadInput as refusal:
        return file_page(request, work, refusal.message)


@router.post("/coach/opponents/{opponent_id}/import/map")
def map_again(request: Request, opponent_id: Id, form: Annotated[PlayListForm, Form()]) -> Response:
    """The same file with other columns, or back from the dry run: what was said of its words is kept."""
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
        stands=stands_of(work.opponent),
        glances=[(column, most_common_cells(sheet, columns_of(form, sheet), column)) for column in CHECKED],
        snaps=len(sheet.snaps),
    )


@router.post("/coach/opponents/{opponent_id}/import/store")
def store(
    request: Request, opponent_id: Id, form: Annotated[PlayListForm, Form()], services: AppServices, viewer: SignedIn
) -> Response:
    """Store what the dry run showed, all or nothing, in place of what is there or added to it."""
    now = services.now()
    work = gather(request, opponent_id)
    try:
        _, dry = run_dry(work, form)

        def take(t: TeamSession) -> None:
            opponent = find_opponent(t, opponent_id)
            if form.stands and form.stands != stands_of(opponent):
                raise BadInput("What he runs was changed since you looked. Nothing was stored; look again.")
            counts = dict(dry.play_counts)
            if form.way == "add":
                for name, count in opponent.play_counts.items():
                    counts[name] = counts.get(name, 0.0) + count
            store_counts(t, viewer.member.id, opponent_id, counts, work.plays, now)
            keep_words(t, meant_of(form))
            write_audit(t, viewer.member.id, "imported a play list", opponent_id, now)

        services.writes.write(viewer.team.id, take)
    except BadInput as refusal:
        return map_page(request, work, form, refusal.message)
    return redirect_to(f"/coach/opponents/{opponent_id}")


def run_dry(work: Import, form: PlayListForm) -> tuple[Sheet, DryRun]:
    """The sheet and what would be stored of it. Raises: BadInput."""
    sheet = read_sheet(work, form)
    columns = columns_of(form, sheet)
    if Column.PLAY not in columns:
        raise BadInput("the column of plays: expected one of the columns, found none chosen")
    if form.listed != listed_by(form.heading, form.play):
        raise BadInput("The column of plays or the line of headings was changed. These are its words now.")
    if len(form.meant) != len(form.word):
        raise BadInput(
            LazyText(
                "words: expected a play for each of {count}, found {found}", count=len(form.word), found=len(form.meant)
            )
        )
    known = {LEAVE_OUT, KEEP_NAME, UNCHARTED, *(play.name for play in work.plays)}
    for target in form.meant:
        if target not in known:
            raise BadInput(LazyText("{play}: expected a play of your team", play=target[:60]))
    dry = dry_run(sheet, columns, meant_of(form), work.plays)
    if not dry.total:
        raise BadInput("Nothing would be stored: every line is left out, or counts nothing.")
    return sheet, dry


def map_page(
    request: Request, work: Import, form: PlayListForm, problem: str = "", *, is_new: bool = False
) -> Response:
    """What the columns and words are. Raises: BadInput on a text that is no play list at all."""
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
            meant = {normalize(word): target for word, target in meant_of(form).items()}
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
        listed=listed_by(form.heading, form.play),
        words=words,
        plays=work.plays,
        uncharted=UNCHARTED,
    )


def read_sheet(work: Import, form: PlayListForm) -> Sheet:
    """The sheet with its headings where the form has them. Raises: BadInput."""
    return to_sheet(read_lines(form.sheet), work.plays, int(form.heading) if form.heading else None)


def columns_of(form: PlayListForm, sheet: Sheet) -> dict[Column, int]:
    """Which column is what, as chosen; a column that the sheet has not is none."""
    chosen = {column: getattr(form, column.value) for column in Column}
    return {column: int(place) for column, place in chosen.items() if place and int(place) < sheet.width}


def listed_by(heading: str, play: str) -> str:
    """By which headings and column the words on the page were listed."""
    return f"{heading}/{play}"


def stands_of(opponent: Opponent) -> str:
    """When what he runs was changed last, in microseconds."""
    return str((opponent.changed_at - EPOCH) // MICROSECOND)


def meant_of(form: PlayListForm) -> dict[str, str]:
    """What each word is meant to be."""
    return dict(zip(form.word, form.meant, strict=False))


def keep_words(t: TeamSession, meant: Mapping[str, str]) -> None:
    """Keep what words were said to be, to propose it again; a play under its own name is forgotten."""
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
