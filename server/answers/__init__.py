"""Answers: stored exactly once, and the picture that follows a miss."""
