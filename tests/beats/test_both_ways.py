"""Text from right to left keeps to itself, held against the classes of Python's own Unicode data."""

import sys
import unicodedata

import pytest

from beats.shared.both_ways import FSI, PDI, kept_apart

HEBREW = "\u05d3\u05d2"
TURNING = {"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}
"""The classes of explicit formatting in Unicode Standard Annex #9, table 4."""


def of_class(*names):
    return [chr(point) for point in range(sys.maxunicode + 1) if unicodedata.bidirectional(chr(point)) in names]


def test_every_letter_that_runs_leftward_is_isolated_and_none_that_does_not():
    leftward = of_class("R", "AL")
    leftward.remove("\u200f")  # a mark that shows nothing
    assert len(leftward) > 2000
    assert [letter for letter in leftward if kept_apart(letter) != FSI + letter + PDI] == []
    rightward = [letter for letter in of_class("L") if letter not in "<>&"]
    assert [letter for letter in rightward if kept_apart(letter) != letter] == []


def test_every_sign_that_turns_text_is_left_out_of_what_is_shown():
    signs = of_class(*TURNING)
    assert len(signs) == 9
    assert kept_apart(f"<p>a{''.join(signs)}b</p>") == "<p>ab</p>"


@pytest.mark.parametrize(
    ("html", "shown"),
    [
        (f"<li>{HEBREW}, 5 rods", f"<li>{FSI}{HEBREW}{PDI}, 5 rods"),
        (f"{HEBREW} 3, {HEBREW} at 12:00", f"{FSI}{HEBREW} 3, {HEBREW}{PDI} at 12:00"),
        (f"{HEBREW} and {HEBREW}", f"{FSI}{HEBREW}{PDI} and {FSI}{HEBREW}{PDI}"),
        (f"{HEBREW}&#x27;{HEBREW}&quot;{HEBREW} &amp;", f"{FSI}{HEBREW}&#x27;{HEBREW}&quot;{HEBREW}{PDI} &amp;"),
        (f"{HEBREW} \u00fc {HEBREW}", f"{FSI}{HEBREW}{PDI} \u00fc {FSI}{HEBREW}{PDI}"),
        (f'<input value="{HEBREW}\u202e">', f'<input value="{HEBREW}\u202e">'),
        (f"<textarea\nid=a>{HEBREW}\u202e</textarea>\u202e.", f"<textarea\nid=a>{HEBREW}\u202e</textarea>."),
    ],
)
def test_runs_are_isolated_and_fields_are_left_as_they_are(html, shown):
    assert kept_apart(html) == shown
