"""manage.py dump_fishery SLUG"""

from django.core.management.base import BaseCommand, CommandError

from beats.fishery_file import dump
from beats.models import Fishery
from beats.services.fishery_loading import fishery_file


class Command(BaseCommand):
    help = "Write a fishery as the file that load_fishery reads."

    def add_arguments(self, parser):
        parser.add_argument("slug")

    def handle(self, *, slug: str, **_options):
        try:
            fishery = Fishery.objects.get(slug=slug)
        except Fishery.DoesNotExist:
            known = ", ".join(Fishery.objects.values_list("slug", flat=True).order_by("slug")) or "none yet"
            raise CommandError(f"No fishery {slug!r}. There is: {known}.") from None
        self.stdout.write(dump(fishery_file(fishery)), ending="")
