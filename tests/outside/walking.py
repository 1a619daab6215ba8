"""Threads that do what the next act says, or anything else, to the same few jobs; all from a seed."""

from __future__ import annotations

import random
import threading
from collections import Counter
from dataclasses import dataclass, field
from typing import Any

from tests.helpers_plain import amplifier
from tests.outside import reading
from tests.outside.running import Caller

THREADS, JOBS, MOST_ACTS = 8, 4, 60
FINDINGS = (
    "fuse-wrong", "output-device-shorted", "insulator-cracked", "insulation-damaged",
    "resistor-burnt", "wiring-pinched", "joint-cracked", "dust-heavy", "other",
)  # fmt: skip
WORK = (
    "joints-reflowed", "fuse-replaced", "output-devices-replaced", "mains-wiring-changed",
    "controls-cleaned", "insulator-material-changed", "transformer-replaced", "cleaned",
)  # fmt: skip
STAGES = ("reproducing", "opened", "awaiting_parts", "reassembled", "soaking", "released")
# Mains most often: each time that it comes on is a case.
KINDS = ("power",) * 8 + ("cover", "stage", "finding", "work", "fact", "take back")
# What an act may be answered with; 503 is a database that another write holds.
ANSWERS = {200, 201, 404, 409, 422, 503}


@dataclass
class Walk:
    """What the threads share: the jobs, what came of them, and what must not have been."""

    caller: Caller
    seed: int
    jobs: list[int] = field(default_factory=list)
    tally: Counter[str] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)
    audited: set[tuple[int, int]] = field(default_factory=set)
    table: list[dict[str, Any]] = field(default_factory=reading.hazards)
    lock: threading.Lock = field(default_factory=threading.Lock)

    def run(self, events: int) -> None:
        """Let eight threads share these events."""
        self.jobs = [self._received(place) for place in range(JOBS)]
        for number in self.jobs:
            self._brought_to_mains(number)
        share = [events // THREADS] * THREADS
        threads = [
            threading.Thread(target=self._thread, args=(self.seed * THREADS + place, count))
            for place, count in enumerate(share)
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        for number in self.jobs:
            self._audit(number, whole=True)

    def _received(self, place: int) -> int:
        unit = {"make": "Own", "model": "W 1", "serial": f"{self.seed}-{place}"}
        status, job = self.caller.post("jobs/", {"unit": unit, "facts": amplifier()})
        assert status == 201, job
        return int(job["number"])

    def _brought_to_mains(self, number: int) -> None:
        """Do what the next act says until mains was on once, so that the threads have it to gain."""
        lucky = random.Random(self.seed + number)
        for _ in range(MOST_ACTS):
            wanted = _of_the_act(self.caller.get(f"jobs/{number}/next/"), lucky)
            if wanted is None:
                break
            status, _ = self.caller.post(f"jobs/{number}/{wanted[0]}", wanted[1])
            if wanted[0] == "power/" and status == 200:
                break
        self._audit(number)

    def _thread(self, seed: int, events: int) -> None:
        chance = random.Random(seed)
        for _ in range(events):
            number = chance.choice(self.jobs)
            try:
                self._event(number, chance)
            except Exception as error:  # told with all others, whichever thread it was
                self._fault(f"job {number}, thread seed {seed}: {error!r}")

    def _fault(self, sentence: str) -> None:
        with self.lock:
            self.faults.append(sentence)

    def _event(self, number: int, chance: random.Random) -> None:
        path, body = self._wanted(number, chance)
        status, answer = self.caller.post(f"jobs/{number}/{path}", body)
        with self.lock:
            self.tally[f"{path.split('/')[0]} {status}"] += 1
        if status not in ANSWERS:
            self._fault(f"{path} {body} was answered with {status}: {answer}")
        if path == "power/" and body["to"] == "isolated" and status not in (200, 503):
            self._fault(f"mains off was refused: {answer}")
        if path == "power/" and body["to"] != "isolated" and status == 200:
            self._audit(number)

    def _wanted(self, number: int, chance: random.Random) -> tuple[str, Any]:
        if chance.random() < 0.65:
            wanted = _of_the_act(self.caller.get(f"jobs/{number}/next/"), chance)
            if wanted is not None:
                return wanted
        return _anything(chance)

    def _audit(self, number: int, *, whole: bool = False) -> None:
        """Read the ledger, and judge each time mains came on that nobody has judged yet."""
        rows = self.caller.get(f"jobs/{number}/ledger/")
        for row in rows:
            mark = (number, row["sequence"])
            if row["kind"] != "power_applied" or mark in self.audited:
                continue
            before, to = rows[: row["sequence"] - 1], row["data"]["power"]
            unmet = reading.against_power(before, to, self.table)
            with self.lock:
                self.audited.add(mark)
                self.tally[f"mains on, {to}"] += 1
                self.faults += [f"job {number}, row {row['sequence']}, {to}: {s}" for s in unmet]
            if before[-1]["kind"] != "permit_granted":
                self._fault(f"job {number}, row {row['sequence']}: mains without a permit")
        if whole:
            self._whole(number, rows)

    def _whole(self, number: int, rows: list[reading.Row]) -> None:
        for sentence in reading.chain_faults(rows):
            self._fault(f"job {number}: {sentence}")
        power = self.caller.get(f"jobs/{number}/")["power"]
        if power != reading.power_of(rows):
            self._fault(f"job {number} is {power}, and its ledger says {reading.power_of(rows)}")


def _of_the_act(act: dict[str, Any], chance: random.Random) -> tuple[str, Any] | None:
    """The request that does the next act, mostly well; none where hands have nothing to do."""
    kind = act["act"]
    if kind == "sign":
        readings = [
            {"quantity": one["quantity"], "value": _value(one, chance)}
            for one in act["readings"]
            if "recorded" not in one
        ]
        answers = [{"fact": one["fact"], "value": _seen(one)} for one in act["answers"]]
        result = "pass" if chance.random() < 0.96 else "fail"
        return f"steps/{act['key']}/sign/", {
            "result": result,
            "readings": readings,
            "answers": answers,
        }
    if kind in ("power", "cover", "stage"):
        return f"{kind}/", {"to": act["to"]}
    if kind == "record":
        # The last choice is what lets the unit go on.
        choices = act.get("choices", [act])
        one = choices[-1] if chance.random() < 0.85 else chance.choice(choices)
        told = {need["name"]: _seen(need) for need in one.get("needs", ())}
        return "ledger/", {"kind": one["kind"], "data": one["data"] | told}
    return None


def _value(wanted: dict[str, Any], chance: random.Random) -> float:
    low, high = wanted["min"], wanted["max"]
    if chance.random() < 0.02:
        return (high if high is not None else 0.0) + 1000.0
    if low is not None and high is not None:
        return float((low + high) / 2)
    return float(low + 1) if low is not None else float(high if high is not None else 1.0)


def _seen(wanted: dict[str, Any]) -> Any:
    word = (wanted.get("one_of") or ["seen"])[0]
    plain = {"string": word, "list": [word], "bool": True}
    return plain.get(wanted["kind"], wanted.get("min") or 1)


def _anything(chance: random.Random) -> tuple[str, Any]:
    """Some request that hands may make at a bad moment."""
    kind = chance.choice(KINDS)
    if kind == "power":
        return "power/", {"to": chance.choice(("isolated", "limited", "full"))}
    if kind == "cover":
        return "cover/", {"to": chance.choice(("on", "off"))}
    if kind == "stage":
        return "stage/", {"to": chance.choice(STAGES)}
    if kind == "finding":
        data: dict[str, Any] = {"finding": chance.choice(FINDINGS), "note": "seen"}
        return "ledger/", {"kind": "finding_recorded", "data": data}
    if kind == "work":
        data = {"work": chance.choice(WORK), "section": "supply", "note": "done"}
        return "ledger/", {"kind": "work_done", "data": data}
    if kind == "fact":
        damage = chance.choice((["none"], ["dented"], ["fuse-bridged"], ["cord-damaged"]))
        data = {"name": "intake.damage", "value": damage}
        return "ledger/", {"kind": "fact_recorded", "data": data}
    data = {"row": chance.randint(1, 60), "reason": "of another unit"}
    return "ledger/", {"kind": "entry_withdrawn", "data": data}
