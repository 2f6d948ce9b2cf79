"""manage.py makemessages: Django's own, for the way this house writes its catalogue."""

from typing import Any

from django.core.management.commands import makemessages

NOT_OURS = (".venv", "tests", ".demo", "benches")


class Command(makemessages.Command):
    """Places and wrapping are left out of the file, so that a new phrase changes its own lines alone.

    What the services say (`beats.shared.phrases.say`) is gathered beside what the pages translate.
    """

    xgettext_options = [*makemessages.Command.xgettext_options, "--keyword=say"]

    def handle(self, *args: Any, **options: Any) -> None:
        options |= {"no_location": True, "no_wrap": True, "no_obsolete": True}
        options["ignore_patterns"] = [*options["ignore_patterns"], *NOT_OURS]
        super().handle(*args, **options)
