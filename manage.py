#!/usr/bin/env python3
"""Django's command line. `manage.py demo`, `replay_stage` and the benchmarks run without any setting at all."""

import os
import sys


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    if "".join(sys.argv[1:2]).startswith(("demo", "bench_", "replay_stage")):
        os.environ["RODTALLY_DEMO"] = "1"
    from django.core.management import execute_from_command_line  # noqa: PLC0415 - the demo flag comes first

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
