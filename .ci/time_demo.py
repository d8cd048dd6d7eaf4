"""Start the demo with the README's first command, twice, and print how long each took until the first page.

The first start is cold when there is no environment yet. Times are printed, not judged, since a busy machine isn't the
code's fault. Fails when the demo doesn't answer, or doesn't stop when terminated.
"""

import re
import shlex
import subprocess
import sys
import tempfile
import threading
import time
import urllib.request
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
GIVE_UP_AFTER_S = 300.0


def first_command() -> list[str]:
    """Return the README's first command."""
    block = re.search(r"^```\n(.+)$", (ROOT / "README.md").read_text(encoding="utf-8"), re.MULTILINE)
    assert block is not None, "the README has no command"
    return shlex.split(block.group(1))


def answers(address: str) -> bool:
    """Return whether the address serves a page."""
    try:
        with urllib.request.urlopen(address, timeout=5) as reply:  # noqa: S310 - an address that the demo printed
            return reply.status == 200 and b"<title>" in reply.read()
    except OSError:
        return False


def time_to_first_page(command: list[str]) -> float:
    """Return the seconds from the command to the first page at the address it prints."""
    started = time.monotonic()
    with subprocess.Popen(command, cwd=ROOT, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, text=True) as demo:
        assert demo.stdout is not None
        guard = threading.Timer(GIVE_UP_AFTER_S, demo.kill)
        guard.start()
        try:
            for line in demo.stdout:
                print(f"    {line}", end="")
                address = re.search(r"https?://[\w.:\[\]-]+[^\s]*", line)
                while address and demo.poll() is None:
                    if answers(address.group()):
                        return time.monotonic() - started
                    time.sleep(0.05)
            sys.exit(f"the demo ended without answering (exit code {demo.wait()})")
        finally:
            guard.cancel()
            demo.terminate()
            for line in demo.stdout:
                print(f"    {line}", end="")


scratch = tempfile.TemporaryDirectory()
command = [*first_command(), "--host", "127.0.0.1", "--data", scratch.name]
state = "no environment yet" if not (ROOT / ".venv").exists() else "environment already there"
print(f"{' '.join(command)} ({state})", flush=True)
print(f"first start: {time_to_first_page(command):.1f} s to the first page", flush=True)
print(f"second start: {time_to_first_page(command):.1f} s to the first page", flush=True)
scratch.cleanup()
