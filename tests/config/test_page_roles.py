"""Every page against every part: who gets in, who is told whose it is, and what is simply not there.

A page that is in the URL map and not in the table fails; so does one in the table that is gone.
"""

from urllib.parse import unquote

import pytest
from django.urls import get_resolver, reverse

from beats.models import AuditEntry
from tests.config.page_table import (
    ALL,
    AS_BEFORE,
    NOT_HERE,
    OF_A_WATER,
    OF_OBJECTS,
    ONWARD,
    PEOPLE,
    ROWS,
    TABLE,
    Place,
    is_a_word,
)

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(("page", "names", "expected"), ROWS)
def test_each_part_gets_the_page_or_is_told_no(page, names, expected):
    place = Place()
    path = place.address(page, names)
    assert place.statuses(path, "post" if is_a_word(page) else "get") == expected
    if is_a_word(page):
        assert set(place.statuses(path, "get")) == {405}


LED = [row for row in ROWS if row.values[2][0] == 303 and row.values[2] != ONWARD and not is_a_word(row.values[0])]


@pytest.mark.parametrize(("page", "names", "expected"), LED)
def test_whoever_is_not_signed_in_is_led_to_sign_in_and_on_to_the_page(page, names, expected):
    del expected
    place = Place()
    path = place.address(page, names)
    led = place.client("anonymous").get(path)["Location"]
    assert unquote(led) == f"{reverse('sign-in')}?next={path}"


@pytest.mark.parametrize(
    ("page", "names", "expected"), [row for row in ROWS if row.values[2] not in (ALL, ONWARD, AS_BEFORE)]
)
def test_whoever_may_not_open_a_page_cannot_post_to_it_either(page, names, expected):
    place = Place()
    path, before = place.address(page, names), AuditEntry.objects.count()
    shut = [(who, status) for who, status in zip(PEOPLE, expected, strict=True) if status != 200]
    shut = [(who, status) for who, status in shut if not (is_a_word(page) and who == "guest")]
    for who, status in shut:
        assert place.client(who).post(path, place.word).status_code in {status, 405}, who
    assert AuditEntry.objects.count() == before


@pytest.mark.parametrize(("page", "names", "expected"), OF_OBJECTS)
def test_an_object_of_another_water_is_not_here(page, names, expected):
    """The water's own address with another water's let, beat, rota: nobody finds it who would find one's own."""
    place, foreign = Place(), Place()
    (part,) = [part for part, kind in names.items() if kind not in {"slug", "year", "species", "of"}]
    path = place.address(page, names, **{part: foreign.names[names[part]]})
    here = [404 if status in {200, 422} or (status == 303 and who != "anonymous") else status
            for who, status in zip(PEOPLE, expected, strict=True)]  # fmt: skip
    assert place.statuses(path, "post" if is_a_word(page) else "get") == tuple(here)
    before = AuditEntry.objects.count()
    posted = zip(place.statuses(path, "post"), here, strict=True)
    assert [status for status, told in posted if status not in {told, 405}] == []
    assert AuditEntry.objects.count() == before


@pytest.mark.parametrize(("page", "names", "expected"), OF_A_WATER)
def test_another_water_is_nobodys_here(page, names, expected):
    place, foreign = Place(), Place()
    del expected
    method = "post" if is_a_word(page) else "get"
    assert place.statuses(foreign.address(page, names), method) == NOT_HERE


def every_page():
    """Their names, out of the URL map: all that lies at the root but the API, the office and the health."""
    groups = [entry for entry in get_resolver().url_patterns if str(entry.pattern) == ""]
    return [page.name for group in groups for page in group.url_patterns]


def test_the_table_names_every_page():
    assert sorted(every_page()) == sorted(row[0] for row in TABLE)


@pytest.mark.parametrize("cookies", [False, True])
def test_a_mail_scanner_that_opens_every_page_and_posts_to_it_changes_nothing(cookies):
    """Without cookies it is nobody, whatever token a page held; with the owner's own it has no token."""
    place = Place()
    before = AuditEntry.objects.count()
    for page, names, _expected in TABLE:
        path = place.address(page, names)
        scanner = place.client("owner" if cookies else "anonymous", enforce_csrf_checks=True)
        scanner.get(path)
        if not cookies:
            scanner.cookies.clear()
        answer = scanner.post(path, place.word)
        assert answer.status_code in {403, 405}, page
    assert AuditEntry.objects.count() == before
