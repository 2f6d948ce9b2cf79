"""The watch of a beat set by its owner on a page."""

import re

import pytest
from django.urls import reverse

from beats.fishery_file import BeatTable
from beats.models import AuditEntry, Beat
from safety.policy import LONGEST_GRACE_MIN, LONGEST_LONE_GRACE_MIN
from safety.services.people import policy_of
from sessions.models import Outing
from tests.factories import BeatFactory, OutingFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def beat():
    """Watched the usual way: nothing was ever said."""
    return BeatFactory(watch_policy=None)


@pytest.fixture
def path(beat):
    return reverse("house-watch", args=[beat.fishery.slug, beat.slug])


def fields_of(page):
    """What the browser would send of the form as it was shown."""
    sent = {}
    for tag in re.findall(r"<input[^>]*>", page):
        name, kind = (re.search(rf'{what}="([^"]*)"', tag) for what in ("name", "type"))
        if name is None or name[1] == "csrfmiddlewaretoken":
            continue
        value = re.search(r'value="([^"]*)"', tag)
        if kind and kind[1] in {"checkbox", "radio"} and " checked" not in tag:
            continue
        sent.setdefault(name[1], []).append(value[1] if value else "")
    return sent


def looked_at(house, path, form):
    page = house.post(path, form).content.decode()
    assert "Nothing is done yet" in page, re.findall(r"fault[^>]*>(.*?)<", page)
    return page, form | {"seen": re.search(r'name="seen" value="(\w+)"', page)[1]}


def test_a_page_sent_as_it_was_shown_changes_no_word_of_the_policy(house, path, beat):
    before = policy_of(beat)
    form = fields_of(house.get(path).content.decode())
    _, form = looked_at(house, path, form)
    assert house.post(path, form).status_code == 303
    after = Beat.objects.get(pk=beat.pk)
    assert policy_of(after) == before
    assert after.watch_policy == {}  # what was not said stays the usual, whatever that will be
    assert (after.contact_minutes, after.warn_minutes) == (beat.contact_minutes, beat.warn_minutes)


def test_what_was_said_before_stays_said(house, path, beat):
    Beat.objects.filter(pk=beat.pk).update(watch_policy={"texts_an_hour": 60})
    _, form = looked_at(house, path, fields_of(house.get(path).content.decode()))
    house.post(path, form)
    assert Beat.objects.get(pk=beat.pk).watch_policy == {
        "texts_an_hour": 60
    }  # the usual figure, but their own word


def test_a_step_is_shown_as_anglers_are_told_it_then_set(house, path, beat):
    form = fields_of(house.get(path).content.decode()) | {
        "after_2": ["7"], "who_2": ["owner"], "by_2": ["email"], "after_3": [""], "who_3": [], "by_3": [],
        "after_4": ["12"], "recall_level_m": ["1.2"], "recall_rise_m_per_h": [""], "quiet_from": ["22:00"],
        "quiet_to": ["07:00"], "contact_minutes": ["45"],
    }  # fmt: skip
    page, form = looked_at(house, path, form)
    assert "then at 17:" in page
    assert "write to the owner" in page
    assert "From 1.2 m on, rods are called in." in page
    assert "No rise calls rods in." in page
    assert Beat.objects.get(pk=beat.pk).watch_policy == beat.watch_policy
    assert not AuditEntry.objects.exists()
    for _ in range(2):
        assert house.post(path, form)["Location"] == reverse("house-policies", args=[beat.fishery.slug])
    after = Beat.objects.get(pk=beat.pk)
    assert [stage["after_minutes"] for stage in after.watch_policy["ladder"]["stages"]] == [0, 7, 12]
    assert after.watch_policy["ladder"]["quiet"] == ["22:00", "07:00"]
    assert (after.watch_policy["recall_level_m"], after.watch_policy["recall_rise_m_per_h"]) == (1.2, None)
    assert after.contact_minutes == 45
    assert "From 1.2 m on" in house.get(reverse("house-policies", args=[beat.fishery.slug])).content.decode()


def test_what_somebody_set_meanwhile_is_not_overwritten(house, path, beat):
    _, form = looked_at(house, path, fields_of(house.get(path).content.decode()) | {"contact_minutes": ["45"]})
    Beat.objects.filter(pk=beat.pk).update(contact_minutes=20, watch_version=2)
    answer = house.post(path, form)
    told = answer.content.decode()
    assert (answer.status_code, "Somebody changed this watch" in told) == (422, True)
    assert Beat.objects.get(pk=beat.pk).contact_minutes == 20
    assert f'href="{path}">Show it as it stands now</a>' in told
    assert fields_of(house.get(path).content.decode())["version"] == ["2"]


def test_the_grace_after_a_time_back_is_told_and_set_and_who_is_out_keeps_theirs(house, path, beat):
    out = OutingFactory(beat=beat, alone=True)
    shown = house.get(path).content.decode()
    assert "Whoever is on the water now keeps the alarm they have until" in shown
    page, form = looked_at(house, path, fields_of(shown) | {"lone_grace_minutes": ["5"], "grace_minutes": ["40"]})
    assert "Grace after the time back: alone 5 minutes, in company 40." in page
    assert "If we have not heard from you by 17:05" in page
    assert "If we have not heard from you by 17:40" in page
    assert Beat.objects.get(pk=beat.pk).grace_minutes == beat.grace_minutes
    assert house.post(path, form).status_code == 303
    after = Beat.objects.get(pk=beat.pk)
    assert (after.lone_grace_minutes, after.grace_minutes) == (5, 40)
    entry = AuditEntry.objects.get(verb="set watch policy")
    assert (entry.before["grace"], entry.after["grace"], entry.after["lone_grace"]) == (15, 40, 5)
    assert Outing.objects.get(pk=out.pk).alarm_at == out.alarm_at
    policies = house.get(reverse("house-policies", args=[beat.fishery.slug])).content.decode()
    assert "5 minutes&#x27; grace" in policies or "5 minutes' grace" in policies


def test_page_and_fishery_file_take_the_same_grace():
    said = BeatTable.model_json_schema()["properties"]
    assert said["grace_minutes"]["maximum"] == LONGEST_GRACE_MIN
    assert said["lone_grace_minutes"]["maximum"] == LONGEST_LONE_GRACE_MIN


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"lone_grace_minutes": ["61"]}, "less than or equal to 60"),
        ({"grace_minutes": ["121"]}, "less than or equal to 120"),
        ({"grace_minutes": [""]}, "required"),
        ({"after_1": ["5"]}, "comes with the alarm itself"),
        ({"who_1": ["angler"]}, "told at once"),
        ({"by_2": []}, "Stage 2 tells nobody"),
        ({"after_2": [""]}, "how many minutes after the alarm"),
        ({"after_3": ["1"]}, "Put them in order"),
        ({"again_4": ["1"]}, "greater than or equal to 2"),
        ({"quiet_from": ["22:00"]}, "Give both hours"),
        ({"recall_level_m": ["nan"]}, "Enter a number"),
        ({"recall_band_m": [""]}, "required"),
        ({"texts_an_hour": ["0"]}, "greater than or equal to 1"),
        ({"who_1": ["the neighbour"]}, "the neighbour"),
    ],
)
def test_a_watch_that_would_leave_somebody_untold_is_refused_and_stays_typed(wrong, told, house, path, beat):
    form = fields_of(house.get(path).content.decode()) | {"contact_minutes": ["77"]} | wrong
    answer = house.post(path, form)
    page = answer.content.decode()
    assert (answer.status_code, told in page) == (422, True), re.findall(r"<p[^>]*>(.*?)</p>", page)
    assert 'value="77"' in page
    assert Beat.objects.get(pk=beat.pk).watch_policy == beat.watch_policy


def test_the_policies_lead_to_the_watch(client, path, beat, owner):
    client.force_login(owner)
    assert path in client.get(reverse("house-policies", args=[beat.fishery.slug])).content.decode()
