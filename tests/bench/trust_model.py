"""The long form of `tests/trust/test_model.py`, on both databases: python -m tests.bench.trust_model [RUNS] [STEPS]"""

import sys
import tempfile
import time
from collections import Counter
from pathlib import Path
from typing import Any

import structlog

from tests.harness.house import make_house
from tests.trust.live import report
from tests.trust.plain_model import PlainModel
from tests.trust.postgres import own_database
from tests.trust.test_model import run_model


def count_statuses() -> Counter[int]:
    """Count the model's replies to answers from now on."""
    counts: Counter[int] = Counter()
    to_answer = PlainModel.to_answer

    def counted(model: PlainModel, *given: Any) -> Any:
        said = to_answer(model, *given)
        counts[said[0]] += 1
        return said

    PlainModel.to_answer = counted  # type: ignore[method-assign]
    return counts


def main() -> None:
    runs, steps = (int(sys.argv[i]) if len(sys.argv) > i else n for i, n in ((1, 200), (2, 80)))
    structlog.configure(wrapper_class=structlog.make_filtering_bound_logger(50))
    counts = count_statuses()
    with own_database() as database:
        for name, more in (("sqlite", {}), ("postgresql", {"database_url": database.url})):
            counts.clear()
            began = time.monotonic()
            with tempfile.TemporaryDirectory(prefix="gapsound-model-") as folder:
                for house in make_house(Path(folder), **more):
                    run_model(house, runs, steps)
            took_s = round(time.monotonic() - began, 1)
            report(f"model, {name}", runs=runs, steps=steps, answers=dict(sorted(counts.items())), took_s=took_s)


if __name__ == "__main__":
    main()
