"""What the benchmark says of a child process that ends without an answer."""

from __future__ import annotations

import signal

import pytest

from tests.benchmark import said_by


@pytest.mark.parametrize(
    ("program", "said"),
    [
        ("print('ours 1 ms')", "ours 1 ms"),
        ("raise MemoryError", "MemoryError"),
        ("import os; os._exit(7)", "nothing; exit status 7"),
        (f"import os; os.kill(os.getpid(), {signal.SIGKILL})", "nothing; killed by SIGKILL"),
    ],
)
def test_a_child_that_says_nothing_is_known_by_its_end(program: str, said: str) -> None:
    """Its answer, else the last line of its complaint, else its exit status or the signal that killed it."""
    assert said_by(["-c", program], within=30).startswith(said)


def test_a_child_that_takes_too_long_is_ended() -> None:
    """It is given its seconds and no more."""
    assert said_by(["-c", "import time; time.sleep(60)"], within=0.5) == "no answer in 0.5 s"
