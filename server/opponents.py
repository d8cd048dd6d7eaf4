"""What the next opponent runs, and how that weighs on what a team is asked and where it stands.

It must not know pages, nor how the model uses the weights.
"""

from __future__ import annotations

from sqlmodel import col

from server.mastery.values import TeamSettings
from server.store import TeamSession
from server.tables import Opponent


def find_next(t: TeamSession) -> Opponent | None:
    """The next opponent; None when the coach has not said who it is."""
    return t.first(Opponent, col(Opponent.is_next).is_(True))


def team_settings(t: TeamSession) -> TeamSettings:
    """How a team's answers are read: by the next opponent's stages where they are known, else by the usual mix."""
    opponent = find_next(t)
    if opponent is None or not opponent.stage_counts:
        return TeamSettings()
    return TeamSettings().with_opponent({int(stage): count for stage, count in opponent.stage_counts.items()})
