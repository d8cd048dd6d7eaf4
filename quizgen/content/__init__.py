"""TOML <-> nouns: what a team brings, read with every problem named at once. The only room of quizgen that reads files.

Knows the nouns; knows no engine, no rep, no server.
"""

from quizgen.content.load import load_team, load_team_dir, read_team_dir

__all__ = ["load_team", "load_team_dir", "read_team_dir"]
