"""Finds widgets by their accessible name, which proves that they have one."""

from typing import TypeVar

from PySide6.QtWidgets import QWidget

W = TypeVar("W", bound=QWidget)


def named(parent: QWidget, kind: type[W], name: str) -> W:
    """Return the one widget of a kind under `parent` with an accessible name."""
    found = [widget for widget in parent.findChildren(kind) if widget.accessibleName() == name]
    assert len(found) == 1, f"{len(found)} widgets are called {name!r}"
    return found[0]
