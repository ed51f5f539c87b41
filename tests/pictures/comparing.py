"""How far two pictures of a page differ, told in a way that fonts survive and layouts do not.

Both are brought to a quarter of their size and softened, so that the edge of a letter is a shade; then
they are compared cell by cell. Another drawing of the same font moves edges by parts of a pixel and shades a
cell a little otherwise; a label in another place changes some cells thoroughly.
"""

from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageFilter

#: A quarter of the size, softened by so many of its pixels, and cells of 4 of them: 16 px of the window.
REDUCED, SOFT, CELL = 4, 1.2, 4
#: Greatest mean difference of a cell, of 255. On six pages letters fitted to whole pixels upright made at
#: most 3.7 (the pictures have none fitted), keeping few colours 2.3; two tabs that change places made 5.2, a
#: list that moves by 8 px made 21. Larger cells and more softening brought the first and the last closer.
MOST = 4.2


@dataclass(frozen=True, slots=True)
class Difference:
    """How far two pictures differ: the worst cell, of 255, and where it is in the window, [px]."""

    worst: float
    at: tuple[int, int]

    @property
    def is_other(self) -> bool:
        """Whether the page looks other than it was approved."""
        return self.worst > MOST


def difference(first: Image.Image, second: Image.Image) -> Difference:
    """Return how far two pictures differ."""
    if first.size != second.size:
        return Difference(255.0, (0, 0))
    apart = np.abs(_reduced(first) - _reduced(second)).mean(axis=2)
    rows, columns = (length // CELL for length in apart.shape)
    cells = apart[: rows * CELL, : columns * CELL].reshape(rows, CELL, columns, CELL).mean(axis=(1, 3))
    row, column = np.unravel_index(int(cells.argmax()), cells.shape)
    step = REDUCED * CELL
    return Difference(float(cells.max()), (int(column) * step, int(row) * step))


def _reduced(image: Image.Image) -> np.ndarray:
    width, height = image.size
    small = image.convert("RGB").resize((width // REDUCED, height // REDUCED), Image.Resampling.BOX)
    return np.asarray(small.filter(ImageFilter.GaussianBlur(SOFT)), dtype=float)
