"""Guests who can sign in, each with a token, as JSON: `python -m tests.processes.soak_people COUNT`."""

import json
import os
import sys

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
import django

django.setup()

from django.utils import timezone  # noqa: E402

from beats.authentication import issue_token  # noqa: E402
from beats.models import Beat, Membership  # noqa: E402
from bookings.services.guests import add_guest  # noqa: E402


def main(count: int) -> None:
    beats = list(Beat.objects.order_by("pk"))
    owner = Membership.objects.filter(fishery=beats[0].fishery, role=Membership.Role.OWNER).get().user
    people = []
    for number in range(count):
        facts = {"name": f"Soak Testwell {number}", "email": f"soak{number}@durrisk.example"}
        guest, _new = add_guest(beats[0].fishery, facts=facts, by=owner, now=timezone.now())
        token = issue_token(guest.user, label="soak", now=timezone.now())
        people.append({"guest": guest.pk, "beat": beats[number % len(beats)].pk, "token": token})
    print(json.dumps(people))  # noqa: T201


if __name__ == "__main__":
    main(int(sys.argv[1]))
