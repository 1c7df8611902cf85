"""What all tests share: outside tools, a browser, how much to run, and skips that count as failures."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

ROOT = Path(__file__).parent.parent
NO_SKIP = bool(os.environ.get("BACKPROBE_NO_SKIP"))
RUN_ALL = bool(os.environ.get("BACKPROBE_ALL"))

ARGUMENTS = [
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--host-resolver-rules=MAP * ~NOTFOUND , EXCLUDE 127.0.0.1",
]  # fmt: skip

# The same examples on each run; `.ci/run all` looks at more of them.
_QUIET = [HealthCheck.too_slow, HealthCheck.data_too_large]
settings.register_profile("short", derandomize=True, deadline=None, suppress_health_check=_QUIET)
settings.register_profile(
    "all", derandomize=True, deadline=None, max_examples=1500, suppress_health_check=_QUIET
)
settings.load_profile("all" if RUN_ALL else "short")


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item, call: pytest.CallInfo) -> Iterator[None]:
    """Where all tools have to be there, a skipped test has failed."""
    report = yield
    if NO_SKIP and report.skipped and not hasattr(report, "wasxfail"):
        report.outcome = "failed"
    return report


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report(collector: pytest.Collector) -> Iterator[None]:
    """The same for a file of tests that skips as a whole."""
    report = yield
    if NO_SKIP and report.skipped:
        report.outcome = "failed"
    return report


@pytest.fixture(scope="session", autouse=True)
def cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """What commands keep for later goes to a folder of the tests."""
    with pytest.MonkeyPatch.context() as patch:
        folder = tmp_path_factory.mktemp("cache")
        patch.setenv("XDG_CACHE_HOME", str(folder))
        yield folder


@pytest.fixture(scope="session")
def tools() -> Path:
    """The folder of outside tools: `BACKPROBE_TOOLS`, else `.tools` in the checkout."""
    folder = Path(os.environ.get("BACKPROBE_TOOLS", ROOT / ".tools"))
    if not folder.is_dir():
        pytest.skip("the outside tools are not installed; `.ci/run` installs them")
    return folder


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """Chromium, without a network."""
    program = shutil.which("chromium")
    if program is None:
        pytest.skip("chromium is absent")
    playwright = pytest.importorskip("playwright.sync_api", reason="playwright is absent")
    with playwright.sync_playwright() as started:
        opened = started.chromium.launch(executable_path=program, args=ARGUMENTS)
        yield opened
        opened.close()
