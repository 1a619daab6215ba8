from __future__ import annotations

import io
import json
import shutil
import subprocess
import sys

import pytest
from django.conf import settings
from django.contrib.auth.models import User
from django.core.management import CommandError, call_command

from checklists.engine import smt
from tests.helpers import amplifier


def run(*command: str, **options) -> str:
    out = io.StringIO()
    call_command(*command, stdout=out, **options)
    return out.getvalue()


@pytest.fixture
def facts(tmp_path):
    def write(content) -> str:
        file = tmp_path / "facts.json"
        file.write_text(content if isinstance(content, str) else json.dumps(content))
        return str(file)

    return write


def test_checklist_prints_json_without_a_database(facts):
    shape = json.loads(run("checklist", facts(amplifier()), "--json"))
    keys = [step["key"] for step in shape["steps"]]
    assert "earth-continuity" in keys
    assert "unit.bridged_outputs" in shape["missing_facts"]
    assert not {"findings", "work"} & set(shape["missing_facts"]), "they follow from the record"
    plan = next(s for s in shape["steps"] if s["key"] == "discharge-reservoirs")["plan"]
    assert plan["result"]["energy_class"] == "ES2"


def test_checklist_prints_words(facts):
    words = run("checklist", facts({}))
    discharge = "discharge-reservoirs: Discharge the reservoirs by the plan"
    assert f"{discharge}  [hold: hands-in, card: dead]  (kept: not decided)" in words
    assert "asks for intake.damage" in words
    assert "complaint.symptoms" in words.split("Worth finding out: ")[1]


def test_checklist_says_what_to_ask_first_and_counts_service_steps_that_are_not_decided(facts):
    known = {"unit.kind": "receiver", "complaint.symptoms": ["hum"]}
    words = run("checklist", facts(known))
    assert "Next gate, first-power: 10 to sign on 3 cards. Ask first:" in words
    assert "unit.supply takes up to 4 away" in words
    assert "pcb-capacitors" not in words
    assert "unit.year: " in words.split("not decided, by the fact that decides")[1]
    assert "pcb-capacitors" in run("checklist", facts({**known, "unit.year": 1960}))


def test_where_a_file_is_silent_nothing_was_found_or_done(facts):
    known = {"unit.kind": "receiver", "complaint.symptoms": ["hum"]}
    silent = run("checklist", facts(known), "--json")
    none = run("checklist", facts({**known, "work": [], "findings": []}), "--json")
    assert silent == none
    assert "right-fuse-fitted" not in silent
    unknown = run("checklist", facts({**known, "findings": None, "work": None}), "--json")
    assert "right-fuse-fitted" in unknown, "null: it is not known what was found"


def test_checklist_of_one_gate(facts):
    shape = json.loads(run("checklist", facts(amplifier()), "--json", "--gate", "hands-in"))
    assert [s["key"] for s in shape["steps"]] == [
        "discharge-reservoirs",
        "verify-dead",
    ]


def test_checklist_says_why_and_why_not(facts):
    on = run("checklist", facts(amplifier()), "--why", "discharge-reservoirs")
    assert "discharge-reservoirs is on the list." in on
    assert "true     unit.rail_volts > 30.0   [unit.rail_volts = 75.0]" in on

    off = run("checklist", facts(amplifier()), "--why", "hot-chassis")
    assert "hot-chassis is not on the list." in off
    assert 'It would be required with: unit.supply = "transformerless"' in off

    unsure = json.loads(run("checklist", facts({}), "--why", "earth-continuity", "--json"))
    assert unsure["on_list"]
    assert unsure["rules"][0]["missing"] == ["unit.protective_class"]
    assert unsure["rules"][0]["condition"]["truth"] == "unknown"


def test_without_the_solver_the_rules_are_told_and_a_proof_is_not(facts, monkeypatch):
    monkeypatch.setitem(sys.modules, "z3", None)
    monkeypatch.setattr(smt.z3, "__dict__", {})
    said = io.StringIO()
    off = run("checklist", facts(amplifier()), "--why", "hot-chassis", stderr=said)
    assert "It would be required with" in off
    assert "The smallest change" not in off
    assert "install benchtag[proof]" in said.getvalue()
    with pytest.raises(CommandError, match=r"install benchtag\[proof\]") as caught:
        run("rules", "prove")
    assert caught.value.returncode == 2


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ("{", "is not JSON"),
        ("[]", "it must hold one flat JSON object"),
        ("[" * 100_000, "is not JSON"),
        ({"unit.colour": "red"}, "'unit.colour' is not a fact"),
        ({"unit.year": "old"}, "unit.year is 'old'"),
        ({"unit": {"kind": "mixer"}}, "'unit' is not a fact"),
        ('{"unit.rail_volts": NaN}', "unit.rail_volts is nan"),
    ],
)
def test_a_bad_facts_file_is_exit_2_and_named(facts, content, said):
    with pytest.raises(CommandError) as caught:
        run("checklist", facts(content))
    assert caught.value.returncode == 2
    assert said in str(caught.value)


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (("--gate", "garden"), "gate is 'garden'"),
        (("--why", "lunch"), "step is 'lunch'"),
        (("--pack", "/nonexistent"), "no pack here"),
    ],
)
def test_bad_options_of_checklist_are_named(facts, more, said):
    with pytest.raises(CommandError, match=said) as caught:
        run("checklist", facts({}), *more)
    assert caught.value.returncode == 2


def test_a_missing_facts_file_is_named(tmp_path):
    with pytest.raises(CommandError, match="cannot be read"):
        run("checklist", str(tmp_path / "none.json"))


@pytest.mark.long
def test_rules_check_is_sound_and_tells_faults(tmp_path):
    assert "sound" in run("rules", "check")

    for file in settings.PACK_FOLDER.glob("*.toml"):
        shutil.copy(file, tmp_path)
    service = tmp_path / "service.toml"
    service.write_text(service.read_text().replace("unit.year < 2006", "unit.year < 1900"))
    units = tmp_path / "valves.bench.toml"
    units.write_text(units.read_text().replace("fuse_amps = [", "fuse_apms = [", 1))
    errors = io.StringIO()
    with pytest.raises(CommandError) as caught:
        run("rules", "check", "--pack", str(tmp_path), stderr=errors)
    assert caught.value.returncode == 2
    assert "an amplifier of 1988" in errors.getvalue()
    assert "replays/work-under-mains.json is not there" in errors.getvalue()
    assert "'fuse_apms' is no [[quantity]]" in errors.getvalue()


@pytest.mark.slow
def test_rules_check_names_a_hold_that_clears_no_hazard(tmp_path):
    assert "Hold steps that clear no hazard: none." in run("rules", "check")

    for file in settings.PACK_FOLDER.glob("*.toml"):
        shutil.copy(file, tmp_path)
    table = tmp_path / "hazards.toml"
    idle = """cleared_by = ["covers-and-labels"]"""
    assert idle in table.read_text()
    table.write_text(table.read_text().replace(idle, """cleared_by = ["full-function"]"""))
    errors = io.StringIO()
    with pytest.raises(CommandError):
        run("rules", "check", "--pack", str(tmp_path), stderr=errors)
    assert "Step covers-and-labels is a hold and clears no hazard" in errors.getvalue()
    assert "Step full-function" not in errors.getvalue()


def test_rules_diff_says_what_would_change_for_whom(bench, tmp_path):
    number = bench.receive(facts=amplifier())
    bench.sign(number, "earth-continuity")
    assert "nothing would change" in run("rules", "diff", str(settings.PACK_FOLDER))

    for file in settings.PACK_FOLDER.glob("*.toml"):
        shutil.copy(file, tmp_path)
    release = tmp_path / "release.toml"
    release.write_text(
        release.read_text()
        .replace("unknown = 0.3 }, source", "unknown = 0.2 }, source")
        .replace('require = ["full-function", "covers-and-labels"]', 'require = ["full-function"]')
        .replace("when = 'job.returned'", "when = 'job.returned || true'")
        .replace(
            'require = ["hand-back-closed", ',
            'require = ["hand-back-closed", "covers-and-labels", ',
        )
    )
    told = run("rules", "diff", str(tmp_path))
    assert told == run("rules", "diff", str(settings.PACK_FOLDER), str(tmp_path))
    assert f"job {number}" in told
    assert "! earth-continuity would be due again" in told
    assert "+ clean-trials" in told
    assert "1 open jobs would change." in told


def test_the_table_of_the_documents_is_that_of_the_pack():
    page = settings.ROOT / "docs" / "steps-and-events.md"
    assert run("rules", "table") == page.read_text(encoding="utf-8")


@pytest.mark.slow
def test_rules_prove_tells_progress_and_writes_the_unit_that_slips_through(tmp_path, facts):
    assert "0 refuted, 0 not proved" in run("rules", "prove")

    for file in settings.PACK_FOLDER.glob("*.toml"):
        shutil.copy(file, tmp_path)
    for name in ("opening.toml", "hazards.toml"):
        table = tmp_path / name
        table.write_text(table.read_text().replace("rail_volts > 30.0", "rail_volts > 90.0"))
    out, errors = io.StringIO(), io.StringIO()
    with pytest.raises(CommandError) as caught:
        call_command(
            "rules",
            "prove",
            "--pack",
            str(tmp_path),
            "--out",
            str(tmp_path / "units"),
            stdout=out,
            stderr=errors,
        )
    assert caught.value.returncode == 2
    assert "refuted    discharge-before-hands" in out.getvalue()
    unit = tmp_path / "units" / "discharge-before-hands.json"
    slips = json.loads(unit.read_text())
    assert 30 < slips["unit.rail_volts"] <= 90
    shape = json.loads(run("checklist", str(unit), "--json", "--pack", str(tmp_path)))
    assert "discharge-reservoirs" not in [step["key"] for step in shape["steps"]]


def test_calc_lists_and_computes():
    assert "discharge" in run("calc")
    printed = run(
        "calc", "discharge", "--volts", "75", "--microfarads", "10000", "--ohms", "100", "--json"
    )
    assert json.loads(printed)["energy_j"] == pytest.approx(28.125)
    assert "energy_j" in run("calc", "discharge", "--volts", "75", "--microfarads", "10000")


@pytest.mark.parametrize("typed", ["-10", "-1e1", "-10,0", "-.01e3"])
def test_calc_takes_a_negative_value_in_every_spelling(typed):
    said = run("calc", "full-scale", "--tone-volts", "1", "--level-decibels", typed, "--json")
    assert json.loads(said.splitlines()[-1])["full_scale_volts"] == pytest.approx(10**0.5)


def test_calc_names_bad_input():
    with pytest.raises(CommandError, match="volts is -5 V") as caught:
        run("calc", "discharge", "--volts", "-5", "--microfarads", "10")
    assert caught.value.returncode == 2


def test_api_token_is_printed_and_works(people, client):
    token = run("api-token", "technician").strip()
    answer = client.get("/api/v1/jobs/", headers={"Authorization": f"Bearer {token}"})
    assert answer.status_code == 200
    with pytest.raises(CommandError, match="There is no 'ghost'; known are: desk, nobody, owner"):
        run("api-token", "ghost")


@pytest.mark.parametrize("name", ["user", "person"])
def test_user_creates_an_account_with_a_password(db, client, name):
    errors = io.StringIO()
    printed = run(name, "bea", "technician", stderr=errors)
    password = printed.split("Password: ")[1].strip()
    assert client.login(username="bea", password=password)
    told = {"user": "", "person": "person is called user now: manage.py user NAME ROLE\n"}
    assert errors.getvalue() == told[name]


def test_ledger_verify_counts_and_tells_breaks(bench, monkeypatch):
    bench.receive()
    assert "every chain intact" in run("ledger", "verify")
    monkeypatch.setattr("shop.jobs.ledger.hash_of", lambda row: "0" * 64)
    errors = io.StringIO()
    with pytest.raises(CommandError, match="breaks found"):
        run("ledger", "verify", stderr=errors)
    assert "was altered" in errors.getvalue()


def test_jobs_import_in_an_empty_shop_goes_by_an_account_nobody_can_use(db, tmp_path):
    file = tmp_path / "jobs.csv"
    file.write_text("make\nA\n")
    assert "1 row imported as 1 job" in run("jobs", "import", str(file))
    importer = User.objects.get(username="importer")
    assert not importer.has_usable_password()
    with pytest.raises(CommandError, match="There is no person 'ghost'"):
        run("jobs", "import", str(file), "--by", "ghost")


def test_jobs_import_tells_rows_and_exits_2(people, tmp_path):
    file = tmp_path / "jobs.csv"
    file.write_text("make,year\nA,old\nB,1990\n")
    errors = io.StringIO()
    with pytest.raises(CommandError, match=r"1 fault in 2 rows; nothing was imported\.") as caught:
        run("jobs", "import", str(file), stderr=errors)
    assert caught.value.returncode == 2
    assert "line 2: unit.year is 'old'" in errors.getvalue()
    assert "2 rows could be imported" not in errors.getvalue()


def test_the_demo_tells_seven_units_in_different_stages(demo_shop):
    from shop.jobs.models import Job  # noqa: PLC0415

    open_jobs = Job.objects.filter(closed_at=None)
    stages = set(open_jobs.values_list("stage", flat=True))
    assert (open_jobs.count(), Job.objects.count()) == (7, 23)
    assert {"received", "opened", "awaiting_parts", "soaking"} <= stages
    assert set(Job.objects.values_list("power", flat=True)) == {"isolated", "limited", "full"}
    assert "every chain intact" in run("ledger", "verify")


def test_manage_exits_2_for_a_bad_facts_file(tmp_path):
    file = tmp_path / "facts.json"
    file.write_text('{"unit.colour": "red"}')
    done = subprocess.run(
        [sys.executable, "manage.py", "checklist", str(file)],
        cwd=settings.ROOT,
        capture_output=True,
        text=True,
        check=False,
        env={"BENCHTAG_DATA": str(tmp_path), "PATH": ""},
    )
    assert done.returncode == 2
    assert "'unit.colour' is not a fact of the vocabulary." in done.stderr
