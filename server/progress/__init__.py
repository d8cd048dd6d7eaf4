"""Where a team stands: its mastery state, the board, confusions, charts, sheets, results."""
