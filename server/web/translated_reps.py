"""Reps and answers in the reader's language.

Everything is stored in English, so that counts over many answers never split by language, and translated by the team's
playbook when it is shown. A rep that the content no longer has stays in English. Rejected: a stored snapshot per
language (two texts of one thing can drift apart). Knows nothing of pages or football.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

from fastapi import Request
from sqlmodel import col

from server.answers.miss_pictures import PAGE_OF_PICTURES_WAIT_S
from server.answers.recording import PartSaid, explanation, said_by_part, words_of
from server.database.tables import Answer, KeptRep
from server.i18n.languages import SOURCE, Language, language_of
from server.progress.board import Miss, WrongTap
from server.progress.confusions import ShownConfusion, Tapped
from server.progress.practice_sheets import MissedSituation
from server.web.deps import services_of, viewer_of

#: Names of lanes and gaps start like a sentence; after "or" they continue in lower case.
OPENINGS = ("between the {left} and the {right}", "outside the {last}", "left {gap}", "right {gap}")


def one_sentence(words: str, language: Language) -> str:
    """Choices joined by "or" as one sentence: "Outside the right tackle or between …"."""
    either = language.translate_template("{some} or {last}").replace("{some}", "").replace("{last}", "")
    for opening in filter(None, (language.translate_template(template).partition("{")[0] for template in OPENINGS)):
        words = words.replace(f"{either}{opening[0].upper()}{opening[1:]}", f"{either}{opening}")
    return words


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


def translate_answer(request: Request, answer: Answer, rep: KeptRep) -> Answer:
    """An answer in the words of the translated rep; the stored one is not changed."""
    language = language_of(request.scope)
    if language.code == SOURCE:
        right_words = one_sentence(answer.right_words, language)
        return answer if right_words == answer.right_words else _copied(answer, right_words=right_words)
    join = language.translate_template("{some} or {last}")
    return _copied(
        answer,
        chosen_words=words_of([[choice] for choice in answer.chosen], rep, join),
        right_words=one_sentence(words_of([part["right"] for part in rep.parts], rep, join), language),
        explanation=explanation(answer.chosen, rep),
    )


def _copied(answer: Answer, **words: str) -> Answer:
    """A copy of the answer with other words, not attached to the session."""
    return Answer(**answer.model_dump() | words)


def translate_parts(request: Request, answer: Answer, rep: KeptRep) -> list[PartSaid]:
    """An answer part by part, in the words of the translated rep."""
    language = language_of(request.scope)
    said = said_by_part(answer.chosen, rep, language.translate_template("{some} or {last}"))
    return [replace(part, right=one_sentence(part.right, language)) for part in said]


def draw_misses(
    request: Request, answered: Sequence[tuple[Answer, KeptRep]], patience_s: float | None = None
) -> list[str]:
    """The picture after each of these answers, in the request's language; see `MissPictures.after`."""
    team = viewer_of(request).team
    return services_of(request).miss_pictures.after(team, language_of(request.scope), answered, patience_s)


def translate_misses(request: Request, misses: Sequence[Miss]) -> list[Miss]:
    """Wrong answers with their reps and pictures in the request's language."""
    reps = translate_reps(request, [miss.rep for miss in misses])
    answered = [(translate_answer(request, miss.answer, rep), rep) for miss, rep in zip(misses, reps, strict=True)]
    pictures = draw_misses(request, answered, PAGE_OF_PICTURES_WAIT_S)
    playbook = services_of(request).playbooks.of(viewer_of(request).team)
    tapped = playbook.tapped([(rep, answer.chosen) for answer, rep in answered], language_of(request.scope))
    return [Miss(*one, before, after) for one, before, after in zip(answered, tapped, pictures, strict=True)]


def translate_taps(request: Request, call: str, taps: Sequence[WrongTap]) -> list[WrongTap]:
    """The wrong choices on a call in the request's language."""
    language = language_of(request.scope)
    said = translate_words(request, [(call, words) for tap in taps for words in (tap.right_words, tap.chosen_words)])
    return [
        replace(
            tap,
            right_words=one_sentence(said.get((call, tap.right_words), tap.right_words), language),
            chosen_words=said.get((call, tap.chosen_words), tap.chosen_words),
        )
        for tap in taps
    ]


def translate_confusions(request: Request, mixed: Sequence[ShownConfusion]) -> list[ShownConfusion]:
    """Confusions with their words and pictures in the request's language."""
    by_words = [one for one in mixed if not one.is_by_relation]
    wanted = [(one.finding.call, words) for one in by_words for words in (one.finding.chosen, one.finding.right_answer)]
    said = translate_words(request, wanted)
    if not said:
        return list(mixed)
    tapped = translate_tapped(request, [one.tapped for one in mixed if one.tapped is not None])
    found = []
    for one in mixed:
        finding, call = one.finding, one.finding.call
        if not one.is_by_relation:
            chosen = said.get((call, finding.chosen), finding.chosen)
            right = said.get((call, finding.right_answer), finding.right_answer)
            finding = replace(finding, chosen=chosen, right_answer=right)
        found.append(replace(one, finding=finding, tapped=tapped.get(one.tapped.rep_id) if one.tapped else None))
    return found


def translate_tapped(request: Request, tapped: Sequence[Tapped]) -> dict[str, Tapped]:
    """Counted pictures by rep, in the request's language."""
    services, viewer = services_of(request), viewer_of(request)
    playbook = services.playbooks.of(viewer.team)
    with services.store.read(viewer.team.id) as t:
        stored = [services.kept_reps.get(t, one.rep_id) for one in tapped]
    reps = translate_reps(request, stored)
    drawn = playbook.counted({one.rep_id: one.counts for one in tapped}, language_of(request.scope))
    return {
        one.rep_id: replace(one, stem=rep.stem, svg=drawn.get(one.rep_id))
        for one, rep in zip(tapped, reps, strict=True)
    }


def translate_words(request: Request, wanted: Collection[tuple[str, str]]) -> Mapping[tuple[str, str], str]:
    """Translate stored words of answers, each given with its call; empty for English.

    Words are looked up in a rep that they were used in; those whose rep the content no longer has are left out.
    """
    language = language_of(request.scope)
    if language.code == SOURCE or not wanted:
        return {}
    services, viewer = services_of(request), viewer_of(request)
    examples: dict[tuple[str, str], tuple[str, tuple[str, ...] | None]] = {}
    with services.store.read(viewer.team.id) as t:
        columns = (Answer.call, Answer.rep_id, Answer.chosen, Answer.chosen_words, Answer.right_words)
        calls = {call for call, _ in wanted}
        wrong = (col(Answer.call).in_(calls), col(Answer.is_right).is_(False))
        for call, rep_id, chosen, chosen_words, right_words in t.values(Answer, *columns, where=wrong):
            examples.setdefault((call, chosen_words), (rep_id, tuple(chosen)))
            examples.setdefault((call, right_words), (rep_id, None))
        known = [key for key in dict.fromkeys(wanted) if key in examples]
        stored = [services.kept_reps.get(t, examples[key][0]) for key in known]
    join = language.translate_template("{some} or {last}")
    said = {}
    for key, before, rep in zip(known, stored, translate_reps(request, stored), strict=True):
        chosen_ids = examples[key][1]
        ids = [part["right"] for part in rep.parts] if chosen_ids is None else [[one] for one in chosen_ids]
        if rep is not before:
            said[key] = words_of(ids, rep, join)
    return said


def translate_situations(request: Request, situations: Sequence[MissedSituation]) -> list[MissedSituation]:
    """The situations missed on a call, in the request's language."""
    reps = translate_reps(request, [one.rep for one in situations])
    return [
        MissedSituation(rep, one.missed, one.answered, one.people) for one, rep in zip(situations, reps, strict=True)
    ]
