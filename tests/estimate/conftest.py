"""Site folders for the tests of the estimate: a whole one in a fresh folder, and one with a changed text."""

from collections.abc import Callable
from pathlib import Path

import pytest

from estimate.site_template import new_site, template_text


@pytest.fixture
def yard(tmp_path: Path) -> Path:
    """Return a new site folder in US units."""
    new_site(tmp_path / "yard", "US")
    return tmp_path / "yard"


@pytest.fixture
def changed(yard: Path) -> Callable[..., Path]:
    """Return a function that writes the template with pieces replaced and returns the site folder."""

    def change(*pairs: tuple[str, str]) -> Path:
        text = template_text("site.toml", "US")
        for old, new in pairs:
            assert old in text, old
            text = text.replace(old, new, 1)
        (yard / "site.toml").write_text(text, encoding="utf-8")
        return yard

    return change
