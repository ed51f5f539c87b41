"""Makes the approved pictures anew: `python -m tests.pictures.approve`. Look at them before they are kept.

Only those that differ from what is kept are written: a change of one page is a change of its pictures.
"""

import os
import sys
import tempfile
from pathlib import Path

os.environ["QT_QPA_PLATFORM"] = "offscreen"
os.environ["QT_SCALE_FACTOR"] = "1"
os.environ["QT_FONT_DPI"] = "96"
os.environ["LC_ALL"] = "C.UTF-8"
os.environ["LANGUAGE"] = "en"

from PIL import Image
from PySide6.QtWidgets import QApplication

from tests.pictures.comparing import difference
from tests.pictures.rendering import APPROVED, FLEETS, LOOKS, keep, rendered


def main() -> None:
    """Write the pictures that are new or differ, and take away those of pages that are gone."""
    app = QApplication.instance() or QApplication([])
    assert app is not None
    names, written = set(), []
    with tempfile.TemporaryDirectory() as folder:
        for fleet in FLEETS:
            for look in LOOKS:
                for name, image in rendered(fleet, look, Path(folder)):
                    names.add(name)
                    file = APPROVED / f"{name}.png"
                    if not file.exists() or difference(Image.open(file), image).is_other:
                        keep(image, file)
                        written.append(name)
    gone = [file for file in APPROVED.glob("*.png") if file.stem not in names]
    for file in gone:
        file.unlink()
    size = sum(file.stat().st_size for file in APPROVED.glob("*.png"))
    sys.stdout.write(f"{len(names)} pictures, {size / 1e6:.1f} MB; written: {', '.join(written) or 'none'}\n")
    if gone:
        sys.stdout.write(f"taken away: {', '.join(file.stem for file in gone)}\n")


if __name__ == "__main__":
    main()
