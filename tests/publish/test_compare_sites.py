"""Two published sites are compared byte by byte, and pictures that differ by their pixels."""

from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from basefog.site.marker import MARKER_NAME, Marker, render_marker
from publish.compare_sites import compare_sites, main

GREYS = np.arange(0, 240, dtype=np.uint8).reshape(12, 20)


def picture(greys: np.ndarray, kind: str = "PNG", **options: object) -> bytes:
    out = BytesIO()
    Image.fromarray(greys).save(out, kind, **options)
    return out.getvalue()


def write(folder: Path, **digests: str) -> Path:
    """Write a small site; its marker gives these digests."""
    folder.mkdir()
    (folder / "index.html").write_bytes(b"<p>0.612")
    (folder / "grain.png").write_bytes(picture(GREYS))
    digests = {"index.html": "00", "grain.png": "11"} | digests
    (folder / MARKER_NAME).write_bytes(render_marker(Marker(files=digests)))
    return folder


def write_two(folder: Path, **digests: str) -> tuple[Path, Path]:
    return write(folder / "one"), write(folder / "other", **digests)


def test_sites_of_the_same_bytes_do_not_differ(tmp_path: Path) -> None:
    """Nothing is told, and the command ends with 0."""
    one, other = write_two(tmp_path)

    assert compare_sites(one, other) == ()
    assert main(one, other) == 0


def test_one_byte_of_a_page_is_a_difference(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """It is told by the page's name, and the command ends with 1."""
    one, other = write_two(tmp_path)
    (other / "index.html").write_bytes(b"<p>0.613")

    assert main(one, other) == 1
    assert capsys.readouterr().out == "index.html: other bytes\n"


def test_a_file_that_one_site_lacks_is_a_difference(tmp_path: Path) -> None:
    """Whichever of the two lacks it."""
    one, other = write_two(tmp_path)
    (one / "feed.xml").touch()
    (other / "series.zip").touch()

    assert compare_sites(one, other) == (f"feed.xml: only in {one}", f"series.zip: only in {other}")


def test_a_picture_may_differ_by_one_code(tmp_path: Path) -> None:
    """Then its digest in the marker may differ as well."""
    one, other = write_two(tmp_path, **{"grain.png": "22"})
    (other / "grain.png").write_bytes(picture(GREYS + np.uint8(1)))

    assert compare_sites(one, other) == ()


def test_a_picture_may_not_differ_by_two_codes(tmp_path: Path) -> None:
    """One pixel is enough."""
    one, other = write_two(tmp_path)
    greys = GREYS.copy()
    greys[3, 4] -= 2
    (other / "grain.png").write_bytes(picture(greys))

    assert compare_sites(one, other) == ("grain.png: pixels differ by up to 2 codes",)


def test_a_picture_of_another_size_is_a_difference(tmp_path: Path) -> None:
    """Though all that both show is the same."""
    one, other = write_two(tmp_path)
    (other / "grain.png").write_bytes(picture(GREYS[:, 1:]))

    assert compare_sites(one, other) == ("grain.png: a picture of another size or kind",)


def test_only_pictures_are_compared_by_pixels(tmp_path: Path) -> None:
    """The same two pictures under another name are other bytes."""
    one, other = write_two(tmp_path)
    (one / "grain.bin").write_bytes(picture(GREYS))
    (other / "grain.bin").write_bytes(picture(GREYS + np.uint8(1)))

    assert compare_sites(one, other) == ("grain.bin: other bytes",)


def test_another_digest_of_the_same_bytes_is_a_difference(tmp_path: Path) -> None:
    """A page's and a picture's: only pictures that differ by a code may have one."""
    one, other = write_two(tmp_path, **{"index.html": "33", "grain.png": "44"})

    assert compare_sites(one, other) == (
        f"{MARKER_NAME}: another digest of grain.png",
        f"{MARKER_NAME}: another digest of index.html",
    )


def test_a_marker_written_otherwise_is_a_difference(tmp_path: Path) -> None:
    """The same digests in other bytes."""
    one, other = write_two(tmp_path)
    marker = other / MARKER_NAME
    marker.write_bytes(marker.read_bytes() + b"\n")

    assert compare_sites(one, other) == (f"{MARKER_NAME}: other bytes",)
