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
from server.database.columns import EPOCH, MICROSECOND
from server.database.store import TeamSession
from server.database.tables import FormationWord, Opponent, PlayWord
from server.errors import BadInput
from server.i18n.lazy_text import LazyText
from server.opponents.formation_words import ANY, formation_targets
from server.opponents.matching import KEEP_NAME, LEAVE_OUT, normalize
from server.opponents.play_list import (
    Column,
    DryRun,
    Placing,
    PlaySheet,
    Word,
    check_size,
    dry_run,
    find_columns,
    find_formation_words,
    find_words,
    most_common_cells,
    read_lines,
    to_sheet,
)
from server.opponents.tendencies import find_opponent, lined_up, runs_of, store_runs, tendency_of
from server.playbook.charted import UNCHARTED
from server.playbook.rep_summary import FormationSummary, PlaySummary
from server.reading.csv_files import decode
from server.reading.fields import Id, Sent, storable
from server.web.deps import AppServices, SignedIn, services_of, viewer_of
from server.web.responses import page, redirect_to

router = APIRouter()
WORDS_KEPT = 2_000
CHECKED = (Column.DOWN, Column.DISTANCE)

SheetText = Annotated[str, StringConstraints(max_length=1_000_000), AfterValidator(storable)]
Place0 = Annotated[str, StringConstraints(pattern="^[0-9]{0,2}$")]
Words = Annotated[list[Annotated[str, StringConstraints(max_length=1_002)]], Field(max_length=300)]
Meanings = Annotated[
    list[Annotated[str, StringConstraints(max_length=200), AfterValidator(storable)]], Field(max_length=300)
]


class PlayListForm(Sent):
    """A play list during its import: its text, the line with the headings, the column for each use (empty: none), whose
    left and right it has, and the play or formation for each of its words. ``listed`` is the headings, columns and
    sides that the words were listed for; ``stands`` is when the opponent's plays were last changed, as seen in the dry
    run, in microseconds (empty: none seen yet)."""

    sheet: SheetText = ""
    heading: Place0 = ""
    play: Place0 = ""
    count: Place0 = ""
    formation: Place0 = ""
    motion: Place0 = ""
    direction: Place0 = ""
    down: Place0 = ""
    distance: Place0 = ""
    sides: Annotated[str, StringConstraints(pattern="^(theirs|ours)$")] = "theirs"
    listed: Annotated[str, StringConstraints(pattern="^[0-9/]{0,16}(theirs|ours)?$")] = ""
    word: Words = Field(default_factory=list)
    meant: Meanings = Field(default_factory=list)
    formation_word: Words = Field(default_factory=list)
    formation_meant: Meanings = Field(default_factory=list)
    way: Annotated[str, StringConstraints(pattern="^(replace|add)$")] = "replace"
    stands: Annotated[str, StringConstraints(pattern="^[0-9]{0,20}$")] = ""


@dataclass(frozen=True, slots=True)
class Import:
    """The data of an import: the opponent, the team's plays and formations, and the meanings of words from earlier
    imports."""

    opponent: Opponent
    plays: Sequence[PlaySummary]
    formations: Sequence[FormationSummary]
    before: Mapping[str, str]
    formations_before: Mapping[str, str]


def gather(request: Request, opponent_id: str) -> Import:
    """Load the data of an import. Raises: NotFound."""
    services, viewer = services_of(request), viewer_of(request)
    playbook = services.playbooks.of(viewer.team)
    with services.store.read(viewer.team.id) as t:
        before = {one.word: one.play for one in t.rows(PlayWord)}
        formations_before = {one.word: one.formation for one in t.rows(FormationWord)}
        opponent = find_opponent(t, opponent_id)
    return Import(opponent, playbook.plays(), playbook.formations(), before, formations_before)


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
        lined_up=lined_up(dry.runs),
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
            before = runs_of(opponent) if form.way == "add" else []
            store_runs(t, viewer.member.id, opponent_id, [*before, *dry.runs], work.plays, now)
            store_words(t, PlayWord, meanings_of(form))
            store_words(t, FormationWord, formations_of(form))
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
    if form.listed != listing_key(form):
        raise BadInput("The columns, the line of headings or the sides were changed. These are their words now.")
    for words, meant in ((form.word, form.meant), (form.formation_word, form.formation_meant)):
        if len(meant) != len(words):
            raise BadInput(
                LazyText(
                    "words: expected a meaning for each of {count}, found {found}", count=len(words), found=len(meant)
                )
            )
    known = {LEAVE_OUT, KEEP_NAME, UNCHARTED, *(play.key for play in work.plays)}
    for target in form.meant:
        if target not in known:
            raise BadInput(LazyText("{play}: expected a play of your team", play=target[:60]))
    known = {ANY, KEEP_NAME, *formation_targets(work.formations)}
    for target in form.formation_meant:
        if target not in known:
            raise BadInput(LazyText("{formation}: expected a formation of your team", formation=target[:60]))
    placing = Placing(work.formations, formations_of(form), form.sides == "ours")
    dry = dry_run(sheet, columns, meanings_of(form), work.plays, placing)
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
    formation_words: list[Word] = []
    columns = columns_of(form, sheet)
    if Column.PLAY in columns:
        try:
            words = find_words(sheet, columns, work.plays, {**work.before, **_by_word(meanings_of(form))})
            typed = _by_word(formations_of(form)) if form.listed.endswith(form.sides) else {}
            formation_words = find_formation_words(
                sheet, columns, work.formations, {**work.formations_before, **typed}, is_ours=form.sides == "ours"
            )
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
        listed=listing_key(form),
        words=words,
        plays=work.plays,
        formation_words=formation_words,
        formations=formation_targets(work.formations),
        uncharted=UNCHARTED,
    )


def read_sheet(work: Import, form: PlayListForm) -> PlaySheet:
    """Parse the sheet with the headings chosen in the form. Raises: BadInput."""
    return to_sheet(read_lines(form.sheet), work.plays, int(form.heading) if form.heading else None)


def columns_of(form: PlayListForm, sheet: PlaySheet) -> dict[Column, int]:
    """The chosen column for each use, without columns that the sheet doesn't have."""
    chosen = {column: getattr(form, column.value) for column in Column}
    return {column: int(place) for column, place in chosen.items() if place and int(place) < sheet.width}


def listing_key(form: PlayListForm) -> str:
    """The headings, columns and sides that the page's words were listed for, as one value."""
    return f"{form.heading}/{form.play}/{form.formation}/{form.motion}/{form.sides}"


def last_change(opponent: Opponent) -> str:
    """When the opponent's plays were last changed, in microseconds."""
    return str((opponent.changed_at - EPOCH) // MICROSECOND)


def meanings_of(form: PlayListForm) -> dict[str, str]:
    """The chosen play for each word."""
    return dict(zip(form.word, form.meant, strict=False))


def formations_of(form: PlayListForm) -> dict[str, str]:
    """The chosen formation for each word."""
    return dict(zip(form.formation_word, form.formation_meant, strict=False))


def _by_word(meant: Mapping[str, str]) -> dict[str, str]:
    return {normalize(word): target for word, target in meant.items()}


def store_words(t: TeamSession, table: type[PlayWord | FormationWord], meant: Mapping[str, str]) -> None:
    """Store the meanings of words, to suggest them next time; a word that keeps its name is removed."""
    column = "play" if table is PlayWord else "formation"
    stored = {one.word: one for one in t.rows(table, col(table.word).in_([normalize(word) for word in meant]))}
    room = WORDS_KEPT - t.count(table)
    for word, target in meant.items():
        row = stored.get(normalize(word))
        if target == KEEP_NAME:
            if row is not None:
                t.delete(row)
                del stored[normalize(word)]
        elif row is not None:
            setattr(row, column, target)
            t.add(row)
        elif room > 0 and normalize(word):
            row = table(team_id=t.team_id, word=normalize(word), **{column: target})
            t.add(row)
            stored[normalize(word)] = row
            room -= 1
