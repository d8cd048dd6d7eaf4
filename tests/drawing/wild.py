"""Random scenes for Hypothesis: any line, any lanes, anybody tapped."""

from itertools import pairwise

from hypothesis import strategies as st

from quizgen.drawing.scene import Blocker, Defender, OnHalf, OnMan, OnTrack, Point, Scene, ScreenHalf, Span, Tap, Track

yards = st.integers(-60, 60).map(lambda tenth: tenth / 10)


@st.composite
def lines(draw, most: int = 9) -> tuple[Blocker, ...]:
    splits = draw(st.lists(st.integers(3, 30), min_size=2, max_size=most))
    x, men = -sum(splits) / 20, []
    for number, split in enumerate(splits):
        men.append(Blocker(f"b{number}", round(x, 2), draw(st.sampled_from((0.0, 0.0, 0.3, 1.2)))))
        x += split / 10
    return tuple(men)


@st.composite
def questions(draw) -> Scene:
    blockers = draw(lines())
    xs = draw(st.lists(yards, min_size=1, max_size=9, unique=True))
    defenders = tuple(
        Defender(f"d{number}", x, draw(st.sampled_from((-0.9, -1.2, -3.0, -4.5, -7.0, -12.0))), "MSS"[: 1 + number % 3])
        for number, x in enumerate(xs)
    )
    tracks = tuple(
        Track(f"t{number}", (Point(man.x, man.y), Point(draw(yards), 1.5)))
        for number, man in enumerate(defenders[: draw(st.integers(0, 3))])
    )
    names = [None, *(man.id for man in blockers), None]
    lanes = [Span.between(left, right) for left, right in pairwise(names)]
    seven = [man for man in defenders if man.y > -1.6][:7] + [man for man in defenders if man.y <= -1.6][:7]
    line = [OnMan(man.id) for man in blockers if man.y < 1.0][:7]
    men = [*line, *(OnMan(man.id) for man in seven)]
    halves = [OnHalf(blockers[0].id, half) for half in ScreenHalf]
    paths = [OnTrack(track.id) for track in tracks]
    kinds = draw(st.sampled_from(("lanes", "men", "both", "halves", "paths")))
    pool = {"lanes": lanes, "men": men, "both": lanes + line, "halves": halves, "paths": paths}[kinds]
    targets = draw(st.lists(st.sampled_from(pool), unique=True, max_size=len(pool))) if pool else []
    taps = tuple(Tap(f"c{number}", "words", target, "A") for number, target in enumerate(targets))
    return Scene("A title", "In words.", blockers, defenders, tracks, taps=taps)
