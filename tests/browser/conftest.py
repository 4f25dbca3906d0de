"""One browser and one desk a module; every test gets the example as it was and a page that must stay quiet."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, sync_playwright

from browser.desks import ARGUMENTS, Served, Sheet, example


@pytest.fixture(scope="module")
def browser(chromium: Path) -> Iterator[Browser]:
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=str(chromium), args=list(ARGUMENTS))
        yield opened
        opened.close()


@pytest.fixture(scope="module")
def one_desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    folder = tmp_path_factory.mktemp("desk")
    served = Served(example(folder) / "twin.yaml", folder / "state")
    yield served
    served.stop()


@pytest.fixture
def desk(one_desk: Served) -> Served:
    one_desk.afresh()
    return one_desk


@pytest.fixture(scope="module")
def one_sheet(browser: Browser, one_desk: Served) -> Iterator[Sheet]:
    opened = Sheet(browser, one_desk)
    yield opened
    opened.close()


@pytest.fixture
def sheet(desk: Served, one_sheet: Sheet) -> Iterator[Sheet]:
    assert one_sheet.served is desk
    one_sheet.again()
    yield one_sheet
    assert one_sheet.complaints == []
