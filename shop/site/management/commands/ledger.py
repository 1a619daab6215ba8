"""`manage.py ledger verify|sign|key|new-key|protect`: the record of the shop, proved and signed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection
from django.utils import timezone

from shop.jobs import database_guards, head_lists, head_signatures, proofs, shop_keys
from shop.jobs.models import LedgerRow
from shop.lib.ed25519 import BadKey, PublicKey
from shop.lib.phrases import counted
from shop.site import start

_MOST_NAMED = 20


class Command(BaseCommand):
    """Verifies the ledgers, signs their heads, and sees to the key of the shop."""

    help = "Check every job's ledger, its signatures, and each job against its ledger."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the subcommands."""
        ways = parser.add_subparsers(dest="way", required=True)
        verify = ways.add_parser("verify", help="check every chain and every signature")
        verify.add_argument("--key", metavar="FILE.pem", help="by this public key, kept elsewhere")
        verify.add_argument("--heads", metavar="FILE", help="against the signed heads of a backup")
        ways.add_parser("sign", help="sign the heads of closed jobs that the key has not signed")
        ways.add_parser("key", help="print the public key, and how it stands with it")
        new = ways.add_parser("new-key", help="let a new key follow the one in force")
        new.add_argument("--lost", action="store_true", help="the key in force is lost")
        ways.add_parser("protect", help="put the triggers of the database in place")

    def handle(self, *args: Any, **options: Any) -> None:
        """Run it; exit 1 with a sentence for each break."""
        getattr(self, f"_{options['way'].replace('-', '_')}")(options)

    def _verify(self, options: dict[str, Any]) -> None:
        try:
            root = _public_key(options["key"]) if options.get("key") else None
            listed = _listed(Path(options["heads"]), root) if options.get("heads") else []
        except (BadKey, head_lists.BadList, OSError) as error:
            raise CommandError(str(error), returncode=2) from None
        verdict = head_signatures.verify(root)
        faults = [*proofs.faults(), *verdict.faults, *listed]
        for fault in faults:
            self.stderr.write(fault)
        if faults:
            raise CommandError(f"{len(faults)} breaks found.")
        for fault in start.guard_faults():
            self.stderr.write(fault)
        self._tell(verdict)
        self.stdout.write(f"{LedgerRow.objects.count()} rows, every chain intact.")

    def _tell(self, verdict: head_signatures.Verdict) -> None:
        """Say what is signed by whom, and what is not."""
        if verdict.holding:
            self.stdout.write(f"{verdict.holding} signed heads hold, by {verdict.root}.")
        for fingerprint, count in verdict.by_others.items():
            self.stderr.write(
                f"{count} heads are signed by {fingerprint}, which the key here does not vouch for:"
                " compare it with a release record, or give its public key with --key."
            )
        if verdict.unsigned:
            named = ", ".join(map(str, verdict.unsigned[:_MOST_NAMED]))
            more = ", ..." if len(verdict.unsigned) > _MOST_NAMED else ""
            closed = counted(verdict.unsigned, "closed job")
            self.stderr.write(f"{closed} not signed by this key: {named}{more}.")

    def _sign(self, options: dict[str, Any]) -> None:
        self._verify(options)
        self.stdout.write(f"{head_signatures.sign_closed(at=timezone.now())} heads signed.")
        if not shop_keys.state().can_sign:
            raise CommandError(shop_keys.state().sentence)

    def _key(self, options: dict[str, Any]) -> None:
        state = shop_keys.state()
        self.stderr.write(state.sentence)
        if state.in_force is not None:
            self.stderr.write(f"Fingerprint: {state.in_force.fingerprint}")
            self.stdout.write(state.in_force.public_key, ending="")

    def _new_key(self, options: dict[str, Any]) -> None:
        try:
            row = shop_keys.change(at=timezone.now(), lost=options["lost"])
        except (shop_keys.KeyRefused, BadKey, OSError) as error:
            raise CommandError(str(error), returncode=2) from None
        self.stdout.write(f"The key is {row.fingerprint} now, and follows {row.former}.")

    def _protect(self, options: dict[str, Any]) -> None:
        self._verify(options)
        database_guards.install(connection)
        self.stdout.write("Every trigger is in place.")


def _public_key(file: str) -> PublicKey:
    return PublicKey.read(Path(file).read_text(encoding="utf-8"))


def _listed(file: Path, root: PublicKey | None) -> list[str]:
    signature = file.with_name(f"{file.name}.sig").read_bytes()
    return list(head_lists.faults(head_lists.read(file.read_bytes(), signature, root)))
