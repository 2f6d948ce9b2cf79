"""Every operation of the API and every page, answered as recorded: a change of the code's shape changes none.

    RECORD=1 uv run pytest --on postgres tests/recorded        writes the answers anew: read the difference

The world is `tests/config/world.py`, its clock standing. The owner, the guest and a stranger without an account
ask, each where an answer is theirs. The folders beside this file hold the answers.
"""

import json

import pytest
from django.core import mail
from django.core.cache import cache
from django.db import connection

import beats.services.fishery_loading  # noqa: F401 - its refusals are in the list of problems wherever it is loaded
from sessions.models import Outing
from tests.config import page_table, test_roles
from tests.config.page_table import Place, is_a_word
from tests.config.world import move_rod_days_to_an_open_day
from tests.factories import client_of
from tests.recorded.reading import as_text
from tests.recorded.recording import compare
from tests.recorded.stopped import count_on, seeded, stopped

pytestmark = pytest.mark.django_db

TIMES = {
    test_roles.SOON: "2026-05-06T14:00:00+00:00",
    test_roles.YESTERDAY: "2026-05-05T11:00:00+00:00",
    test_roles.SEASON["answer_by"]: "2026-05-26",
}
"""Times that the table takes from the real clock, and what they are here."""
WHO = ("owner", "guest", "anonymous")


@pytest.fixture(autouse=True)
def _pushing(settings):
    if connection.vendor == "sqlite":
        pytest.skip("recorded on PostgreSQL, which spaces the lines of a fish file another way")
    settings.WEB_PUSH_KEY = test_roles.PUSH_KEY


def test_every_operation_of_the_api_answers_as_recorded():
    found = {}
    with stopped():
        place = Place()
        for row in test_roles.TABLE:
            name, method, path, body, *statuses = row
            for who in askers(test_roles.PEOPLE, statuses):
                with test_roles.taken_back(), seeded(f"{method} {path}"):
                    prepare(name, method)
                    answer = client_of(place.world.people[who]).generic(
                        method, f"/api/v1/{path.format(**place.names)}", **sent(body, place.names),
                        headers={"If-Match": '"1"'},
                    )  # fmt: skip
                    found[unused(found, f"{name} {method} {who}")] = f"{method} {path}\n" + as_text(answer)
    compare("api", found)


def askers(people, statuses):
    """Those of WHO that are answered; the owner where nobody is."""
    by = dict(zip(people, statuses, strict=True))
    return [who for who in WHO if by[who] < 300] or ["owner"]


def prepare(name, method):
    """No tries used up, no ids left out, and the world fit for what is asked."""
    cache.clear()
    count_on()
    if (name, method) == ("outings", "POST"):
        Outing.objects.update(checked_out_at="2026-05-06T10:30:00Z")
    if name == "let-share":
        move_rod_days_to_an_open_day()


def sent(body, names):
    filled = test_roles.filled(body, names)
    if isinstance(filled["data"], str):
        for then, now in TIMES.items():
            filled["data"] = filled["data"].replace(json.dumps(then), json.dumps(now))
    return filled


def unused(found, name):
    """A file name for it: the table may ask one address twice."""
    number = sum(key.startswith(f"{name} ") or key == f"{name}.txt" for key in found)
    return f"{name} {number + 1}.txt" if number else f"{name}.txt"


@pytest.mark.parametrize("language", ["en", "de"])
def test_every_page_answers_as_recorded(language):
    found = {}
    with stopped():
        place = Place()
        for name, names, statuses in page_table.TABLE:
            path = place.address(name, names)
            for who in askers(page_table.PEOPLE, statuses):
                with test_roles.taken_back(), seeded(path):
                    prepare(name, "GET")
                    client = place.client(who, headers={"accept-language": language})
                    answer = client.post(path, place.word) if is_a_word(name) else client.get(path)
                    found[f"{name} {who}.txt"] = f"{path}\n" + as_text(answer)
    assert not mail.outbox
    compare(f"pages-{language}", found)
