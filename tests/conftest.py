"""Profiles for the property tests: `DIAGNOSE_TEST_PROFILE=fast` for a quick look, `thorough` for a long one."""

from __future__ import annotations

import os

# Before anything imports numpy: its threads wait for each other on a busy machine, and the tables are small.
# The command does the same.
for _threads in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_threads, "1")

from hypothesis import settings  # noqa: E402

# A shared machine is slow at times; a test that times out then says nothing about the program.
settings.register_profile("usual", deadline=None)
settings.register_profile("fast", deadline=None, max_examples=15)
settings.register_profile("thorough", deadline=None, max_examples=1000)
settings.load_profile(os.environ.get("DIAGNOSE_TEST_PROFILE", "usual"))
