"""manage.py issue_token EMAIL"""

import datetime as dt

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from beats.authentication import issue_token
from beats.models import User


class Command(BaseCommand):
    help = "Make a token for a person's program. It is shown once and kept only as a hash."

    def add_arguments(self, parser):
        parser.add_argument("email")
        parser.add_argument("--label", default="made by hand")
        parser.add_argument("--days", type=int, default=365)

    def handle(self, *, email: str, label: str, days: int, **_options):
        user = User.objects.filter(email=email.lower()).first()
        if user is None:
            raise CommandError(f"Nobody signs in as {email}. Keepers come with load_fishery, guests with the API.")
        if not 1 <= days <= 3650:
            raise CommandError("--days is from 1 to 3650.")
        self.stdout.write(issue_token(user, label=label, now=timezone.now(), life=dt.timedelta(days=days)))
