"""Every kind of mistake a coach can make in his files: one clear message each, all at once, never a traceback."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizgen.content import load_team, load_team_dir, read_team_dir
from quizgen.football.errors import ContentProblems, Problem
from quizgen.football.rules import TeamRules
from tests.content.conftest import DEMO

# Without what is accepted: its rows name calls and plays, and would say a second time that one of these is wrong.
TEXTS = {path.name: path.read_text(encoding="utf-8") for path in sorted(DEMO.glob("*.toml"))} | {"accepted.toml": ""}


def problems_of(files: dict[str, str]) -> tuple[Problem, ...]:
    with pytest.raises(ContentProblems) as caught:
        load_team(files)
    return caught.value.problems


def problems_if_any(files: dict[str, str]) -> tuple[Problem, ...]:
    """What is wrong with the files; nothing when they load."""
    try:
        load_team(files)
    except ContentProblems as error:
        return error.problems
    return ()


def broken(name: str, old: str, new: str) -> tuple[Problem, ...]:
    """The problems when one place of one demo file is changed."""
    assert old in TEXTS[name], f"{name} no longer holds {old!r}"
    return problems_of({**TEXTS, name: TEXTS[name].replace(old, new, 1)})


# File, what is replaced, by what; then the key and a part of the message that must be there. Exactly one problem each.
PITCH = 'force = "pitch"'
EDGE = "edge = { Sam ="
TWICE = "[rules.edge_by_position]\nJack = 'box'\n[rules.by_position.Jack]"
RULE = "{ read_man = 'dive', scrape = 'quarterback', force = 'pitch' }"
NO_RULE = "{ read_man = 'dive', scrape = 'dive', force = 'pitch' }"
MISTAKES = [
    # wrong types and missing keys
    ("roster.toml", "number = 2,", 'number = "2",', "player[1].number", "a whole number from 0 to 99"),
    ("roster.toml", "number = 2,", "number = 100,", "player[1].number", "a whole number from 0 to 99"),
    ("roster.toml", "number = 2,", "number = true,", "player[1].number", "found true"),
    ("roster.toml", "number = 2, ", "", "player[1].number", "found nothing"),
    ("fronts.toml", "down = true", 'down = "yes"', "front[1].spot[1].down", "true or false"),
    ("fronts.toml", "technique = 5", "technique = 5.5", "front[1].spot[1].technique", "a technique"),
    ("fronts.toml", "depth = 11", "depth = nan", "front[1].spot[9].depth", "yards off the line"),
    ("fronts.toml", "depth = 11", "depth = 400", "front[1].spot[9].depth", "between 0.3 and 40"),
    ("rules.toml", "reaction_s = 0.5", "reaction_s = inf", "timing.read.backer.reaction_s", "between 0 and 3"),
    ("rules.toml", "guard_split_ft = 2", "guard_split_ft = 20", "measures.guard_split_ft", "feet between 0 and 10"),
    ("team.toml", "2027-11-19", "2027-02-30", "season_end", "a day of the calendar"),
    ("positions.toml", 'label = "P"', 'label = "PICK"', "position[1].label", "one to three characters"),
    ("positions.toml", 'label = "P"', 'label = "P "', "position[1].label", "no blank at either end"),
    ("positions.toml", 'label = "P"', 'label = "\\u0000"', "position[1].label", "printable"),
    ("positions.toml", 'group = "Line"', 'group = "Line\u200b"', "position[1].group", "printable characters"),
    ("pressures.toml", 'name = "Moraine"', 'name = "Mor\u00a0aine"', "pressure[1].name", "printable characters"),
    ("positions.toml", 'class = "lineman"\n', "", "position[2].class", "one of lineman, edge"),
    # a word that has been renamed
    ("rules.toml", 'second = "over the top"', 'second = "read out"', "rules.pull_second", "'over the top', as"),
    ("rules.toml", "[words.terms]", '[words.terms]\n"read out" = "go"', 'words.terms."read out"', "'over the top', as"),
    ("team.toml", 'name = "Tarrow Falls varsity defense"', 'name = ""', "name", "found ''"),
    ("roster.toml", 'positions = ["Hawk"]', 'positions = []', "player[2].positions", "at least 1 of them, found 0"),
    ("roster.toml", 'positions = ["Hawk"]', 'positions = "Hawk"', "player[2].positions", "a list"),
    ("pressures.toml", 'edge = { Sam = "spill" }', 'edge = "spill"', "pressure[6].edge", "a table"),
    ("pressures.toml", 'edge = { Sam = "spill" }', 'edge = { Sam = "spil" }', "pressure[6].edge.Sam", "'spill'"),
    ("pressures.toml", 'coverage = "four deep"', 'coverage = {}', "pressure[4].coverage", "found a table"),
    ("pressures.toml", 'coverage = "four deep"', 'coverage = [[1]]', "pressure[4].coverage", "found a list of lists"),
    ("plays.toml", 'aim = "A"', f'aim = "{"A" * 100}"', "play[1].aim", "AAA…"),
    # unknown keys and words, with the nearest known one
    ("pressures.toml", "order = 1", "ordre = 1", "pressure[1].rush[1].ordre", "nearest is 'order'"),
    ("rules.toml", "pull_first", "pull_frist", "rules.pull_frist", "nearest is 'pull_first'"),
    ("rules.toml", "[timing.read.backer]", "[timing.read.bakcer]", "timing.read.bakcer", "nearest is 'backer'"),
    ("plays.toml", 'job = "zone"', 'job = "zoen"', "play[1].block[1].job", "nearest is 'zone'"),
    ("plays.toml", 'who = "center"', 'who = "centre"', "play[7].block[3].who", "'line' or one of center"),
    ("pressures.toml", '"to A"', '"to G"', "pressure[1].rush[1].gap", "such as 'to A'"),
    ("pressures.toml", 'man = "tailback"', 'man = "halfback"', "pressure[2].drop[3].man", "tailback"),
    ("team.toml", "America/Chicago", "America/Chicgo", "time_zone", "nearest is 'America/Chicago'"),
    ("pressures.toml", "three deep, two under", "three deep", "pressure[1].coverage", "'three deep, two under'"),
    # names that nothing has
    ("pressures.toml", 'front = "Granite"', 'front = "Granit"', "pressure[1].front", "nearest is 'Granite'"),
    ("roster.toml", '"Hawk"', '"Hawke"', "player[2].positions[1]", "nearest is 'Hawk'"),
    ("rules.toml", "[rules.by_position.Jack]", "[rules.by_position.Jak]", "rules.by_position.Jak", "nearest is 'Jack'"),
    ("plays.toml", 'name = "midline"', 'name = "middline"', "play[18].option.name", "nearest is 'midline'"),
    ("pressures.toml", "edge = { Sam =", "edge = { Hawk =", "pressure[6].edge.Hawk", "one of Sam, Pick"),
    ("rules.toml", 'edge = "spill" ', 'flow = "spill" ', "rules.by_position.Jack.flow", "one of gap, both sides"),
    ("rules.toml", 'edge = "spill" ', 'egde = "spill" ', "rules.by_position.Jack.egde", "nearest is 'edge'"),
    ("rules.toml", "[rules.by_position.Jack]", TWICE, "rules.edge_by_position.Jack", "his edge once"),
    ("rules.toml", PITCH, f"{PITCH}\npitch = ['Sam', 'Hawke']", 'options."zone read".pitch[2]', "nearest is 'Hawk'"),
    ("rules.toml", PITCH, f"{PITCH}\npitch = []", 'options."zone read".pitch', "at least 1"),
    ("rules.toml", PITCH, f"{PITCH}\nplays = 'late'", 'options."zone read".plays', "fast, slow"),
    ("pressures.toml", EDGE, f"by_position.Hwak.edge = 'box'\n{EDGE}", "pressure[6].by_position.Hwak", "is 'Hawk'"),
    ("pressures.toml", EDGE, f"by_position.Sam.edge = 'box'\n{EDGE}", "pressure[6].edge.Sam", "his edge once"),
    ("pressures.toml", EDGE, f"rules.pull_backer = 'run'\n{EDGE}", "pressure[6].rules.pull_backer", "shoulder, stay"),
    ("pressures.toml", EDGE, f"options.vere = {RULE}\n{EDGE}", "pressure[6].options.vere", "nearest is 'veer'"),
    ("pressures.toml", EDGE, f"options.veer = {NO_RULE}\n{EDGE}", "pressure[6].options.veer", "each phase once"),
    ("plays.toml", 'job = "zone"', 'job = "zone", gap = "B"', "play[1].block[1].gap", "kicks, wraps or leads"),
    ("plays.toml", 'slide = "', 'free = "nobody"\nslide = "', "protection[1].free", "the widest, the innermost"),
    # names that do not fit together
    ("positions.toml", 'mirrors = "Right corner"', "", "position[12].mirrors", "mirrors 'Right corner' in turn"),
    ("positions.toml", 'label = "M"', 'label = "M"\nmirrors = "Mike"', "position[6].mirrors", "than his own"),
    ("pressures.toml", 'second = "Mike"', 'second = "Hawk"', "pressure[5].exchange[1].second", "a gap of his own"),
    ("pressures.toml", 'second = "Mike"', 'second = "Pick"', "pressure[5].exchange[1].second", "another man"),
    ("pressures.toml", 'name = "Esker"', 'name = "MORAINE"', "pressure[2].name", "pressure[1].name has it too"),
    ("formations.toml", 'mirror = "Open I left"', 'mirror = "Tight I left"', "formation[2].mirror", "has it too"),
    ("plays.toml", 'name = "Boot"', 'name = "Power"', "protection[7].name", "play[7].name has it too"),
    ("roster.toml", "number = 3,", "number = 2,", "player[2].number", "player[1].number has it too"),
    ("positions.toml", 'label = "T"', 'label = "p"', "position[2].label", "position[1].label has it too"),
    ("pressures.toml", '  { position = "Hawk", on = "middle", depth = 6 },',
     '  { position = "Hawk", on = "middle", depth = 6 },\n  { position = "Hawk", on = "middle", depth = 7 },',
     "pressure[2].align", "each position once"),
    ("rules.toml", "[timing.read.backer]", "[timing]\nlate_after_s = 1.5\n[timing.read.backer]",
     "timing.never_after_s", "at least late_after_s (1.5)"),
    # what a noun refuses
    ("pressures.toml", "three deep, two under", "two deep, three under", "pressure[1].coverage", "2 deep"),
    ("pressures.toml", ', gap = "away A" },\n  { position = "Mike"', ' },\n  { position = "Mike"',
     "pressure[3].drop[1].gap", "exactly when the run job is 'fill'"),
    ("fronts.toml", "technique = 5", 'technique = "11"', "front[1].spot[1].technique", "0, 1, 2i"),
    ("formations.toml", '["guard", "tackle"]', '["tackle", "guard"]', "formation[1].left", "guard, tackle"),
    ("formations.toml", '["guard", "tackle"]', '["guard"]', "formation[1]", "a left tackle"),
    ("formations.toml", "on_line = true", "on_line = false", "formation[1]", "no more than four backs"),
    ("formations.toml", "split = 12", "split = 30", "formation[1].receiver", "between 1 and 25"),
    ("rules.toml", 'scrape = "quarterback"', 'scrape = "dive"', 'options."zone read"', "each phase once"),
    ("plays.toml", 'phases = ["dive", "quarterback"]', 'phases = ["dive", "dive"]', "play[18].option.phases",
     "each phase once"),
    # football that could not be carried out
    ("plays.toml", 'who = "line", job = "zone"', 'who = "line", job = "kick"', "play[1].block[1].job", "on the line"),
    ("plays.toml", 'who = "fullback", job = "lead"', 'who = "fullback", job = "zone"', "play[6].block[2].job",
     "behind or outside the line"),
    ("plays.toml", 'job = "pull and wrap"', 'job = "pull and wrap", past = "guard"', "play[7].block[4].past",
     "'pull and trap'"),
    ("plays.toml", 'stay_in = ["tailback"]', 'stay_in = ["line"]', "protection[2].stay_in[1]", "always stay in"),
    ("fronts.toml", 'technique = 5, side = "to"', "technique = 5", "front[1].spot[1]", "'to' or 'away'"),
    ("fronts.toml", "technique = 5,", 'technique = 5, on = "tackle",', "front[1].spot[1]", "either"),
    ("fronts.toml", "technique = 5,", 'technique = 5, shade = "inside",', "front[1].spot[1]", "no 'shade' beside"),
    ("fronts.toml", ", depth = 11", "", "front[1].spot[9]", "a 'depth' in yards"),
    # the side of a call
    ("pressures.toml", 'to = "strength"', 'to = "strenght"', "pressure[6].to", "nearest is 'strength'"),
    ("pressures.toml", 'to = "strength"', 'to = 3', "pressure[6].to", "a list"),
    ("pressures.toml", 'to = "strength"', 'to = ["field", "left"]', "pressure[6].to[2]", "one of as called, tight end"),
    # adjustments
    ("pressures.toml", 'against = "empty"', 'against = "emtpy"', "pressure[2].adjust[1].against", "a fact of their"),
    ("pressures.toml", 'against = "empty"', 'against = "empty to"', "pressure[2].adjust[1].against", "a fact of their"),
    ("pressures.toml", 'against = "empty", ', "", "pressure[2].adjust[1].against", "found nothing"),
    ("pressures.toml", 'check = "Varve"', 'check = "Varv"', "pressure[1].adjust[1].check", "nearest is 'Varve'"),
    ("pressures.toml", 'check = "Varve"', 'check = "Moraine"', "pressure[1].adjust[1].check", "another call"),
    ("pressures.toml", 'check = "Varve"', 'check = "Kame"', "pressure[1].adjust[1].check", "the same eleven"),
    ("pressures.toml", ', check = "Varve"', "", "pressure[2].adjust[1]", "either a 'check' or what changes"),
    ("pressures.toml", '{ position = "Pick", gap = "to D" }', '{ position = "Jack", gap = "to D" }',
     "pressure[10].adjust[1]", "a man of this call: one of Pick"),
    ("pressures.toml", '{ position = "Pick", gap = "to D" }', '{ position = "Pick", gap = "to D", order = 7 }',
     "pressure[10].adjust[1].rush[3].order", "from 1 (first through) to 6"),
    ("pressures.toml", 'position = "Right corner", cover = "deep quarter", run = "force"',
     'position = "Right corner", cover = "flat", run = "force"', "pressure[10].adjust[1].coverage", "4 deep"),
    # what a man shows
    ("pressures.toml", '{ position = "Mike", on = "guard"', '{ position = "Pick", on = "guard"', "pressure[3].show",
     "a man who drops"),
    ("pressures.toml", '{ position = "Mike", on = "guard"', '{ position = "Mik", on = "guard"',
     "pressure[3].show[1].position", "nearest is 'Mike'"),
    # TOML itself
    ("fronts.toml", 'name = "Slate"', "name = Slate", "line 21", "valid TOML"),
    ("team.toml", 'school = "', 'school = "\x00', "line 5", "valid TOML"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "old", "new", "key", "part"), MISTAKES, ids=[f"{m[3]}: {m[4]}" for m in MISTAKES])
def test_a_mistake_is_named_by_file_key_and_what_was_expected(
    name: str, old: str, new: str, key: str, part: str
) -> None:
    (problem,) = broken(name, old, new)
    assert (problem.file, problem.key) == (name, key)
    assert part in str(problem)
    assert str(problem).startswith(f"{name}: {key}: expected ")
    assert "\n" not in str(problem)


def test_checks_that_lead_back_are_refused_where_a_formation_lets_them() -> None:
    """Esker checks to Varve against empty; a circle only where Varve checks back against the same formation."""
    back = '[[pressure.adjust]]\nagainst = {against}\ncheck = "Esker"\n\n[[pressure.adjust]]\nagainst = "unbalanced to"'
    old = '[[pressure.adjust]]\nagainst = "unbalanced to"'
    one, other = broken("pressures.toml", old, back.format(against='"trips"'))
    assert (one.key, other.key) == ("pressure[2].adjust[1].check", "pressure[10].adjust[1].check")
    assert one.expected == "checks that don't lead back to 'Esker', as they do against 'Empty right'"
    mended = TEXTS["pressures.toml"].replace(old, back.format(against='["trips", "two backs"]'), 1)
    assert problems_if_any({**TEXTS, "pressures.toml": mended}) == ()


def test_a_misspelled_man_is_unknown_and_leaves_the_front_one_short() -> None:
    wrong, short = broken("pressures.toml", 'position = "Sam"', 'position = "Smo"')
    assert (wrong.key, "nearest is 'Sam'" in wrong.expected) == ("pressure[1].drop[1].position", True)
    assert (short.key, short.found) == ("pressure[1].rush", "none for Sam in 'Moraine'")


def test_a_front_holds_both_of_a_pair_who_trade_jobs() -> None:
    text = TEXTS["fronts.toml"]
    lost = text.replace('{ position = "Left corner", on', '{ position = "Jack", on', 1)
    found = problems_of({**TEXTS, "fronts.toml": lost})
    assert ("front[1].spot[10].position", "'Left corner' in this front too, since he mirrors 'Right corner'") in {
        (problem.key, problem.expected) for problem in found
    }


def test_a_machine_without_time_zones_takes_any(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("quizgen.content.cross.available_timezones", set)
    files = {**TEXTS, "team.toml": TEXTS["team.toml"].replace("America/Chicago", "Nowhere/Else")}
    assert load_team(files).time_zone == "Nowhere/Else"


def test_everything_that_is_wrong_in_all_files_is_said_at_once() -> None:
    files = dict(TEXTS)
    for name, old, new in (
        ("team.toml", 'rule_book = "high school"', 'rule_book = "highschool"'),
        ("positions.toml", 'class = "lineman"', 'class = "linesman"'),
        ("rules.toml", 'crack = "replace"', 'crack = "swap"'),
        ("fronts.toml", 'position = "Hawk"', 'position = "Hawke"'),
        ("pressures.toml", "order = 2", "order = 0"),
        ("pressures.toml", 'cover = "post"', 'cover = "robber"'),
        ("formations.toml", "split = 14", 'split = "wide"'),
        ("plays.toml", 'aim = "C"', 'aim = "Z"'),
        ("roster.toml", '"Kite"', '"Kites"'),
    ):
        assert old in files[name]
        files[name] = files[name].replace(old, new, 1)
    found = [(p.file, p.key) for p in problems_of(files)]
    for expected in (
        ("team.toml", "rule_book"),
        ("positions.toml", "position[2].class"),
        ("rules.toml", "rules.crack"),
        ("fronts.toml", "front[1].spot[9].position"),
        ("pressures.toml", "pressure[1].rush[2].order"),
        ("pressures.toml", "pressure[7].drop[4].cover"),
        ("formations.toml", "formation[1].receiver[2].split"),
        ("plays.toml", "play[3].aim"),
        ("roster.toml", "player[4].positions[1]"),
    ):
        assert found.count(expected) == 1


def test_a_wrong_row_does_not_make_its_name_unknown_elsewhere() -> None:
    (problem,) = broken("fronts.toml", 'name = "Granite"', 'name = "Granite"\ncolour = "grey"')
    assert problem.key == "front[1].colour"
    (problem,) = broken("positions.toml", 'group = "Line"', "group = 4")
    assert problem.key == "position[1].group"


def test_a_file_that_cannot_be_read_does_not_make_its_names_unknown() -> None:
    (problem,) = problems_of({**TEXTS, "positions.toml": "position = ["})
    assert (problem.file, problem.key) == ("positions.toml", "line 1")


@pytest.mark.parametrize(
    ("name", "needed"),
    [
        ("team.toml", True),
        ("positions.toml", True),
        ("fronts.toml", True),
        ("pressures.toml", True),
        ("formations.toml", True),
        ("plays.toml", True),
        ("roster.toml", False),
    ],
)
def test_a_missing_file_is_said_where_it_is_needed(name: str, needed: bool) -> None:
    files = {key: text for key, text in TEXTS.items() if key != name}
    if needed:
        (problem,) = problems_of(files)
        assert (problem.file, problem.key) == (name, "file")
    else:
        assert load_team(files).roster == ()


def test_no_file_at_all() -> None:
    assert {p.file for p in problems_of({})} == {
        "team.toml", "positions.toml", "fronts.toml", "pressures.toml", "formations.toml", "plays.toml"
    }  # fmt: skip


def test_a_file_of_another_name_is_refused_with_the_nearest() -> None:
    (problem,) = problems_of({**TEXTS, "presures.toml": ""})
    assert problem.file == "presures.toml"
    assert "nearest is 'pressures.toml'" in problem.expected


@pytest.mark.parametrize("name", sorted(set(TEXTS) - {"accepted.toml", "opponents.toml", "roster.toml", "rules.toml"}))
def test_an_empty_file_says_what_it_should_hold(name: str) -> None:
    assert {p.file for p in problems_of({**TEXTS, name: ""})} == {name}


def test_an_empty_roster_and_empty_rules_are_a_team_that_has_decided_nothing() -> None:
    team = load_team({**TEXTS, "roster.toml": "", "rules.toml": ""})
    assert (team.roster, team.words.gaps, team.rules) == ((), {}, TeamRules())


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("#" * (256 * 1024 + 1), "at most 256 kB"),
        ("é" * (128 * 1024 + 1), "at most 256 kB"),
        ("a = " + "[" * 100_000, "fewer tables and lists inside each other"),
        ("a = " + "{b = " * 40_000, "fewer tables and lists inside each other"),
        ("a." * 60_000 + "b = 1", "at most 400 dots in a line"),
        ("a = 1" + "0" * 5_000, "valid TOML"),
        ('name = "\ud800"', "text in UTF-8"),
        ("position = 3", "[[position]]"),
        ("[position]\nname = 'x'", "[[position]]"),
        ("position = [[1], 2]", "a table"),
        ("position = []", "at least 11 of them"),
    ],
    ids=lambda value: value[:24] if isinstance(value, str) else None,
)
def test_a_file_that_is_no_file_of_a_team(text: str, part: str) -> None:
    found = problems_of({**TEXTS, "positions.toml": text})
    assert any(part in str(problem) for problem in found)
    assert {problem.file for problem in found} == {"positions.toml"}


def test_thousands_of_mistakes_are_counted_after_the_first_two_hundred() -> None:
    found = problems_of({**TEXTS, "roster.toml": "player = [" + "{ nmber = 1 }," * 5_000 + "]"})
    assert len(found) == 201
    assert found[-1].found == "19800 more problems"  # four a row: one unknown key, three missing


def test_names_that_nothing_has_are_counted_too() -> None:
    rows = "".join(f'{{ number = {i}, name = "Al", positions = ["x", "y", "z"] }},' for i in range(90))
    found = problems_of({**TEXTS, "roster.toml": f"player = [{rows}]"})
    assert (len(found), found[-1].found) == (201, "70 more problems")


def test_a_folder_with_files_that_cannot_be_used(tmp_path: Path) -> None:
    for name, text in TEXTS.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    (tmp_path / "notes.md").write_text("not ours", encoding="utf-8")
    assert load_team_dir(tmp_path).name == "Tarrow Falls varsity defense"
    (tmp_path / "plays.toml").write_bytes(b'name = "\xff"')
    (tmp_path / "roster.toml").write_bytes(b"#" * 300_000)
    (tmp_path / "rules.toml").write_text("[rules]\nedge = 'bax'\n", encoding="utf-8")
    (tmp_path / "team.toml").unlink()
    (tmp_path / "team.toml").mkdir()
    with pytest.raises(ContentProblems) as caught:
        load_team_dir(tmp_path)
    found = {(p.file, p.key) for p in caught.value.problems}
    assert found == {
        ("plays.toml", "byte 9"),
        ("roster.toml", "file"),
        ("rules.toml", "rules.edge"),
        ("team.toml", "file"),
    }
    with pytest.raises(ContentProblems) as caught:
        read_team_dir(tmp_path)
    assert {p.file for p in caught.value.problems} == {"plays.toml", "roster.toml", "team.toml"}


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(ContentProblems, match="nowhere: folder: expected a folder of TOML files"):
        load_team_dir(tmp_path / "nowhere")


LINES = {name: text.split("\n") for name, text in TEXTS.items()}
JUNK = st.one_of(
    st.sampled_from(
        ["", "=", "[[", "]]", "{", '"', "nan", "-1", "true", "[]", "'to B'", "1e999", "2027-01-01", "a.b=1"]
    ),
    st.text(max_size=12),
)


@given(st.data())
def test_a_broken_line_never_gives_a_traceback(data: st.DataObject) -> None:
    """A line cut, doubled, or with a word of it replaced: the files load, or say what is wrong."""
    name = data.draw(st.sampled_from(sorted(LINES)))
    lines = list(LINES[name])
    at = data.draw(st.integers(0, len(lines) - 1))
    words = lines[at].split(" ")
    word = data.draw(st.integers(0, len(words) - 1))
    words[word] = data.draw(JUNK)
    lines[at : at + 1] = data.draw(
        st.sampled_from([[], [lines[at]] * 2, [" ".join(words)], [lines[at], " ".join(words)]])
    )
    for problem in problems_if_any({**TEXTS, name: "\n".join(lines)}):
        assert problem.file in TEXTS
        assert problem.key
        assert problem.expected


@given(st.dictionaries(st.sampled_from([*sorted(TEXTS), "other.toml"]), st.text(max_size=200), max_size=4))
def test_any_text_at_all_never_gives_a_traceback(texts: dict[str, str]) -> None:
    with pytest.raises(ContentProblems):
        load_team({**TEXTS, "plays.toml": "x", **texts})


KEY_MISTAKES = [
    (
        ("positions.toml", 'name = "Tamp"', 'name = "Pick!"'),
        "position[2].key",
        "a key of its own: position[1].key ('Pick') has 'pick' too; write another one here, found nothing in 'Pick!'",
    ),
    (
        ("plays.toml", 'name = "Half slide"', 'name = "Half slide"\nkey = "duo"'),
        "protection[3].key",
        "a key of its own: play[5].key ('Duo') has 'duo' too; write another one here, found 'duo' in 'Half slide'",
    ),
    (
        ("formations.toml", 'mirror = "Wing left"', 'mirror = "Wing, right"'),
        "formation[4].mirror_key",
        "a key of its own: formation[4].key ('Wing right') has 'wing-right' too; write another one here, found nothing",
    ),
    (
        ("fronts.toml", 'name = "Marble"', 'name = "Marble"\nkey = "Mar Ble"'),
        "front[4].key",
        "a key such as 'trips-right': small letters and digits, with - between words, found 'Mar Ble' in 'Marble'",
    ),
    (
        ("pressures.toml", 'name = "Erratic"', 'name = "!?"'),
        "pressure[11].key",
        "a key, since the name has no letters or digits to make one of, found '!?'",
    ),
]


@pytest.mark.parametrize(("change", "key", "message"), KEY_MISTAKES)
def test_a_key_of_its_own_for_every_noun(change: tuple[str, str, str], key: str, message: str) -> None:
    found = [one for one in broken(*change) if "key" in one.key]
    assert [one.key for one in found] == [key]
    assert str(found[0]).split(": expected ")[1].startswith(message)


def test_a_twins_key_needs_a_twin() -> None:
    text = TEXTS["formations.toml"].replace('mirror = "Wing left"', 'mirror_key = "wing-left"')
    [found] = problems_of({**TEXTS, "formations.toml": text})
    assert (found.key, found.expected) == ("formation[4].mirror_key", "no such key without a 'mirror'")
