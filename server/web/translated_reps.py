"""Reps and answers in the reader's language.

Reps are stored in English and answers by the keys of their choices, so that counts never split by language; the team's
playbook translates them when they are shown. A rep that the content no longer has stays in English. Rejected: a stored
snapshot per language (two texts of one thing can drift apart). Knows nothing of pages or football.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fastapi import Request

from server.answers.miss_pictures import PAGE_OF_PICTURES_WAIT_S
from server.answers.recording import PartSaid, explanation, parts_in_words, words_of
from server.database.tables import GradedAnswer, KeptRep
from server.i18n.languages import SOURCE, language_of
from server.progress.board import ShownMiss, WrongTap
from server.progress.confusions import ShownConfusion
from server.progress.practice_sheets import MissedSituation
from server.web.deps import services_of, viewer_of


def translate_reps(request: Request, reps: Sequence[KeptRep]) -> list[KeptRep]:
    """These reps in the request's language. Raises: BadInput when the team's stored files have problems."""
    language = language_of(request.scope)
    if language.code == SOURCE or not reps:
        return list(reps)
    playbook = services_of(request).playbooks.of(viewer_of(request).team)
    return playbook.translated(reps, language)


def translate_rep(request: Request, rep: KeptRep) -> KeptRep:
    """A rep in the request's language."""
    return translate_reps(request, [rep])[0]


def translate_answer(request: Request, answer: GradedAnswer, rep: KeptRep) -> GradedAnswer:
    """An answer in the words of the translated rep: another one, since the stored one is not changed."""
    if language_of(request.scope).code == SOURCE:
        return answer  # stored in these words
    chosen, right = words_both(request, answer.chosen, rep)
    words = {"chosen_words": chosen, "right_words": right, "explanation": explanation(answer.chosen, rep)}
    return GradedAnswer(**answer.model_dump() | words)


def words_both(request: Request, chosen: Sequence[str], rep: KeptRep) -> tuple[str, str]:
    """The chosen and the right choices in the words of the translated rep."""
    join = join_of(request)
    right = words_of([part["right"] for part in rep.parts], rep, join)
    return words_of([[choice] for choice in chosen], rep, join), right


def join_of(request: Request) -> str:
    """The template that joins two choices, in the request's language."""
    return language_of(request.scope).translate_template("{some} or {last}")


def translate_parts(request: Request, answer: GradedAnswer, rep: KeptRep) -> list[PartSaid]:
    """An answer part by part, in the words of the translated rep."""
    return parts_in_words(answer.chosen, rep, join_of(request))


def draw_misses(
    request: Request, answered: Sequence[tuple[GradedAnswer, KeptRep]], patience_s: float | None = None
) -> list[str]:
    """The picture after each of these answers, in the request's language; see `MissPictures.after`."""
    team = viewer_of(request).team
    return services_of(request).miss_pictures.after(team, language_of(request.scope), answered, patience_s)


def translate_misses(request: Request, misses: Sequence[ShownMiss]) -> list[ShownMiss]:
    """Wrong answers with their reps and pictures in the request's language."""
    reps = translate_reps(request, [miss.rep for miss in misses])
    answered = [(translate_answer(request, miss.answer, rep), rep) for miss, rep in zip(misses, reps, strict=True)]
    pictures = draw_misses(request, answered, PAGE_OF_PICTURES_WAIT_S)
    playbook = services_of(request).playbooks.of(viewer_of(request).team)
    tapped = playbook.tapped([(rep, answer.chosen) for answer, rep in answered], language_of(request.scope))
    return [ShownMiss(*one, before, after) for one, before, after in zip(answered, tapped, pictures, strict=True)]


def translate_taps(request: Request, taps: Sequence[WrongTap]) -> list[WrongTap]:
    """Wrong choices in words of the request's language."""
    found = []
    for tap, rep in zip(taps, translated_by_id(request, [tap.rep_id for tap in taps]), strict=True):
        chosen, right = words_both(request, tap.chosen, rep)
        found.append(replace(tap, chosen_words=chosen, right_words=right))
    return found


def translate_confusions(request: Request, shown: Sequence[ShownConfusion]) -> list[ShownConfusion]:
    """Confusions in words of the request's language."""
    reps = {rep.rep_id: rep for rep in translated_by_id(request, [one.tapped.rep_id for one in shown if one.tapped])}
    found = []
    for one in shown:
        if one.tapped is None:
            found.append(one)
            continue
        rep = reps[one.tapped.rep_id]
        chosen, right = words_both(request, one.tapped.chosen, rep)
        tapped = replace(one.tapped, stem=rep.stem)
        found.append(replace(one, tapped=tapped, chosen_words=chosen, right_words=right))
    return found


def translated_by_id(request: Request, rep_ids: Sequence[str]) -> list[KeptRep]:
    """Stored reps of the team in the request's language."""
    services, viewer = services_of(request), viewer_of(request)
    with services.store.read(viewer.team.id) as t:
        stored = [services.kept_reps.get(t, rep_id) for rep_id in rep_ids]
    return translate_reps(request, stored)


def translate_situations(request: Request, situations: Sequence[MissedSituation]) -> list[MissedSituation]:
    """The situations missed on a call, in the request's language."""
    reps = translate_reps(request, [one.rep for one in situations])
    return [
        MissedSituation(rep, one.missed, one.answered, one.people) for one, rep in zip(situations, reps, strict=True)
    ]
