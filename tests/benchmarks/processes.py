"""What processes cost: commands of the shell in CPU time, a shop at rest in memory.

Run by `make bench`. A command is held against a process that sets Django up, imports just the
modules that it uses and does the same: an earlier release took 1.9 times that, and 0.6 of it is
the budget. Memory is the sum of PSS, which shares out what processes have in common, over
all processes of `quickstart --empty` once it answers and has been let be.
"""

from __future__ import annotations

import json
import os
import resource
import signal
import socket
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

from tests.benchmarks.budgets import told
from tests.helpers_plain import amplifier

ROOT = Path(__file__).resolve().parents[2]
FOLDER = Path(tempfile.mkdtemp(prefix="benchtag-bench-"))
TIMES, ONCE_TOOK, LIMIT = 5, 1.9, 0.6
MOST_MIB, AT_REST_SECONDS, START_SECONDS = 320, 10.0, 180.0
HANDED_ON = {k: v for k, v in os.environ.items() if not k.startswith("BENCHTAG_")}
ENVIRONMENT = {**HANDED_ON, "BENCHTAG_DATA": str(FOLDER)}

MANAGE = [sys.executable, "manage.py"]
SETUP = (
    "import os; os.environ['DJANGO_SETTINGS_MODULE'] = 'shop.site.settings';"
    "import django; django.setup();"
)
CALC = ["--volts", "75", "--microfarads", "10000", "--ohms", "1000"]
CALC_BARE = (
    "from shop.bench.electrical.discharge import discharge;"
    "print(discharge(volts=75, microfarads=10000, ohms=1000))"
)
CHECKLIST_BARE = (
    "import json, sys; from checklists import published;"
    "from checklists.engine.derive import derive;"
    "from checklists.engine.vocabulary import accept;"
    "found = derive(published.pack(), accept(json.load(open(sys.argv[1]))));"
    "print(json.dumps(found.as_dict()))"
)


def cpu_seconds(command: list[str]) -> float:
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(command, cwd=ROOT, env=ENVIRONMENT, check=True, capture_output=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def compare(name: str, command: list[str], bare: list[str]) -> None:
    cpu_seconds(command), cpu_seconds(bare)
    pairs = [(cpu_seconds(command), cpu_seconds(bare)) for _ in range(TIMES)]
    whole, floor = (statistics.median(side) for side in zip(*pairs, strict=True))
    print(f"{name}: {whole:.2f} s of CPU; a process that imports just what it uses {floor:.2f} s")
    told(name, whole / floor / ONCE_TOOK, LIMIT)


def commands() -> None:
    facts = FOLDER / "facts.json"
    facts.write_text(json.dumps(amplifier()), encoding="utf-8")
    python = [sys.executable, "-c"]
    compare("calc", [*MANAGE, "calc", "discharge", *CALC], [*python, SETUP + CALC_BARE])
    compare(
        "checklist",
        [*MANAGE, "checklist", str(facts), "--json"],
        [*python, SETUP + CHECKLIST_BARE, str(facts)],
    )


def memory() -> None:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    shop = subprocess.Popen(
        [*MANAGE, "quickstart", "--empty", "--port", str(port)],
        cwd=ROOT,
        env=ENVIRONMENT,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        await_ready(f"http://127.0.0.1:{port}/healthz/ready")
        time.sleep(AT_REST_SECONDS)
        each = {pid: pss_mib(pid) for pid in family(shop.pid)}
    finally:
        shop.send_signal(signal.SIGTERM)
        shop.wait(30)
    print("at rest: " + " + ".join(f"{mib:.0f}" for mib in each.values()) + " MiB")
    told("rest-memory", sum(each.values()), MOST_MIB)


def await_ready(address: str) -> None:
    end = time.monotonic() + START_SECONDS
    while time.monotonic() < end:
        try:
            with urllib.request.urlopen(address, timeout=5) as answer:
                if answer.status == 200:
                    return
        except OSError:
            time.sleep(0.5)
    raise TimeoutError(address)


def family(pid: int) -> list[int]:
    below = Path(f"/proc/{pid}/task/{pid}/children").read_text().split()
    return [pid, *(each for child in below for each in family(int(child)))]


def pss_mib(pid: int) -> float:
    lines = Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith("Pss:")) / 1024


def main() -> None:
    commands()
    if Path("/proc/self/smaps_rollup").exists():
        memory()
    else:
        print("BUDGET rest-memory - 320 excused this system tells no PSS")


if __name__ == "__main__":
    main()
