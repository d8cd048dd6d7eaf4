"""One module a kind of rep: a solved situation in; stem, picture, choices, right answers and reasons out. No server,
no clock."""
