"""The demo's days: sets are due when practice starts in the team's time zone; the season ends with the last one."""

from datetime import UTC, datetime

import pytest

from server.commands.demo_fill import last_practice, practice_time
from server.commands.demo_season import REVIEW_ON, SETS_ON_DAYS, DemoSeason, RosterPlayer

CHICAGO = "America/Chicago"


@pytest.mark.parametrize(
    ("now", "practice"),
    [
        # summer time, five hours behind; 02:00 on the 3rd is still the 2nd there
        (datetime(2026, 10, 3, 2, 0, tzinfo=UTC), datetime(2026, 10, 2, 20, 30, tzinfo=UTC)),
        # winter time, six hours behind
        (datetime(2026, 11, 20, 18, 0, tzinfo=UTC), datetime(2026, 11, 20, 21, 30, tzinfo=UTC)),
    ],
)
def test_practice_starts_at_half_past_three_in_the_teams_time_zone(now: datetime, practice: datetime) -> None:
    assert practice_time(now, CHICAGO) == practice


def test_the_last_practice_is_the_day_before_while_todays_is_to_come() -> None:
    before, after = datetime(2026, 10, 2, 20, 29, tzinfo=UTC), datetime(2026, 10, 2, 20, 31, tzinfo=UTC)
    assert last_practice(before, CHICAGO) == datetime(2026, 10, 1, 20, 30, tzinfo=UTC)
    assert last_practice(after, CHICAGO) == datetime(2026, 10, 2, 20, 30, tzinfo=UTC)


def test_the_first_call_is_reviewed_every_week() -> None:
    calls = ["One", "Two", "Three", "Four", "Five", "Six"]
    season = DemoSeason([RosterPlayer(str(n), "Mike") for n in range(12)], calls, {}, 8, 1_790_000_000.0, 54)
    assert REVIEW_ON in SETS_ON_DAYS
    weeks = {int((rep.at - season.start) // (7 * 86_400)) for rep in season.plan() if rep.call == "One"}
    assert weeks == set(range(8))
