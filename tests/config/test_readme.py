"""The README promises nothing that no test proves.

`readme_proofs.txt` is the README's prose clause by clause, in its order, and under each clause the tests that
prove it, or why it is no promise. What is written into the README and not there, or the other way round, fails.
"""

import ast
import functools
import re
from itertools import zip_longest
from pathlib import Path

import pytest
from django.core.management import get_commands, load_command_class

from tests.api_document import the_document

ROOT = Path(__file__).parents[2]
TEXT = (ROOT / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"^```\n(.*?)^```$", TEXT, flags=re.MULTILINE | re.DOTALL)
CALLS = re.findall(r"`(?:(GET|POST|PATCH|PUT) )?((?:\.\.\./)?[a-z-]+/[a-z{}/-]*)`", TEXT)
LINKS = re.findall(r"\]\(([^)]+)\)", TEXT)


def prose(text):
    """Without headings, blocks, marks and line ends."""
    text = re.sub(r"^```.*?^```$", "", text, flags=re.MULTILINE | re.DOTALL)
    lines = [line for line in text.splitlines() if not re.match(r"#|\*\*[^*]+\*\*$", line)]
    text = " ".join(re.sub(r"^(> ?|- )", "", line) for line in lines)
    return re.sub(r"\[([^]]+)\]\([^)]+\)", r"\1", text).replace("**", "").split()


def proofs():
    """(clause, what is said under it), top to bottom."""
    table = (ROOT / "tests" / "config" / "readme_proofs.txt").read_text(encoding="utf-8")
    return [
        (clause, re.findall(r"^    (.+)$", under, flags=re.MULTILINE))
        for clause, under in re.findall(r"^(\S.*)\n((?:    .+\n)*)", table, flags=re.MULTILINE)
    ]


@functools.cache
def functions_of(file):
    tree = ast.parse((ROOT / "tests" / file).read_text(encoding="utf-8"))
    return {node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)}


def addresses():
    """(verb, address) as the API document has them; a name in braces is any name."""
    paths = the_document()["paths"]
    return {(verb.upper(), path.removeprefix("/api/v1/")) for path, verbs in paths.items() for verb in verbs}


def test_every_clause_of_the_readme_is_in_the_table_and_nothing_else():
    told, listed = prose(TEXT), [word for clause, _ in proofs() for word in clause.split()]
    differ = [place for place, (one, other) in enumerate(zip_longest(told, listed)) if one != other]
    first = differ[0] if differ else 0
    assert not differ, f"{' '.join(told[first : first + 12])!r} is not {' '.join(listed[first : first + 12])!r}"


@pytest.mark.parametrize(("clause", "proven_by"), proofs())
def test_every_clause_names_tests_that_exist_or_says_why_it_is_no_promise(clause, proven_by):
    assert proven_by, clause
    for proof in proven_by:
        if not proof.startswith("no promise: "):
            file, name = proof.split("::")
            assert name in functions_of(file), f"{clause}: no {proof}"


def test_hardly_a_clause_is_no_promise():
    assert sum(proven_by[0].startswith("no promise") for _, proven_by in proofs()) <= 3 < len(proofs())


def test_every_call_named_is_in_the_api_document():
    there = addresses()
    for verb, call in CALLS:
        ending = call.removeprefix(".../")
        assert any(path.endswith(ending) and verb in ("", known) for known, path in there), (
            f"{verb} {call} is no call of the service"
        )
    assert len(CALLS) > 40


def test_the_two_commands_are_those_run_from_a_fresh_clone():
    """`.ci/fresh-clone` runs both; the suite is asked of both databases by tests/conftest.py itself."""
    (block,) = BLOCKS
    clone = (ROOT / ".ci" / "fresh-clone").read_text(encoding="utf-8")
    assert block.splitlines() == ["pip install uv && uv run manage.py demo", "pip install uv && uv run pytest"]
    assert all(command in clone for line in block.splitlines() for command in line.split(" && ")[1:])
    assert "pip install --quiet uv" in clone
    assert "Python 3.11" in TEXT
    assert 'requires-python = ">=3.11' in (ROOT / "pyproject.toml").read_text(encoding="utf-8")


def test_every_command_and_its_flags_exist():
    for command in re.findall(r"manage\.py (\w+)", TEXT):
        assert command in get_commands(), command
    flags = load_command_class(get_commands()["demo"], "demo").create_parser("manage.py", "demo").format_help()
    assert [flag for flag in re.findall(r"`(--\w+)`", TEXT) if flag not in flags] == []


@pytest.mark.parametrize("link", LINKS)
def test_every_link_leads_to_a_file(link):
    assert (ROOT / link).is_file()
