"""For all tests: a skip may be turned into a failure, and hypothesis holds no stopwatch.

With BELTWRIGHT_NO_SKIPS=1 a test that would be skipped (no PostgreSQL on the machine, say) fails instead, so that a
green run means that everything ran.
"""

from __future__ import annotations

import os
from collections.abc import Generator

import hypothesis
import pytest

hypothesis.settings.register_profile("beltwright", deadline=None)
hypothesis.settings.load_profile("beltwright")


def _no_skips(report: pytest.TestReport | pytest.CollectReport) -> None:
    if report.skipped and os.environ.get("BELTWRIGHT_NO_SKIPS") == "1":
        reason = report.longrepr[2] if isinstance(report.longrepr, tuple) else report.longrepr
        report.outcome = "failed"
        report.longrepr = f"{report.nodeid}: {reason}; BELTWRIGHT_NO_SKIPS lets no test be skipped"


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Generator[None, pytest.TestReport, pytest.TestReport]:
    report = yield
    _no_skips(report)
    return report


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report() -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
    report = yield
    _no_skips(report)
    return report
