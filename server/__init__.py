"""People and time: accounts, assignments, answers, mastery and the board; it holds no football rule."""
