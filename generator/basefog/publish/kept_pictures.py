"""Pictures on their way from the scans into the site: files of a folder that goes when the command ends.

All pictures of a site are too many to be held in memory, and which there are must be known before a page is planned.
"""

import hashlib
from collections.abc import Iterator, Mapping
from pathlib import Path

from basefog.site import InputPath, NoRoom


class KeptPictures(Mapping[str, InputPath]):
    """Encoded pictures by their address in the site, each a file with its digest."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._files: dict[str, InputPath] = {}

    def put(self, address: str, data: bytes) -> None:
        """Keep a picture. Raises NoRoom where it can't be written."""
        path = self._folder / f"{len(self._files)}{Path(address).suffix}"
        try:
            path.write_bytes(data)
        except OSError as error:
            raise NoRoom(f"the temporary folder {self._folder} can't be written: {error.strerror}") from error
        self._files[address] = InputPath(path=str(path), sha256=hashlib.sha256(data).hexdigest())

    def __getitem__(self, address: str) -> InputPath:
        return self._files[address]

    def __iter__(self) -> Iterator[str]:
        return iter(self._files)

    def __len__(self) -> int:
        return len(self._files)
