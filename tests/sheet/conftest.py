"""One headless browser for all tests of the run that look at a page."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator

import headless
import pytest


@pytest.fixture(scope="session")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[headless.Browser]:
    if absent := headless.missing():
        pytest.skip(f"{absent}: pages are not looked at")
    # a proxy set for downloads must not stand between the tests and their own browser
    os.environ["no_proxy"] = ",".join(filter(None, (os.environ.get("no_proxy"), "127.0.0.1")))
    with headless.started(tmp_path_factory.mktemp("browser")) as started:
        yield started


@pytest.fixture(scope="session")
def page(browser: headless.Browser) -> Callable[[str], headless.Page]:
    """Opens the text of a page: ``page(html)`` gives a :class:`headless.Page`."""
    return browser.page
