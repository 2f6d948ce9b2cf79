"""What a text message is understood to say, and what is left to a person."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safety import texts
from safety.texts import Asked, Verb, understand


@pytest.mark.parametrize(
    "text",
    [
        "OFF 4821", " off  4821. ", "off4821", "Off, 4821", "OFF: 4821!", "off-4821", "off 4821 thanks",
        "OFF 48 21", "off 4821 👍", "OFF 4\ufe0f\u20e38\ufe0f\u20e32\ufe0f\u20e31\ufe0f\u20e3", "off ٤٨٢١",
        "OFF the water 4821",
        "\uff2f\uff26\uff26 \uff14\uff18\uff12\uff11", "Hi, I'm off 4821", "off code 4821", "off\n4821",
        "OFF 4821 in the car",
    ],
)  # fmt: skip
def test_off_is_understood_however_it_is_typed(text):
    assert understand(text) == Asked(Verb.OFF, "4821")


@pytest.mark.parametrize(
    ("text", "asked"),
    [
        ("ON 4821", Asked(Verb.ON, "4821")),
        ("on4821 tight lines", Asked(Verb.ON, "4821")),
        ("OFF", Asked(Verb.OFF)),
        ("Late 30 4821", Asked(Verb.LATE, "4821", 30)),
        ("late, 30 mins, 4821 sorry", Asked(Verb.LATE, "4821", 30)),
        ("late30 4821", Asked(Verb.LATE, "4821", 30)),
        ("LATE 4821 30", Asked(Verb.LATE, "4821", 30)),
        ("late 2 hours 4821", Asked(Verb.LATE, "4821", 120)),
        ("LATE 30", Asked(Verb.LATE, "", 30)),
        ("ok, 4821", Asked(Verb.OK, "4821")),
        ("OK 4821 thanks", Asked(Verb.OK, "4821")),
        ("please HELP me out", Asked(Verb.HELP)),
        ("help me leg broken 4821", Asked(Verb.HELP, "4821")),
        ("HELPME", Asked(Verb.HELP)),
        ("hilfe!", Asked(Verb.HELP)),
        ("🆘", Asked(Verb.HELP)),
        ("OFF 4821 help", Asked(Verb.HELP, "4821")),
    ],
)  # fmt: skip
def test_the_other_commands(text, asked):
    assert understand(text) == asked


@pytest.mark.parametrize(
    "text", ["OUT 4821", "OUT, 4821", "out 4821 thanks", "In 4821", "im out 4821", "Out!4821"]
)
def test_out_and_in_are_ambiguous(text):
    assert understand(text) == Asked(Verb.AMBIGUOUS, "4821")


@pytest.mark.parametrize(
    "text",
    [
        "", "🎣", "not off yet 4821", "OFF 4821 soon", "off 4821 at 6", "off at 18:30 4821",
        "off when it is dark 4821",
        "OFF 4821 not yet", "off 4821 in 10 min", "LATE 0 4821", "LATE 999 4821", "LATE -5000", "late 18:30 4821",
        "broke my rod tip", "in trouble 4821", "out of breath", "4821",
        "ok running late 4821", "OFF 48 2 1", "off 12345678",
    ],
)  # fmt: skip
def test_what_is_in_doubt_is_for_a_person(text):
    assert isinstance(understand(text), str)
    assert texts.HOW in understand(text)


@given(st.text(max_size=300))
def test_any_text_is_read_without_a_fault_and_only_its_own_code_is_taken(text):
    found = understand(text)
    if isinstance(found, Asked) and found.code:
        assert found.code.isascii()
        assert 4 <= len(found.code) <= 6


@given(st.text(max_size=100), st.sampled_from(["help", "HELP", "sos"]), st.text(max_size=100))
def test_a_call_for_help_is_heard_in_any_text(before, word, after):
    assert understand(f"{before} {word} {after}").verb is Verb.HELP


@given(st.text(max_size=3000))
def test_what_is_kept_can_be_stored(text):
    kept = texts.clean(text)
    assert "\x00" not in kept
    assert len(kept) <= texts.LONGEST_TEXT
    kept.encode()
