"""Where the themes and the demo series are: inside an installed package, or at the top of a checkout."""

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def bundled_folder(name: str) -> Path:
    """Return the folder of that name (`themes` or `content`).

    The built wheel carries both below `_bundled`; a checkout, also one installed to be edited, has them at its top.
    Raises FileNotFoundError where neither is there: the installation is damaged.
    """
    for folder in (_PACKAGE / "_bundled" / name, _PACKAGE.parents[1] / name):
        if folder.is_dir():
            return folder
    raise FileNotFoundError(f"this installation of basefog lacks its {name}; install it again")
