"""A team's progress: mastery states, the board, confusions, charts, practice sheets, results."""
