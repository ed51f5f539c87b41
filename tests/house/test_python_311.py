"""Guards against a window library that loses references on Python 3.11.

PySide6 6.12.0 on Python 3.11.7 lost two references to None or True for each ordinary call, and in the end
aborted the interpreter. From Python 3.12 on None and True are immortal (PEP 683): nothing to count there.
"""

import sys

import pytest
from PySide6.QtCore import QObject

CALLS = 1000


@pytest.mark.skipif(sys.version_info >= (3, 12), reason="None and True are immortal from Python 3.12 on")
@pytest.mark.parametrize("kept", [None, True])
def test_ordinary_calls_keep_references(qapp, kept):
    thing = QObject()
    before = sys.getrefcount(kept)
    for _ in range(CALLS):
        qapp.processEvents()
        thing.setObjectName("thing")
        thing.blockSignals(False)
    lost = before - sys.getrefcount(kept)
    assert lost < CALLS / 10
