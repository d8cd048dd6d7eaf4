"""The main job end to end over plain forms: coach sends, player answers, coach sees."""

import re

from tests.server.house import PAGE, House

ANSWER_ID = re.compile(r'name="answer_id" value="([^"]+)"')


def test_a_set_from_sending_to_the_board(house: House) -> None:
    set_id = house.send_set()
    phone = house.player()
    assert "Hammer" in phone.get("/home", headers=PAGE).text
    page = phone.post(f"/sets/{set_id}/open", headers=PAGE)
    assert page.url.path == f"/sets/{set_id}/reps/1"
    print(page.text)
