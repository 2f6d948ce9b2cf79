"""`manage.py bench_rota`: how good the rota engine is, and how quick."""

from django.core.management.base import BaseCommand

from beats.shared.bench import printed


class Command(BaseCommand):
    help = "Measure the rota engine against its bounds, the clock and rotas made by hand."

    def add_arguments(self, parser):
        parser.add_argument("--json", action="store_true", help="print one object instead of a table")
        parser.add_argument("--weeks", type=int, default=200, help="weeks to compare with rotas made by hand")

    def handle(self, **options):
        from sessions.benches.rota import rows  # noqa: PLC0415 - the solver takes seconds to load

        def say(text):
            self.stderr.write(text)

        self.stdout.write(printed(list(rows(weeks=options["weeks"], say=say)), as_json=options["json"]))
