"""Profiles for the property tests: `DIAGNOSE_TEST_PROFILE=fast` for a quick look, `thorough` for a long one."""

from __future__ import annotations

import os

from hypothesis import settings

# A shared machine is slow at times; a test that times out then says nothing about the program.
settings.register_profile("usual", deadline=None)
settings.register_profile("fast", deadline=None, max_examples=15)
settings.register_profile("thorough", deadline=None, max_examples=1000)
settings.load_profile(os.environ.get("DIAGNOSE_TEST_PROFILE", "usual"))
