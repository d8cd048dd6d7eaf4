"""A label keeps clear of what is there, whenever both are seen, and gives way in a fixed order."""

from quizgen.drawing.crowd import Crowd, bead
from quizgen.drawing.labels import Label, Thing

HERE = ((0.0, 100.0, 0.0),)
BOX = {"width": 20.0, "height": 20.0}
SIDEWAYS = [(0.0, 0.0), (30.0, 0.0), (60.0, 0.0)]


def label(**more) -> Label:
    return Label("words", ((0.0, 100.0, 0.0),), 20.0, 20.0, **more)


def place(crowd: Crowd, one: Label, **how) -> float:
    found, clash = crowd.place(one, SIDEWAYS, **how)
    assert clash == 0.0
    return found.path[0][1]


def test_the_first_free_place_is_taken():
    crowd = Crowd(1.0, [])
    assert place(crowd, label()) == 100.0
    crowd.add(Thing(HERE, **BOX))
    assert place(crowd, label()) == 130.0
    assert place(crowd, label(), beads=[bead(130.0, 0.0, 3.0)]) == 160.0


def test_what_is_not_seen_at_the_same_time_is_not_in_the_way():
    crowd = Crowd(2.0, [1.0])
    crowd.add(Thing(HERE, **BOX, to_s=1.0))
    assert place(crowd, label()) == 130.0
    assert place(crowd, label(from_s=1.0)) == 100.0


def test_what_passes_by_is_in_the_way_unless_only_rest_counts():
    crowd = Crowd(2.0, [])
    crowd.add(Thing(((0.0, 100.0, -200.0), (2.0, 100.0, 200.0)), **BOX))
    assert place(crowd, label()) == 130.0
    assert place(crowd, label(), is_at_rest=True) == 100.0


def test_where_nothing_is_free_the_freest_is_taken():
    crowd = Crowd(0.0, [])
    crowd.add(Thing(HERE, 200.0, 20.0))
    found, clash = crowd.place(label(), [(0.0, 0.0), (0.0, 15.0), (0.0, 5.0)])
    assert found.path[0][2] == 15.0
    assert clash > 0.0


def test_lines_give_way_before_things_and_passing_things_before_resting_ones():
    crowd = Crowd(2.0, [])
    crowd.add(Thing(((0.0, 100.0, -200.0), (2.0, 100.0, 200.0)), **BOX))
    settled = crowd.settle(label(), [(0.0, 0.0), (30.0, 0.0)], beads=[bead(130.0, 0.0, 3.0)])
    assert settled.path[0][1] == 130.0
    assert crowd.settle(label(), [(0.0, 0.0), (30.0, 0.0)]).path[0][1] == 100.0
    assert crowd.settle(label(), SIDEWAYS).path[0][1] == 160.0
