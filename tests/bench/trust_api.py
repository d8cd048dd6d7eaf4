"""The long form of `tests/trust/test_api.py`:

python -m tests.bench.trust_api [--cases 10000] [--seed 0] [--postgres]
"""

import argparse
import contextlib
import sys
import time

import structlog

from tests.trust.asking import ask_everything
from tests.trust.documented import statuses
from tests.trust.live import report
from tests.trust.postgres import own_database


def main() -> None:
    wanted = argparse.ArgumentParser(description=__doc__)
    wanted.add_argument("--cases", type=int, default=10_000)
    wanted.add_argument("--seed", type=int, default=0)
    wanted.add_argument("--postgres", action="store_true")
    given = wanted.parse_args()
    structlog.configure(wrapper_class=structlog.make_filtering_bound_logger(50))
    began = time.monotonic()
    with own_database() if given.postgres else contextlib.nullcontext() as database:
        more = {"database_url": database.url} if database else {}
        heard = ask_everything(given.cases, first_seed=given.seed, **more)
    for label, counts in heard.statuses.items():
        method, path = label.split(" ")
        unheard = sorted(statuses(method, path) - set(counts) - {413, 503})
        print(f"{label:55} {dict(sorted(counts.items()))}" + (f"  never: {unheard}" if unheard else ""))
    for line, count in heard.wrong.most_common():
        print(f"WRONG {count:5} {line}\n      {heard.examples[line]}")
    replies = sum(heard.statuses.values(), start=type(next(iter(heard.statuses.values())))())
    report(
        "api",
        routes=len(heard.statuses),
        cases=heard.asked,
        faults=sum(n for status, n in replies.items() if status >= 500),
        wrong=sum(heard.wrong.values()),
        statuses=dict(sorted(replies.items())),
        took_s=round(time.monotonic() - began, 1),
    )
    sys.exit(bool(heard.wrong))


if __name__ == "__main__":
    main()
