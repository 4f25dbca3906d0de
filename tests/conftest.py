"""What every test shares: repeatable property tests; outside programs, present or missed aloud."""

import os
import shutil
from collections.abc import Generator
from pathlib import Path

import pytest
from hypothesis import settings

settings.register_profile("house", derandomize=True, deadline=None, database=None)
settings.load_profile("house")

CI = os.environ.get("CI", "").lower() == "true"


def _program(*names: str) -> Path:
    for name in names:
        found = shutil.which(name)
        if found:
            return Path(found)
    missing = f"{names[0]} is not installed, so this test cannot run"
    if CI:
        pytest.fail(missing)
    pytest.skip(missing)


@pytest.fixture(scope="session", autouse=True)
def own_cache(tmp_path_factory: pytest.TempPathFactory) -> Generator[Path]:
    """No test sees what the user's own work has left in the cache folder, nor leaves anything there."""
    folder = tmp_path_factory.mktemp("cache")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(folder))
        yield folder


@pytest.fixture(scope="session")
def ngspice() -> Path:
    """Where the circuit simulator is that networks are held against."""
    return _program("ngspice")


@pytest.fixture(scope="session")
def chromium() -> Path:
    """Where the browser is that reports are opened in."""
    return _program("chromium", "chromium-browser")


@pytest.fixture(scope="session")
def measured_by_others() -> Path:
    """A measured head that Debian's libmysofa1 brings."""
    path = Path("/usr/share/libmysofa/default.sofa")
    if path.exists():
        return path
    missing = "libmysofa1 is not installed, so this test cannot run"
    if CI:
        pytest.fail(missing)
    pytest.skip(missing)


def _must_have_run(report: pytest.TestReport | pytest.CollectReport) -> None:
    """In CI a test that could not run is a failure: nothing of the everyday set may be missing there."""
    if CI and report.skipped:
        reason = report.longrepr[2] if isinstance(report.longrepr, tuple) else report.longrepr
        report.outcome = "failed"
        report.longrepr = f"{report.nodeid} did not run although CI=true: {reason}"


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Generator[None, pytest.TestReport, pytest.TestReport]:
    report = yield
    _must_have_run(report)
    return report


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report() -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
    report = yield
    _must_have_run(report)
    return report
