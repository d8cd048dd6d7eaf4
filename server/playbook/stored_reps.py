"""A rep as it is stored: drawn and worded once, and found again in a catalogue when it is to be said or drawn anew."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any

from server.database.tables import KeptRep
from server.playbook.engine import Engine, FootballError
from server.playbook.rep_summary import word

if TYPE_CHECKING:
    from server.playbook.engine import Catalogue


def snapshot(football: Engine, team_id: str, rep: Any, now: datetime, guess: float = 0.0) -> KeptRep:
    """A drawn rep as it will be stored; ``guess`` as in `KeptRep`."""
    return KeptRep(
        team_id=team_id,
        rep_id=rep.id,
        kind=rep.kind,
        stage=int(rep.stage),
        position=rep.keys.position,
        call=rep.keys.call,
        to=word(rep.to),
        formation=rep.keys.formation,
        play=rep.keys.play,
        play_to=word(rep.play_to) or None,
        stem=rep.stem,
        parts=parts_as_stored(rep),
        because=rep.because,
        picture=rep.picture,
        guise=rep.guise,
        before_svg=football.draw(rep.scene),
        after_svg=football.draw_end(rep.moved),
        job=rep.keys.job,
        guess=guess,
        first_at=now,
    )


def parts_as_stored(rep: Any) -> list[dict[str, Any]]:
    """A rep's parts as plain values."""
    return [
        {
            "prompt": part.prompt,
            "choices": [
                {
                    "id": c.id,
                    "key": c.key,
                    "label": c.label,
                    "phrase": c.phrase or c.label,
                    "leaves": c.leaves,
                    "relation": c.relation,
                }
                for c in part.choices
            ],
            "right": sorted(part.right),
        }
        for part in rep.parts
    ]


def said_as(football: Engine, shown: KeptRep, said: Catalogue) -> KeptRep:
    """A stored rep in the words of that catalogue; unchanged where its choices differ there."""
    try:
        other = snapshot(football, shown.team_id, said.rep(shown.rep_id), shown.first_at)
    except FootballError:
        return shown
    is_same = [answers_of(part) for part in other.parts] == [answers_of(part) for part in shown.parts]
    return other if is_same else shown


def find_same(catalogue: Catalogue, shown: KeptRep) -> Any | None:
    """The catalogue's rep that was stored; None when it has none with that id and the same choices.

    Raises: FootballError for a rep that can no longer be made.
    """
    rep = catalogue.rep(shown.rep_id)
    is_same = [answers_of(part) for part in parts_as_stored(rep)] == [answers_of(part) for part in shown.parts]
    return rep if is_same else None


def draw_miss(football: Engine, catalogue: Catalogue, shown: KeptRep, chosen: Sequence[str]) -> str | None:
    """A picture of where a wrong answer leads; None when the catalogue has no such rep with the same choices."""
    try:
        rep = find_same(catalogue, shown)
        return None if rep is None else football.draw_end(rep.after(chosen))
    except FootballError:
        return None


def draw_tapped(football: Engine, catalogue: Catalogue, shown: KeptRep, chosen: Sequence[str]) -> str:
    """The question of a rep with the player's choices tapped; see `Playbook.tapped`."""
    try:
        rep = find_same(catalogue, shown)
        return shown.before_svg if rep is None else football.draw_tapped(rep.scene, chosen)
    except FootballError:
        return shown.before_svg


def answers_of(part: Mapping[str, Any]) -> tuple[list[str], list[str]]:
    """The choice ids of a stored part, and the right ones."""
    return [choice["id"] for choice in part["choices"]], part["right"]
