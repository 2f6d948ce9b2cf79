"""DEVELOPERS.md names nothing that does not exist, and its house is the one on disk."""

import re
import tomllib
from pathlib import Path

import pytest
from django.core.management import get_commands, load_command_class
from django.urls import resolve

ROOT = Path(__file__).parents[2]
TEXT = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"^```\n(.*?)^```$", TEXT, flags=re.MULTILINE | re.DOTALL)
PROSE = re.sub(r"^```$", "", TEXT, flags=re.MULTILINE)
NAMED = sorted({" ".join(name.split()) for name in re.findall(r"`([^`]+)`", PROSE)})
PLACES = ("config", "beats", "bookings", "sessions", "safety", "tests")
FILES = sorted(
    path.relative_to(ROOT).as_posix()
    for place in (*PLACES, ".ci")
    for path in (ROOT / place).rglob("*")
    if path.is_file() and "__pycache__" not in path.parts
) + [path.name for path in ROOT.iterdir() if path.is_file()]
PATHS = [name for name in NAMED if re.fullmatch(r"\.?\w[\w./-]*(/|\.(py|js|csv|md|yml|yaml|toml|example))", name)]
ADDRESSES = [name for name in NAMED if name.startswith("/")]
PAGES = {"phones/"}
COMMANDS = sorted(set(re.findall(r"manage\.py (\w+)((?: --?[a-z][a-z-]*)*)|\b(bench_\w+)((?: --\w+)*)", TEXT)))
IN_EVERY_APP = {
    "api", "pages", "templates", "static", "management", "migrations",
    "models", "queries", "serializers", "services",
}  # fmt: skip
OF_THE_BROWSER = {"pushsubscriptionchange"}


@pytest.fixture(scope="module")
def words_of_the_code():
    endings = (".py", ".js", ".html", ".yml", ".yaml", ".toml", ".example")
    others = [name for name in FILES if name.endswith(endings) and name != "tests/config/test_developers.py"]
    texts = [(ROOT / name).read_text(encoding="utf-8") for name in others]
    return set(re.findall(r"\w+", "\n".join([*texts, *FILES]))) | OF_THE_BROWSER


@pytest.mark.parametrize("path", PATHS)
def test_every_path_is_on_disk(path):
    """Whole, or its last part: `scores.py` stands beside the file that is named before it."""
    ends = [name for name in FILES if f"/{name}".endswith(f"/{path}") or f"/{path}" in f"/{name}"]
    assert ends or path in PAGES


@pytest.mark.parametrize("address", ADDRESSES)
def test_every_address_is_a_route(address):
    assert resolve(address)


@pytest.mark.parametrize("found", COMMANDS)
def test_every_command_exists_with_its_flags(found):
    """What `manage.py help COMMAND` prints."""
    command, flags = found[:2] if found[0] else found[2:]
    told = load_command_class(get_commands()[command], command).create_parser("manage.py", command).format_help()
    assert [flag for flag in flags.split() if flag not in told] == []


def test_every_marker_is_declared():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    known = {marker.split(":")[0] for marker in project["tool"]["pytest"]["ini_options"]["markers"]}
    assert set(re.findall(r"(?<!\w)-m (\w+)", TEXT)) == known


def test_every_test_and_every_name_is_one_of_the_code(words_of_the_code):
    """Settings, functions, classes, columns: any single word between backticks, dotted or called or not."""
    single = [name for name in NAMED if re.fullmatch(r"\*{0,2}[\w.]+(\([\w, ]*\))?", name) and name not in PATHS]
    missing = {name: gone for name in single if (gone := set(re.findall(r"\w+", name)) - words_of_the_code)}
    assert missing == {}
    assert len(single) > 60


def folders_on_disk():
    """The places and the rooms in them, but for those of every app and the tests that mirror apps."""
    deep = {tuple(name.split("/")[:2]) for name in FILES if name.count("/") >= 2}
    rooms = {(place, room) for place, room in deep if place in PLACES and room not in IN_EVERY_APP | {*PLACES}}
    return {(place,) for place in PLACES} | rooms


def folders_of_the_tree():
    (tree,) = [block for block in BLOCKS if block.startswith("config/")]
    told, place = set(), ""
    for line in tree.splitlines():
        name = line.split("/ ")[0]
        place = place if name.startswith("  ") else name
        told.add((place, name.strip()) if name.startswith("  ") else (place,))
    return told


def test_the_house_is_the_tree_on_disk():
    assert folders_of_the_tree() == folders_on_disk()


def test_the_rooms_of_every_app_are_named():
    (said,) = re.findall(r"Rooms every app has are not named above: (.*?)\. A room", TEXT, flags=re.DOTALL)
    assert {name.strip("/") for name in re.findall(r"`([^`]+)`", said)} == IN_EVERY_APP
