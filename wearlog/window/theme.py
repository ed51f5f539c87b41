"""Light, dark or as the system has it; text larger and smaller; the style sheet of the window."""

from collections.abc import Callable
from typing import Literal

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QFont, QPalette
from PySide6.QtWidgets import QApplication, QWidget

from wearlog.drawing.palette import Palette, TypeName, contrast, palette, type_font, type_sizes
from wearlog.preferences import Preferences
from wearlog.resources import resource

#: Text sizes that the menu steps through, [-].
TEXT_SCALES: tuple[float, ...] = (0.9, 1.0, 1.1, 1.25, 1.5, 1.75, 2.0)
#: Smallest height of anything to aim at, and at the bench, [px]. The first is WCAG 2.2, 2.5.8.
TARGET_PX = 24
BENCH_TARGET_PX = 40


class _Now:
    """What is applied now; one application has one look."""

    colours: Palette = palette("light")
    text_scale: float = 1.0


def colours() -> Palette:
    """Return the colours that are applied now; ask at every paint."""
    return _Now.colours


def text_scale() -> float:
    """Return the text scale that is applied now, [-]."""
    return _Now.text_scale


def font(name: TypeName = "body", *, bold: bool = False) -> QFont:
    """Return a font in one of the four sizes at the text scale that is applied now."""
    return type_font(name, bold=bold, scale=_Now.text_scale)


def scaled(px: float) -> int:
    """Return a length that grows with the text, [px]."""
    return round(px * _Now.text_scale)


def set_role(widget: QWidget, role: str) -> None:
    """Give a widget another look of the style sheet, for example ``"caption"`` or ``"problem"``."""
    if widget.property("role") != role:
        widget.setProperty("role", role)
        widget.style().unpolish(widget)
        widget.style().polish(widget)


def next_scale(scale: float, step: Literal[-1, 1]) -> float:
    """Return the next larger or smaller text scale.

    Examples
    --------
    >>> next_scale(1.0, 1), next_scale(2.0, 1), next_scale(0.9, -1)
    (1.1, 2.0, 0.9)
    """
    others = [other for other in TEXT_SCALES if (other - scale) * step > 1e-6]
    return (min(others) if step > 0 else max(others)) if others else scale


def is_dark_wanted(preferences: Preferences) -> bool:
    """Return whether the seat wants light text on a dark ground, or the system does for it."""
    if preferences.theme in {"light", "dark"}:
        return preferences.theme == "dark"
    return QApplication.styleHints().colorScheme() is Qt.ColorScheme.Dark


def apply(app: QApplication, preferences: Preferences) -> None:
    """Give the application the look that the seat wants, if it does not have it yet."""
    wanted = palette("dark" if is_dark_wanted(preferences) else "light")
    scale = min(max(preferences.text_scale, TEXT_SCALES[0]), TEXT_SCALES[-1])
    if app.styleSheet() and (wanted, scale) == (_Now.colours, _Now.text_scale):
        return
    _Now.colours, _Now.text_scale = wanted, scale
    if app.style().objectName() != "fusion":
        app.setStyle("fusion")
    app.setPalette(qt_palette(_Now.colours))
    app.setFont(font())
    app.setStyleSheet(style_sheet(_Now.colours, _Now.text_scale))


def follow_system(app: QApplication, preferences: Callable[[], Preferences]) -> None:
    """Change with the system's light and dark while the seat has no choice of its own."""

    def on_changed() -> None:
        if preferences().theme == "system":
            apply(app, preferences())

    app.styleHints().colorSchemeChanged.connect(on_changed)


def qt_palette(look: Palette) -> QPalette:
    """Return the colours as Qt's own widgets want them."""
    roles = {
        QPalette.ColorRole.Window: look.ground,
        QPalette.ColorRole.WindowText: look.ink,
        QPalette.ColorRole.Base: look.raised,
        QPalette.ColorRole.AlternateBase: look.ground,
        QPalette.ColorRole.Text: look.ink,
        QPalette.ColorRole.PlaceholderText: look.muted,
        QPalette.ColorRole.Button: look.raised,
        QPalette.ColorRole.ButtonText: look.ink,
        QPalette.ColorRole.BrightText: look.ink,
        QPalette.ColorRole.Highlight: look.accent,
        QPalette.ColorRole.HighlightedText: look.on_accent,
        QPalette.ColorRole.Link: look.accent,
        QPalette.ColorRole.LinkVisited: look.accent,
        QPalette.ColorRole.ToolTipBase: look.raised,
        QPalette.ColorRole.ToolTipText: look.ink,
        QPalette.ColorRole.Light: look.raised,
        QPalette.ColorRole.Midlight: look.hairline,
        QPalette.ColorRole.Mid: look.outline,
        QPalette.ColorRole.Dark: look.outline,
        QPalette.ColorRole.Accent: look.accent,
    }
    made = QPalette()
    for role, name in roles.items():
        made.setColor(role, QColor(name))
    for role in (QPalette.ColorRole.WindowText, QPalette.ColorRole.Text, QPalette.ColorRole.ButtonText):
        made.setColor(QPalette.ColorGroup.Disabled, role, QColor(look.muted))
    return made


def style_sheet(look: Palette, scale: float) -> str:
    """Return the style sheet; sizes grow with the text scale.

    Widgets choose among looks by their property ``role``: heading, figure, title, caption, muted, problem,
    primary, quiet, link, page, panel, rule.
    """
    sizes = type_sizes()

    def px(length: float) -> str:
        return f"{round(length * scale)}px"

    # The hand rests on the accent: a shade darker on light ground, lighter on dark, never less contrast.
    pressed = QColor(look.accent).lighter(115) if look.is_dark else QColor(look.accent).darker(115)
    hover = pressed.name() if contrast(pressed.name(), look.on_accent) >= 4.5 else look.accent
    arrow = resource("icons", f"unfold-{look.theme}.svg").as_posix()
    tick = resource("icons", f"tick-{look.theme}.svg").as_posix()
    return f"""
QWidget {{ font-size: {px(sizes.body)}; }}
QToolTip {{
    color: {look.ink}; background: {look.raised}; border: 1px solid {look.outline}; padding: 4px 8px;
}}
QLabel {{ background: transparent; }}
QLabel[role="title"] {{ font-size: {px(sizes.heading * 0.82)}; font-weight: bold; }}
QLabel[role="heading"] {{ font-size: {px(sizes.heading)}; font-weight: bold; }}
QLabel[role="figure"] {{ font-size: {px(sizes.figure)}; font-weight: bold; }}
QLabel[role="strong"] {{ font-weight: bold; }}
QLabel[role="caption"] {{ font-size: {px(sizes.caption)}; color: {look.muted}; }}
QLabel[role="muted"] {{ color: {look.muted}; }}
QLabel[role="problem"] {{ color: {look.problem}; }}
QWidget[role="panel"] {{ background: {look.panel}; }}
QWidget[role="ground"] {{ background: {look.ground}; }}
QFrame[role="rule"] {{ background: {look.hairline}; border: none; }}
QFrame[role="banner"] {{ background: {look.raised}; border: none; border-left: 4px solid {look.problem}; }}
QFrame[role="help"] {{ background: {look.panel}; border: none; border-left: 1px solid {look.outline}; }}
QFrame[role="strip"] {{ background: {look.panel}; border: none; border-top: 1px solid {look.hairline}; }}

QLineEdit, QPlainTextEdit, QComboBox, QDateEdit, QSpinBox {{
    background: {look.raised}; color: {look.ink}; border: 1px solid {look.outline}; border-radius: 4px;
    padding: 3px {px(8)}; selection-background-color: {look.accent}; selection-color: {look.on_accent};
}}
QLineEdit, QComboBox, QSpinBox {{ min-height: {px(TARGET_PX)}; }}
QLineEdit[bench="true"], QComboBox[bench="true"], QPushButton[bench="true"] {{
    min-height: {max(BENCH_TARGET_PX, round(BENCH_TARGET_PX * scale)) - 8}px;
}}
QLineEdit:focus, QPlainTextEdit:focus, QComboBox:focus, QSpinBox:focus {{
    border: 2px solid {look.accent}; padding: 2px {px(7)};
}}
QLineEdit[state="problem"] {{ border: 2px solid {look.problem}; padding: 2px {px(7)}; }}
QLineEdit:disabled, QComboBox:disabled {{ color: {look.muted}; background: {look.ground}; }}
QComboBox {{ padding-right: {px(24)}; }}
QComboBox::drop-down {{ border: none; width: {px(24)}; }}
QComboBox::down-arrow {{ image: url("{arrow}"); width: {px(14)}; height: {px(14)}; }}
QComboBox QAbstractItemView {{
    background: {look.raised}; border: 1px solid {look.outline}; outline: none; padding: 4px;
    selection-background-color: {look.accent}; selection-color: {look.on_accent};
}}

QPushButton {{
    background: transparent; color: {look.ink}; border: 1px solid {look.outline}; border-radius: 4px;
    padding: 3px {px(16)}; min-height: {px(TARGET_PX)};
}}
QPushButton:hover {{ background: {look.raised}; border-color: {look.ink}; }}
QPushButton:focus {{ border: 2px solid {look.accent}; padding: 2px {px(15)}; }}
QPushButton:checked {{ background: {look.raised}; color: {look.accent}; border-color: {look.accent}; }}
QPushButton:disabled {{ color: {look.muted}; border-color: {look.hairline}; }}
QPushButton::menu-indicator {{ width: 0px; }}
QPushButton[role="primary"] {{
    background: {look.accent}; color: {look.on_accent}; border: 1px solid {look.accent}; font-weight: bold;
    min-height: {px(32)}; padding: 3px {px(24)};
}}
QPushButton[role="primary"]:hover {{ background: {hover}; border-color: {hover}; }}
QPushButton[role="primary"]:focus {{ border: 2px solid {look.ink}; padding: 2px {px(23)}; }}
QPushButton[role="primary"]:disabled {{
    background: {look.hairline}; color: {look.muted}; border-color: {look.hairline};
}}
QPushButton[role="link"] {{
    border: 1px solid transparent; color: {look.accent}; padding: 3px 0px; text-align: left;
}}
QPushButton[role="link"]:hover {{ text-decoration: underline; background: transparent; }}
QPushButton[role="link"]:focus {{ border: 2px solid {look.accent}; padding: 2px 0px; }}
QPushButton[role="count"] {{
    border: none; border-bottom: 2px solid transparent; border-radius: 0px; color: {look.muted};
    padding: 2px 0px; min-height: {px(TARGET_PX - 6)};
}}
QPushButton[role="count"]:hover {{ color: {look.ink}; background: transparent; }}
QPushButton[role="count"]:checked {{
    background: transparent; color: {look.ink}; border-bottom: 2px solid {look.accent};
}}
QPushButton[role="count"]:focus {{ color: {look.accent}; text-decoration: underline; }}
QPushButton[role="tab"] {{
    border: none; border-bottom: 2px solid transparent; border-radius: 0px; color: {look.muted};
    padding: 9px 0px 9px 0px; min-height: {px(TARGET_PX)}; text-align: left;
}}
QPushButton[role="tab"]:hover {{ color: {look.ink}; background: transparent; }}
QPushButton[role="tab"]:checked {{
    background: transparent; color: {look.ink}; font-weight: bold; border-bottom: 2px solid {look.accent};
}}
QPushButton[role="tab"]:focus {{ color: {look.accent}; text-decoration: underline; }}

QCheckBox, QRadioButton {{ spacing: {px(8)}; min-height: {px(TARGET_PX)}; }}
QCheckBox:focus, QRadioButton:focus {{ color: {look.accent}; }}
QCheckBox::indicator {{
    width: {px(16)}; height: {px(16)}; border: 1px solid {look.outline}; border-radius: 3px;
    background: {look.raised};
}}
QCheckBox::indicator:checked {{
    background: {look.accent}; border-color: {look.accent}; image: url("{tick}");
}}
QCheckBox::indicator:focus {{ border: 2px solid {look.accent}; }}
QRadioButton::indicator {{ width: {px(18)}; height: {px(18)}; }}

QListView, QTreeView, QTableView {{
    background: transparent; border: none; outline: none; gridline-color: {look.hairline};
    selection-background-color: {look.raised}; selection-color: {look.ink};
}}
QHeaderView {{ background: transparent; border: none; }}
QHeaderView::section {{
    background: {look.ground}; color: {look.muted}; border: none; border-bottom: 1px solid {look.hairline};
    padding: 4px {px(8)} 4px 0px; font-size: {px(sizes.caption)}; text-align: left;
}}
QHeaderView::section:first {{ padding-left: {px(8)}; }}
QTableCornerButton::section {{ background: transparent; border: none; }}
QScrollArea {{ background: transparent; border: none; }}
QScrollArea > QWidget > QWidget {{ background: transparent; }}
QScrollBar:vertical {{ background: transparent; width: 10px; margin: 0; }}
QScrollBar:horizontal {{ background: transparent; height: 10px; margin: 0; }}
QScrollBar::handle {{ background: {look.outline}; border-radius: 3px; margin: 2px; }}
QScrollBar::handle:vertical {{ min-height: 32px; }}
QScrollBar::handle:horizontal {{ min-width: 32px; }}
QScrollBar::add-line, QScrollBar::sub-line, QScrollBar::add-page, QScrollBar::sub-page {{
    background: transparent; border: none; width: 0; height: 0;
}}
QSplitter::handle {{ background: {look.hairline}; }}
QProgressBar {{
    background: {look.hairline}; border: none; border-radius: 2px; max-height: 4px; min-height: 4px;
}}
QProgressBar::chunk {{ background: {look.accent}; border-radius: 2px; }}

QMenuBar {{ background: {look.panel}; border-bottom: 1px solid {look.hairline}; padding: 0px {px(8)}; }}
QMenuBar::item {{ padding: 4px {px(8)}; background: transparent; }}
QMenuBar::item:selected {{ background: {look.raised}; }}
QMenu {{ background: {look.raised}; border: 1px solid {look.outline}; padding: 4px 0px; }}
QMenu::item {{ padding: 4px {px(24)}; }}
QMenu::item:selected {{ background: {look.accent}; color: {look.on_accent}; }}
QMenu::item:disabled {{ color: {look.muted}; }}
QMenu::separator {{ height: 1px; background: {look.hairline}; margin: 4px 0px; }}
QDialog {{ background: {look.ground}; }}
"""
