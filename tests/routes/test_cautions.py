"""The caution stands wherever practice or walking through is suggested.

source: the page of facts on practice safety: cautions defer to the state association and the athletic trainer, and give
no minutes of our own.
"""

import re

from tests.harness.house import PAGE, House
from tests.sets.test_practice import play

CAUTION = re.compile(r"<p class=\"caution[^>]*>([^<]+)</p>")


def cautions(text: str) -> list[str]:
    return CAUTION.findall(text)


def test_it_stands_on_each_page_that_suggests_practice(house: House) -> None:
    sent = house.send_set()
    phone, coach = house.player(), house.coach()
    play(phone, sent)
    planned = ("/coach/assign?call=Hammer", "/coach/days", "/coach/call?name=Hammer")
    pages = [phone.get(f"/sets/{sent}", headers=PAGE).text, *(coach.get(path, headers=PAGE).text for path in planned)]
    for text in pages:
        [words] = cautions(text)
        assert "athletic trainer" in words
        assert "state association" in words
        assert not re.search(r"\d", words)  # no limit of our own
