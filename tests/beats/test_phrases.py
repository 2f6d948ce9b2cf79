"""Sentences that remember how they were made: English wherever they go, and the reader's language on a page."""

import copy
import datetime as dt
import json
import pickle
from decimal import Decimal

import pytest
from django.template import Context, Template
from django.utils import translation

from beats.pages.told import in_the_reader_s_words, or_english
from beats.shared import words
from beats.shared.phrases import Opening, Phrase, joined, say
from beats.water.wading import too_fast

NOON = dt.datetime(2027, 5, 3, 12, 5, tzinfo=dt.UTC)


def shown(sentence):
    return Template("{% said sentence %}").render(Context({"sentence": sentence}))


def test_a_phrase_is_the_english_sentence_wherever_it_goes():
    phrase = say("This let has {let_rods} rods. Give fewer.", let_rods=2)
    assert phrase == "This let has 2 rods. Give fewer."
    assert json.loads(json.dumps({"it": phrase})) == {"it": "This let has 2 rods. Give fewer."}
    assert f"{phrase} {phrase[:8]}" == "This let has 2 rods. Give fewer. This let"


@pytest.mark.parametrize(
    "phrase",
    [
        say("This let has {let_rods} rods. Give fewer.", let_rods=2),
        joined(["Iona", say("in company")], ", "),
        Opening(say("light air")),
    ],
)
def test_it_is_the_same_after_a_copy(phrase):
    for twin in (copy.deepcopy(phrase), pickle.loads(pickle.dumps(phrase))):
        assert (type(twin), twin, twin.pattern, twin.facts) == (type(phrase), phrase, phrase.pattern, phrase.facts)


def test_braces_are_taken_as_they_are_where_nothing_is_put_in():
    assert say("{left} of it") == "{left} of it"


def test_what_is_put_in_is_written_as_the_language_does():
    """Months and the comma by Django's own formats for German, which follow the CLDR."""
    with translation.override("de"):
        assert in_the_reader_s_words(words.day(NOON.date())) == "3. Mai 2027"
        assert in_the_reader_s_words(words.instant(NOON)) == "12:05 am Montag, 3. Mai"
        assert "steigt 0,25 m" in in_the_reader_s_words(too_fast(0.25, 0.2))
        assert "1,20 m" in in_the_reader_s_words(
            say(
                "At that instant {gauge_name} already reads {reading_level_m} m. If that is wrong, correct that "
                "reading; otherwise give your own reading its own time.",
                gauge_name="Stone Bridge", reading_level_m=Decimal("1.20"),
            )
        )  # fmt: skip


def test_english_keeps_its_own_point_and_order():
    assert words.instant(NOON) == "12:05 on Monday 3 May"
    assert too_fast(0.25, 0.2).startswith("The river is rising 0.25 m an hour")


def test_a_phrase_in_a_phrase_is_looked_up_too_and_a_name_is_left_alone():
    told = joined([say("last heard {age} ago.", age=words.minutes(40)), "Iona"], "; ")
    with translation.override("de"):
        assert in_the_reader_s_words(told) == "zuletzt gehört vor 40 min.; Iona"
        assert in_the_reader_s_words(Opening(say("light air"))) == "Leiser Zug"


@pytest.mark.parametrize("unknown", ["Ask Iona at the bridge.", say("No catalogue holds {this}.", this=1)])
def test_what_no_catalogue_holds_stays_english_and_is_marked_so(unknown):
    with translation.override("de"):
        assert in_the_reader_s_words(unknown) is None
        assert or_english(unknown) == str(unknown)
        assert shown(unknown) == f'<span lang="en">{unknown}</span>'
        assert in_the_reader_s_words(joined([say("in company"), Phrase("No {x}", {"x": 1})])) is None
    with translation.override("en-gb"):
        assert shown(unknown) == str(unknown)


def test_what_people_wrote_stays_text():
    with translation.override("de"):
        assert shown("<b>1</b>") == '<span lang="en">&lt;b&gt;1&lt;/b&gt;</span>'
        phrase = say("{pool_name} is not fished on this beat.", pool_name="<i>Pot</i>")
        assert shown(phrase) == "&lt;i&gt;Pot&lt;/i&gt; wird an diesem Beat nicht befischt."


def test_a_sentence_that_was_stored_is_found_again_and_nothing_is_nothing():
    with translation.override("de"):
        assert in_the_reader_s_words("The river is rising.") == "Der Fluss steigt."
        assert in_the_reader_s_words("Up to the gate, said Una.") is None
        assert (in_the_reader_s_words(""), or_english("")) == (None, "")
