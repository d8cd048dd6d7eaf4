"""Pure football: nouns, the gap engine, reps and their pictures. Knows no database, no web, no clock, no randomness."""
