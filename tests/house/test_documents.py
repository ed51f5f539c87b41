"""The documents say what is true of the house today."""

import re
import tomllib
from pathlib import Path

from wearlog import __version__
from wearlog.cli import wearlog
from wearlog.window.pages import PAGES

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_the_map_lists_exactly_the_rooms_that_exist():
    rooms = {folder.name for folder in (ROOT / "wearlog").iterdir() if (folder / "__init__.py").is_file()}
    listed = set(re.findall(r"^  ([a-z_]+)/ ", DEVELOPERS, re.MULTILINE))
    assert listed & {p.name for p in (ROOT / "wearlog").iterdir()} == rooms


def test_the_map_names_files_that_exist():
    block = DEVELOPERS.split("```")[1]
    for name in re.findall(r"^  ([a-z_]+\.py) ", block, re.MULTILINE):
        assert (ROOT / "wearlog" / name).is_file(), name


def test_the_readme_tells_of_every_command():
    for name in wearlog.commands:
        assert f"wearlog {name}" in README, name


def test_every_page_has_a_key_and_a_picture_in_light_and_dark():
    for page in PAGES:
        assert page.key
        for look in ("light", "dark"):
            picture = f"resources/screenshots/{page.name}-{look}.png"
            assert (ROOT / picture).is_file(), picture
        assert f"resources/screenshots/{page.name}-" in README, page.name


def test_what_is_new_starts_with_this_version():
    text = (ROOT / "resources" / "whats_new.md").read_text(encoding="utf-8")
    first = re.search(r"^## (\S+)", text, re.MULTILINE)
    assert first
    assert first.group(1) == __version__


def test_the_version_is_the_same_everywhere():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    assert project["project"]["version"] == __version__


def test_the_top_level_is_what_was_agreed():
    shown = {p.name for p in ROOT.iterdir() if not p.name.startswith(".") and p.name != "__pycache__"}
    wanted = {"README.md", "DEVELOPERS.md", "pyproject.toml", "wearlog", "tests", "resources", "sample_fleet"}
    assert wanted <= shown
    assert not {name for name in shown - wanted if not name.endswith((".egg-info", "dist", "build"))}
