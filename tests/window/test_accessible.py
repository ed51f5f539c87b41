"""Every control of every page has a name and a role, is reached by Tab, and keeps its text whole at 200 %.

Success criteria of WCAG 2.2: 4.1.2 (name, role, value), 2.1.1 (keyboard), 2.1.2 (no keyboard trap), 2.4.3
(focus order), 1.4.4 (text up to 200 %), 1.4.10 (no two ways of scrolling for reading), 2.3.3 (motion).
"""

from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QAccessible
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractScrollArea,
    QApplication,
    QLabel,
    QScrollArea,
    QScrollBar,
    QWidget,
)

import wearlog
from wearlog.preferences import Preferences
from wearlog.window.flow import ElidedLabel
from wearlog.window.pages import PAGES
from wearlog.window.start import build_window
from wearlog.workshop.fleet_state import fleet_state

#: A patrol motorcycle of the sample fleet with two chain stages.
TAG = "LR-007"
NO_ROLE = {QAccessible.Role.NoRole, QAccessible.Role.Client, QAccessible.Role.Window}
EVERY_PAGE = pytest.mark.parametrize("name", [entry.name for entry in PAGES])


@pytest.fixture
def seat(sample, qtbot):
    """The whole window on the sample fleet, one vehicle chosen."""
    seat = build_window(sample, Preferences(theme="light", person="Tilda"), place="Larkfell Ranger Service")
    seat.window.resize(1280, 800)
    seat.session.vehicle_id = fleet_state(sample).vehicle_tagged(TAG).id
    with qtbot.waitExposed(seat.window):
        seat.show()
    seat.window.activateWindow()
    yield seat
    rest(seat, qtbot)
    seat.close()
    seat.window.deleteLater()


def rest(seat, qtbot):
    """Wait until the program has answered."""
    for _turn in range(2):
        qtbot.waitUntil(lambda: not seat.background.is_busy())
        QApplication.processEvents()


def opened(seat, qtbot, name):
    seat.window.open_page(name)
    rest(seat, qtbot)
    page = seat.window.current_page()
    assert page is not None
    return page


def controls(root: QWidget) -> list[QWidget]:
    """Return what is seen and takes the keyboard."""
    return [
        widget
        for widget in root.findChildren(QWidget)
        if widget.isVisibleTo(root)
        and widget.isEnabled()
        and widget.focusPolicy() & Qt.FocusPolicy.TabFocus
        and widget.focusProxy() is None
        and not isinstance(widget, QScrollBar)
        and widget.objectName() != "qt_spinbox_lineedit"
    ]


def told(widget: QWidget) -> str:
    """Return what a test of a widget says when it fails."""
    text = getattr(widget, "text", None)
    said = text() if callable(text) else ""
    return f"{type(widget).__name__} {widget.accessibleName()!r} {said!r} in {type(widget.parent()).__name__}"


@EVERY_PAGE
def test_every_control_has_name_and_role_and_tab_comes_by(seat, qtbot, name):
    page = opened(seat, qtbot, name)
    nameless, roleless = names_missing(page)
    assert not nameless, "no name"
    assert not roleless, "no role"
    assert not missed_by_tab(page), "Tab does not come by"
    assert not cut(page), "cut off at plain text size"
    assert not sideways(page), "scrolls sideways at plain text size"


@EVERY_PAGE
def test_text_of_twice_the_size_is_whole_and_scrolls_one_way(seat, qtbot, name):
    # Whoever needs large text starts with it; the change on the way is seen in test_page.
    page = opened(seat, qtbot, name)
    seat.session.set_preferences(Preferences(theme="light", person="Tilda", text_scale=2.0))
    rest(seat, qtbot)
    assert not cut(page), "cut off at 200 %"
    assert not sideways(page), "scrolls sideways at 200 %"


def names_missing(page: QWidget) -> tuple[list[str], list[str]]:
    """Return the controls without a name, and those without a role."""
    nameless, roleless = [], []
    found = controls(page)
    assert found
    for widget in found:
        seen = QAccessible.queryAccessibleInterface(widget)
        if not seen.text(QAccessible.Text.Name).strip():
            nameless.append(told(widget))
        # Qt offers no role for a picture that takes keys; it has to tell in words what it shows.
        if seen.role() in NO_ROLE and not seen.text(QAccessible.Text.Description).strip():
            roleless.append(told(widget))
    return nameless, roleless


def missed_by_tab(page: QWidget) -> list[str]:
    """Return the controls that Tab does not come by on its way through the page and out of it."""
    page.focus_first()
    wanted = {id(widget): told(widget) for widget in controls(page) if not is_passed_by(widget)}
    met: set[int] = set()
    has_left = False
    # Fields that give way to others when they are left may add a few more stops.
    for _step in range(4 * len(wanted) + 60):
        at = QApplication.focusWidget()
        assert at is not None
        if page.isAncestorOf(at):
            met.add(id(at))
        else:
            has_left = True
        QTest.keyClick(at, Qt.Key.Key_Tab)
        if has_left and met >= set(wanted):
            break
    assert has_left, "Tab never leaves the page"
    still = {id(widget) for widget in controls(page)}
    return [what for key, what in wanted.items() if key not in met and key in still]


def is_passed_by(widget: QWidget) -> bool:
    """Return whether Tab rightly passes a button by, because arrow keys move within its group."""
    group = widget.group() if isinstance(widget, QAbstractButton) else None
    return (
        bool(group and group.exclusive()) and isinstance(widget, QAbstractButton) and not widget.isChecked()
    )


def cut(page: QWidget) -> list[str]:
    """Return the labels and buttons with less room than their words need."""
    found = []
    for widget in page.findChildren(QWidget):
        if not widget.isVisibleTo(page) or isinstance(widget, ElidedLabel) or not is_in_sight(widget, page):
            continue
        is_line = isinstance(widget, QLabel) and not widget.wordWrap() and widget.text()
        is_button = isinstance(widget, QAbstractButton) and widget.text()
        if not (is_line or is_button):
            continue
        wanted = widget.minimumSizeHint() if is_line else widget.sizeHint()
        if widget.width() + 1 < wanted.width() or widget.height() + 1 < wanted.height() * 0.9:
            found.append(f"{told(widget)}: {widget.size().toTuple()} of {wanted.toTuple()} px")
    return found


def is_in_sight(widget: QWidget, page: QWidget) -> bool:
    """Return whether a widget is laid out on the page and not scrolled away to a width of nothing."""
    return widget.width() > 0 and widget.height() > 0 and widget.mapTo(page, QPoint()).x() >= -1


def sideways(page: QWidget) -> list[str]:
    """Return the scrolled areas that are wider than they show, and what stands out beyond the page."""
    wide = [
        f"{told(area)}: {area.widget().minimumSizeHint().width()} in {area.viewport().width()} px"
        for area in page.findChildren(QScrollArea)
        if area.isVisibleTo(page)
        and area.widget() is not None
        and area.widget().width() > area.viewport().width() + 1
    ]
    outside = [
        f"{told(widget)} stands out"
        for widget in page.findChildren(QAbstractScrollArea)
        if widget.isVisibleTo(page) and widget.mapTo(page, QPoint(widget.width(), 0)).x() > page.width() + 1
    ]
    return wide + outside


def test_nothing_moves_by_itself():
    # There is no motion to be reduced, as long as no animation is made anywhere.
    folder = Path(wearlog.__file__).parent
    moving = [
        path.name
        for path in folder.rglob("*.py")
        if any(
            word in path.read_text(encoding="utf-8") for word in ("QPropertyAnimation", "QVariantAnimation")
        )
    ]
    assert not moving
