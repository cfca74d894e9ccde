"""A theme: one folder of templates, style sheets and scripts, read once and carried as values.

`theme.yaml` in the folder says for which version of the template variables it was written; the variables are the
frozen records of `frame.py` and the `*_page.py` modules beside this one.
"""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Final

import yaml
from jinja2 import DictLoader, Environment, StrictUndefined

from basefog.site import Job, WrongUsage

THEME_VERSION: Final = 1
"""Version of the variables that templates may use; it changes when one is renamed or taken away."""

_TEMPLATES, _ASSETS = "templates", "assets"


class ThemeError(WrongUsage):
    """A theme folder that can't be used; the message says what is wrong and how to mend it."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Theme:
    """Templates by name, published files by name, and one digest that stands for them all."""

    name: str
    templates: Mapping[str, str]
    assets: Mapping[str, bytes]
    digest: str


def load_theme(folder: Path) -> Theme:
    """Read a theme folder: `theme.yaml`, `templates/*.html`, `assets/*`.

    Raises ThemeError where the folder is no theme, or was written for other template variables.
    """
    about = folder / "theme.yaml"
    if not about.is_file():
        raise ThemeError(f"{folder.name} is no theme: it has no theme.yaml; name a folder that holds one")
    said = yaml.safe_load(about.read_text(encoding="utf-8"))
    version = said.get("theme_version") if isinstance(said, dict) else None
    if version != THEME_VERSION:
        raise ThemeError(
            f"the theme {folder.name} is written for version {version} of the template variables, expected "
            f"{THEME_VERSION}; bring its templates up to date and set theme_version: {THEME_VERSION}"
        )
    templates = {path.name: path.read_text(encoding="utf-8") for path in _files(folder / _TEMPLATES)}
    assets = {path.name: path.read_bytes() for path in _files(folder / _ASSETS)}
    return Theme(name=folder.name, templates=templates, assets=assets, digest=_digest(templates, assets))


def render(theme: Theme, template: str, variables: Mapping[str, object]) -> bytes:
    """Return a page as UTF-8. A variable that the template names and nobody gave raises jinja2's UndefinedError."""
    return _environment(_Keyed(theme)).get_template(template).render(variables).encode()


def address_of_asset(name: str) -> str:
    """Return where one of the theme's published files stands."""
    return f"assets/{name}"


def plan_assets(theme: Theme) -> tuple[Job, ...]:
    """Return the job that writes the theme's style sheets and scripts."""
    outputs = tuple(address_of_asset(name) for name in sorted(theme.assets))
    return (Job(outputs=outputs, make=make_assets, inputs={"assets": theme.assets}),)


def make_assets(*, assets: Mapping[str, bytes]) -> dict[str, bytes]:
    """Return the theme's published files by address; scripts without their comments and idle white space."""
    return {
        address_of_asset(name): _minify(data) if name.endswith(".js") else data for name, data in sorted(assets.items())
    }


def _minify(script: bytes) -> bytes:
    from rjsmin import jsmin

    return f"{jsmin(script.decode('utf-8'))}\n".encode()


def _files(folder: Path) -> list[Path]:
    return sorted(path for path in folder.iterdir() if path.is_file() and not path.name.startswith("."))


def _digest(templates: Mapping[str, str], assets: Mapping[str, bytes]) -> str:
    digest = hashlib.sha256(str(THEME_VERSION).encode())
    for name, data in sorted([*((name, text.encode()) for name, text in templates.items()), *assets.items()]):
        digest.update(f"{name}\0{len(data)}\0".encode() + data)
    return digest.hexdigest()


@dataclass(frozen=True, slots=True, eq=False)
class _Keyed:
    """A theme that stands for itself by its digest, so that its compiled templates are kept for a whole publish."""

    theme: Theme

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Keyed) and other.theme.digest == self.theme.digest

    def __hash__(self) -> int:
        return hash(self.theme.digest)


@lru_cache(maxsize=4)
def _environment(keyed: _Keyed) -> Environment:
    return Environment(
        loader=DictLoader(dict(keyed.theme.templates)),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
