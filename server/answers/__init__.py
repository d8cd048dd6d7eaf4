"""Answers are stored exactly once; a picture follows each miss."""
