"""The nouns of the game, frozen and self-checking. Knows no engine, no files, no drawing."""
