"""What holds for every test: property tests judge no wall time and try the same examples; one browser serves all."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, settings

if TYPE_CHECKING:
    from playwright.sync_api import Browser

settings.register_profile(
    "basefog", deadline=None, derandomize=True, database=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("basefog")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin with the longest test: at the end one worker would wait for the other."""
    items.sort(key=lambda item: item.path.name != "test_wheel.py")


@pytest.fixture(scope="session")
def browser() -> Iterator["Browser"]:
    """One Chromium for all tests of a worker; Playwright can't be started twice in one thread."""
    from chromium import open_browser

    with open_browser() as browser:
        yield browser
