"""A client that a stranger's tool writes from the committed document, used against a live server.

The tool is openapi-python-client. What it writes is thrown away: it is there to show that the document
alone is enough. Kinds of file other than JSON (CSV, PDF, SVG) it leaves out, and says so.
"""

import datetime as dt
import importlib
import subprocess
import sys
from pathlib import Path

import pytest
from django.utils import timezone

from beats.authentication import issue_token
from sessions.models import Outing
from tests.factories import guest_with_account

DOCUMENT = Path(__file__).parents[2] / "config" / "openapi.yaml"


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    """The package the tool wrote, as something to import from by name."""
    folder = tmp_path_factory.mktemp("client")
    tool = Path(sys.executable).parent / "openapi-python-client"
    command = [tool, "generate", "--path", DOCUMENT, "--output-path", folder / "rodtally_client", "--meta", "none"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=240, check=False, cwd=folder)
    assert done.returncode == 0, done.stdout + done.stderr
    sys.path.insert(0, str(folder))
    yield lambda name: importlib.import_module(f"rodtally_client.{name}")
    sys.path.remove(str(folder))


@pytest.mark.django_db(transaction=True)
def test_a_guest_s_program_signs_in_lists_goes_out_and_comes_back(client, live_server, beat):
    guest = guest_with_account(beat.fishery)
    token = issue_token(guest.user, label="a program", now=timezone.now())
    due = dt.datetime.now(dt.UTC).replace(microsecond=0) + dt.timedelta(hours=2)
    going = client("models.check_in_in_request").CheckInInRequest(
        guest=guest.pk, beat=beat.pk, alone=False, due_back_at=due
    )
    check_in, outings = client("api.outings.outings_create"), client("api.outings.outings_list")
    check_out = client("api.outings.outings_check_out_create")

    with client("client").AuthenticatedClient(base_url=live_server.url, token=token) as rods:
        assert client("api.me.me_retrieve").sync(client=rods).email == guest.email
        assert [each.id for each in client("api.beats.beats_list").sync(client=rods).results] == [beat.pk]
        out = check_in.sync(client=rods, body=going, idempotency_key="morning-1")
        assert (out.guest, out.due_back_at, out.checked_out_at) == (guest.pk, due, None)
        assert check_in.sync(client=rods, body=going, idempotency_key="morning-1").id == out.id
        assert [each.id for each in outings.sync(client=rods).results] == [out.id]
        refused = check_in.sync_detailed(client=rods, body=going)
        assert (refused.status_code, type(refused.parsed).__name__, refused.parsed.status) == (409, "Problem", 409)
        assert refused.headers["Content-Type"] == "application/problem+json"
        back = check_out.sync(client=rods, id=out.id)
    assert Outing.objects.get().checked_out_at == back.checked_out_at is not None


@pytest.mark.django_db(transaction=True)
def test_a_wrong_token_is_answered_with_a_problem(client, live_server):
    with client("client").AuthenticatedClient(base_url=live_server.url, token="not-a-token-of-ours") as stranger:
        refused = client("api.outings.outings_list").sync_detailed(client=stranger)
    assert (refused.status_code, refused.parsed.type_) == (401, "/api/v1/problems/authentication-failed")
