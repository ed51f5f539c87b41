"""Keeps the tests away from the person's own screen, settings and data; set before Qt is loaded."""

import os
import tempfile
from pathlib import Path

_home = Path(tempfile.mkdtemp(prefix="wearlog-tests-"))
os.environ["QT_QPA_PLATFORM"] = "offscreen"
os.environ["QT_SCALE_FACTOR"] = "1"
os.environ["QT_FONT_DPI"] = "96"
os.environ["LC_ALL"] = "C.UTF-8"
os.environ["LANGUAGE"] = "en"
for _variable, _folder in {
    "XDG_CONFIG_HOME": "config",
    "XDG_DATA_HOME": "data",
    "XDG_CACHE_HOME": "cache",
    "XDG_STATE_HOME": "state",
    "APPDATA": "config",
    "LOCALAPPDATA": "data",
}.items():
    os.environ[_variable] = str(_home / _folder)
