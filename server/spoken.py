"""Reps and answers in the language of the one who reads them.

What is stored stands in English, whoever answered, so that counts over many answers never split by language; it is said
in another language when it is shown, by the team's playbook. A rep that the team's content no longer has stays as it
was shown. It must not know pages or football.
"""

from __future__ import annotations

from collections.abc import Sequence

from fastapi import Request

from server.answers import explanation, words_of
from server.board import Miss
from server.languages import SOURCE, language_of
from server.parts import parts_of, viewer_of
from server.sheets import MissedSituation
from server.tables import Answer, RepShown


async def speak(request: Request, reps: Sequence[RepShown]) -> list[RepShown]:
    """These reps in the language of the request. Raises: BadInput when the team's stored files have problems."""
    spoken = language_of(request.scope)
    if spoken.code == SOURCE or not reps:
        return list(reps)
    playbook = await parts_of(request).playbooks.of(viewer_of(request).team)
    return await playbook.spoken(reps, spoken)


async def speak_one(request: Request, rep: RepShown) -> RepShown:
    """A rep in the language of the request."""
    return (await speak(request, [rep]))[0]


def speak_answer(request: Request, answer: Answer, rep: RepShown) -> Answer:
    """An answer in the words of the rep as it is said now; what was stored is left alone."""
    spoken = language_of(request.scope)
    if spoken.code == SOURCE:
        return answer
    said = Answer(**answer.model_dump())
    join = spoken.say("{some} or {last}")
    said.chosen_words = words_of([[choice] for choice in answer.chosen], rep, join)
    said.right_words = words_of([part["right"] for part in rep.parts], rep, join)
    said.explanation = explanation(answer.chosen, rep)
    return said


async def speak_misses(request: Request, misses: Sequence[Miss]) -> list[Miss]:
    """Wrong answers with their reps in the language of the request."""
    reps = await speak(request, [miss.rep for miss in misses])
    return [Miss(speak_answer(request, miss.answer, rep), rep) for miss, rep in zip(misses, reps, strict=True)]


async def speak_situations(request: Request, situations: Sequence[MissedSituation]) -> list[MissedSituation]:
    """What people miss on a call, in the language of the request."""
    reps = await speak(request, [one.rep for one in situations])
    return [
        MissedSituation(rep, one.missed, one.answered, one.people) for one, rep in zip(situations, reps, strict=True)
    ]
