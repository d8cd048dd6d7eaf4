"""The long form of `tests/trust/test_fuzz.py`: python -m tests.bench.trust_fuzz [INPUTS] [SEED] [TARGET …]

INPUTS is the total, shared among the targets (all of them unless some are named).
"""

import secrets
import sys
import time

import structlog

from tests.trust.fuzzed import targets
from tests.trust.fuzzing import fuzz
from tests.trust.live import report


def main() -> None:
    structlog.configure(wrapper_class=structlog.make_filtering_bound_logger(50))
    inputs = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else secrets.randbelow(10**6)
    chosen = [one for one in targets() if one.name in sys.argv[3:] or not sys.argv[3:]]
    shares, given, wrong = sum(one.share for one in chosen), 0, 0
    for one in chosen:
        began = time.monotonic()
        came = fuzz(one, -(-inputs * one.share // shares), seed)
        given, wrong = given + came.inputs, wrong + len(came.wrong)
        took_s = round(time.monotonic() - began, 1)
        report(
            one.name, inputs=came.inputs, taken=came.taken, refused=came.refused, wrong=len(came.wrong), took_s=took_s
        )
        for line in came.wrong.values():
            print("  WRONG", line)
    report("fuzz", seed=seed, inputs=given, wrong=wrong)
    sys.exit(bool(wrong))


if __name__ == "__main__":
    main()
