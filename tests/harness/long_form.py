"""Tests that are shortened for every run, and their full length: GAPSOUND_TEST_LONG=1 .venv/bin/pytest FILE."""

import os

IS_LONG = os.environ.get("GAPSOUND_TEST_LONG") == "1"


def length(short: int, long: int) -> int:
    """How many examples of a test this run takes."""
    return long if IS_LONG else short
