"""Pages of a PDF as grey pictures, drawn by an independent program (pdftoppm of poppler)."""

import subprocess
from pathlib import Path

import numpy as np
from PySide6.QtGui import QImage

#: Where approved pictures lie.
APPROVED = Path(__file__).parents[1] / "pictures" / "paper"
#: Coarse enough that another version of a font hardly counts.
APPROVED_DPI = 50


def page_picture(content: bytes, dpi: int, page: int = 1) -> np.ndarray:
    """Return one page as grey values, 0 for black."""
    done = subprocess.run(  # noqa: S603 - the arguments are ours
        ["pdftoppm", "-r", str(dpi), "-gray", "-f", str(page), "-l", str(page), "-"],  # noqa: S607
        input=content,
        capture_output=True,
        check=True,
    )
    # A portable grey map: "P5", width, height, the greatest value, then the values.
    kind, width, height, greatest, _values = done.stdout.split(maxsplit=4)
    assert (kind, greatest) == (b"P5", b"255")
    size = int(width) * int(height)
    # Values may begin with what looks like white space; count from the end.
    return np.frombuffer(done.stdout[-size:], np.uint8).reshape(int(height), int(width))


def approved_picture(name: str) -> np.ndarray:
    """Return an approved picture as grey values."""
    image = QImage(str(APPROVED / f"{name}.png")).convertToFormat(QImage.Format.Format_Grayscale8)
    assert not image.isNull(), name
    flat = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.bytesPerLine())
    # A copy: the memory goes with the image.
    return flat[:, : image.width()].copy()


def keep_picture(name: str, picture: np.ndarray) -> None:
    """Keep a picture as the approved one; somebody has looked at it."""
    height, width = picture.shape
    data = np.ascontiguousarray(picture)
    image = QImage(data.data, width, height, width, QImage.Format.Format_Grayscale8)
    APPROVED.mkdir(parents=True, exist_ok=True)
    assert image.save(str(APPROVED / f"{name}.png"))


def difference(one: np.ndarray, other: np.ndarray) -> float:
    """Return how much two pictures differ: the ink in squares of about 4 mm, mean of all, [-]."""
    side = 8
    coarse = []
    for picture in (one, other):
        height, width = (n // side * side for n in picture.shape)
        tiles = picture[:height, :width].reshape(height // side, side, width // side, side)
        coarse.append(1.0 - tiles.mean(axis=(1, 3)) / 255.0)
    return float(np.abs(coarse[0] - coarse[1]).mean())
