"""The catalogue of German is whole, is what is compiled, and is what pages say. The words are our own."""

import re
import shutil
from pathlib import Path

import polib
import pytest
from django.conf import settings
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from beats.authentication import issue_token
from safety.services.pulse import beat_pulse
from tests.config.page_table import TABLE, Place, is_a_word
from tests.config.world import build
from tests.factories import BeatFactory, guest_with_account, keeper

DE = {"accept-language": "de"}
FOLDER = Path(settings.LOCALE_PATHS[0]) / "de" / "LC_MESSAGES"
PLACES = re.compile(r"%\(\w+\)s|%%|%s")
FACTS = re.compile(r"\{[^{}]*\}")


def phrases():
    """Each English phrase with its German ones: one, or two where there is a plural."""
    for entry in polib.pofile(str(FOLDER / "django.po")):
        yield entry, [*entry.msgstr_plural.values()] if entry.msgid_plural else [entry.msgstr]


def facts(pattern):
    """What is put in, each once: a fact may be said twice, and a date written another way."""
    return {re.split("[:!]", found)[0] for found in FACTS.findall(pattern)}


def test_nothing_is_missing_or_only_guessed():
    assert [entry.msgid for entry, told in phrases() if "fuzzy" in entry.flags or not all(told)] == []
    assert all(len(told) == 2 for entry, told in phrases() if entry.msgid_plural)


def test_what_is_put_in_is_put_in_by_both():
    for entry, told in phrases():
        for german in told:
            assert sorted(PLACES.findall(german)) == sorted(PLACES.findall(entry.msgid)), entry.msgid
            assert facts(german) == facts(entry.msgid), entry.msgid
            assert german.count("\n") == entry.msgid.count("\n"), entry.msgid


def test_the_river_is_never_called_safe():
    """Sicher may mean certain, so each use is looked at here."""
    assert [german for _, told in phrases() for german in told if re.search(r"sicher|gefahrlos", german)] == [
        "Nicht sicher bestimmt"  # of the species of a fish
    ]


def test_what_is_compiled_is_what_is_written():
    compiled = {(entry.msgctxt, entry.msgid): entry for entry in polib.mofile(str(FOLDER / "django.mo"))}
    written = {(entry.msgctxt, entry.msgid): entry for entry, _ in phrases()}
    assert compiled.keys() == written.keys()
    for key, entry in written.items():
        assert (compiled[key].msgstr, compiled[key].msgstr_plural) == (entry.msgstr, entry.msgstr_plural)


@pytest.mark.skipif(not shutil.which("xgettext"), reason="GNU gettext is not installed")
def test_every_phrase_of_the_code_is_in_the_catalogue(settings, tmp_path):
    """Gathered elsewhere, since the other database's run reads the catalogue at the same time."""
    settings.LOCALE_PATHS = [tmp_path]
    call_command("makemessages", locale=["de"], verbosity=0, ignore_patterns=["config/locale"])
    now = {entry.msgid for entry in polib.pofile(str(tmp_path / "de" / "LC_MESSAGES" / "django.po"))}
    assert now == {entry.msgid for entry, _ in phrases()}


@pytest.mark.django_db
class TestPages:
    def client_of(self, user, language="de"):
        client = Client(headers={"accept-language": language})
        client.force_login(user)
        return client

    def test_a_guests_pages_say_no_phrase_in_english(self):
        beat_pulse("sweep", now=timezone.now())
        beat = BeatFactory()
        guest = guest_with_account(beat.fishery)
        client = self.client_of(guest.user)
        for path in (
            "/day/",
            f"/check-in/{beat.fishery.slug}/{beat.slug}/",
            "/day/fish/",
            "/day/papers/",
            "/phones/",
        ):
            self.says_no_english(client.get(path), path)

    def test_nothing_of_any_page_stays_english_but_what_is_read_to_999_and_what_a_keeper_wrote(self):
        place, english = Place(), set()
        for name, names, _statuses in TABLE:
            for who in ("owner", "guest") if not is_a_word(name) else ():
                answer = place.client(who, headers=DE).get(place.address(name, names))
                if answer.status_code == 200 and answer["Content-Type"].startswith("text/html"):
                    english |= set(re.findall('lang="en"[^>]*>(?:<[^>]*>)*([^<]*)', answer.content.decode()))
        assert english == {"Ring", place.world.rows["recall"].reason}

    def test_a_refusal_is_german_on_a_page_and_english_to_a_program(self):
        world = build()
        ghillie, beat = world.people["ghillie"], world.rows["beat"]
        name = beat.fishery.name
        page = self.client_of(ghillie).get(reverse("house-tariff", args=[beat.fishery.slug]))
        assert page.status_code == 403
        assert f"Am {name} ist das Sache von: der Eigentümer. Fragen Sie dort." in page.content.decode()
        assert "Nicht Ihre Sache" in page.content.decode()
        token = issue_token(ghillie, label="german", now=timezone.now())
        program = Client(headers={"accept-language": "de", "authorization": f"Bearer {token}"})
        path = f"/api/v1/beats/{beat.pk}/watch-policy/"
        asked = program.post(path, {"policy": {}}, content_type="application/json")
        assert asked.status_code == 403
        assert asked.json()["detail"] == f"At {name} only the owner may do this. Ask them."

    def test_nor_do_the_keepers(self):
        world = build()
        client = self.client_of(world.people["owner"])
        slug = world.rows["fishery"].slug
        for page in (
            "water",
            "house",
            "house-lets",
            "house-people",
            "house-tariff",
            "house-policies",
            "water-fish",
        ):
            path = reverse(page, args=[slug])
            self.says_no_english(client.get(path), path)

    def says_no_english(self, answer, path):
        assert answer.status_code == 200, path
        page = re.sub(r'<(\w+) lang="en".*?</\1>', "", answer.content.decode(), flags=re.DOTALL)
        assert '<html lang="de">' in page
        for entry, told in phrases():
            if len(entry.msgid) > 12 and not PLACES.search(entry.msgid) and entry.msgid not in told:
                assert entry.msgid not in page, path

    def test_a_link_at_the_foot_changes_the_language_and_a_cookie_keeps_it(self):
        client = self.client_of(keeper(BeatFactory().fishery), "en")
        answer = client.post("/language/", {"language": "de", "next": "/phones/"})
        assert (answer.status_code, answer["Location"]) == (302, "/phones/")
        cookie = answer.cookies[settings.LANGUAGE_COOKIE_NAME]
        assert (cookie.value, bool(cookie["httponly"]), cookie["samesite"]) == ("de", True, "Lax")
        page = client.get("/phones/")
        assert '<html lang="de">' in page.content.decode()
        assert {"Cookie", "Accept-Language"} <= {each.strip() for each in page["Vary"].split(",")}
        assert 'value="en-gb" lang="en-gb">English' in page.content.decode()

    @pytest.mark.parametrize("after", ["https://elsewhere.example/", "//elsewhere.example", "javascript:1"])
    def test_the_way_back_never_leads_elsewhere(self, after):
        answer = Client().post("/language/", {"language": "de", "next": after})
        assert answer["Location"] == "/"

    def test_an_unknown_language_changes_nothing(self):
        answer = Client().post("/language/", {"language": "tlh", "next": "/"})
        assert settings.LANGUAGE_COOKIE_NAME not in answer.cookies
