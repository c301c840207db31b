"""manage.py bench: measures, and compares with the goals."""

import json
import os
import platform
import tempfile
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from coachdesk import benches


class Command(BaseCommand):
    help = "Lists the benchmarks, or runs one."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("name", nargs="?", help="the benchmark to run; without it they are listed")
        parser.add_argument("--json", action="store_true", help="print one JSON object as the last line")
        parser.add_argument("--full", action="store_true", help="the long sweep; goes on where it was broken off")

    def handle(self, *args: Any, **options: Any) -> None:
        known = benches.all_benches()
        name = options["name"]
        if name is None:
            for bench in known.values():
                self.stdout.write(f"{bench.name}  {bench.about}")
            return
        if name not in known:
            raise CommandError(f"There is no benchmark “{name}”. There are: {', '.join(known)}.")
        try:
            results = self.measure(known[name], options["full"])
        except RuntimeError as failed:
            raise CommandError(f"The benchmark {name} could not be measured: {failed}") from failed
        rows = benches.judge(results, benches.goals(name, options["full"]))
        if options["json"]:
            self.stdout.write(json.dumps({"name": name, "machine": machine(), "results": rows}))
        else:
            for row in rows:
                self.stdout.write(
                    f"{'ok ' if row['ok'] else 'NOT'}  {row['metric']}: {row['value']} {row['unit']}  "
                    f"(goal {row['goal'] or 'missing'})"
                )

    def measure(self, bench: benches.Benchmark, full: bool) -> list[benches.Result]:
        if full:
            folder = settings.BUILD_DIR / "bench" / bench.name
            folder.mkdir(parents=True, exist_ok=True)
            return list(bench.measure(benches.Run(True, folder, benches.to_stderr)))
        with tempfile.TemporaryDirectory(prefix="coachdesk-bench-") as folder_name:
            return list(bench.measure(benches.Run(False, Path(folder_name), benches.to_stderr)))


def machine() -> dict[str, Any]:
    """What the figures were measured on; no names of machines or people."""
    memory = 0
    if hasattr(os, "sysconf") and "SC_PHYS_PAGES" in os.sysconf_names:
        memory = os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE")
    return {
        "system": f"{platform.system()} {platform.release()}",
        "processor": platform.machine(),
        "cores": os.cpu_count(),
        "memory_gib": round(memory / 2**30, 1),
        "python": platform.python_version(),
        "database": settings.DATABASES["default"]["ENGINE"].rsplit(".", 1)[-1],
    }
