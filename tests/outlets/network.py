"""A broker with certificates and rights of its own, and networks that can be cut.

Networks are cut by taking down one end of a pair of virtual interfaces into a network namespace
(Linux, as root); where that is not allowed, by a relay between the two that stops passing bytes on.
"""

from __future__ import annotations

import contextlib
import fcntl
import os
import random
import re
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from ipaddress import ip_address
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

MOSQUITTO = shutil.which("mosquitto") or "/usr/sbin/mosquitto"
# User: password. The outlet reads its enable and writes its state, the shop the other way round.
PEOPLE = {"shop": "shop-word", "outlet": "outlet-word", "meter": "meter-word", "admin": "admin"}
RIGHTS = """
user shop
topic read bench/+/state
topic write bench/+/enable
user outlet
topic write bench/+/state
topic read bench/+/enable
user meter
topic read bench/+/state
topic write meters/#
user admin
topic readwrite #
"""


def free_port(host="127.0.0.1"):
    with socket.socket() as probe:
        probe.bind((host, 0))
        return probe.getsockname()[1]


def certificates(folder, addresses):
    """An authority and a certificate for these addresses, as PEM files; returns the authority's path."""
    now = datetime.now(UTC)

    def made(name, issuer, key, signed_by, extension):
        built = (
            x509.CertificateBuilder()
            .subject_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)]))
            .issuer_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, issuer)]))
            .public_key(key.public_key())
            .serial_number(x509.random_serial_number())
            .not_valid_before(now - timedelta(days=1))
            .not_valid_after(now + timedelta(days=2))
            .add_extension(*extension)
        )
        return built.sign(signed_by, hashes.SHA256())

    root, key = (ec.generate_private_key(ec.SECP256R1()) for _ in range(2))
    names = x509.SubjectAlternativeName([x509.IPAddress(ip_address(one)) for one in addresses])
    authority = x509.BasicConstraints(ca=True, path_length=0), True
    pem = serialization.Encoding.PEM
    (folder / "authority.pem").write_bytes(
        made("Test authority", "Test authority", root, root, authority).public_bytes(pem)
    )
    (folder / "broker.pem").write_bytes(
        made("Broker", "Test authority", key, root, (names, False)).public_bytes(pem)
    )
    (folder / "broker.key").write_bytes(
        key.private_bytes(pem, serialization.PrivateFormat.PKCS8, serialization.NoEncryption())
    )
    return folder / "authority.pem"


class Broker:
    """A mosquitto with TLS, passwords and an access list; `within` is a network namespace."""

    def __init__(self, folder, port, addresses=("127.0.0.1",), within=()):
        folder.mkdir(parents=True, exist_ok=True)
        self.port, self.within, self.process = port, list(within), None
        self.authority = certificates(folder, {*addresses, "127.0.0.1"})
        (folder / "rights").write_text(RIGHTS)
        passwords = folder / "passwords"
        passwords.write_text("".join(f"{name}:{word}\n" for name, word in PEOPLE.items()))
        subprocess.run(["mosquitto_passwd", "-U", str(passwords)], check=True)
        self.settings = folder / "mosquitto.conf"
        self.settings.write_text(
            f"listener {port}\nuser root\nallow_anonymous false\npersistence false\n"
            f"password_file {passwords}\nacl_file {folder}/rights\n"
            f"cafile {self.authority}\ncertfile {folder}/broker.pem\nkeyfile {folder}/broker.key\n"
            "log_type error\nlog_type warning\n"
        )
        self.said = folder / "said"

    def start(self):
        command = [*self.within, MOSQUITTO, "-c", str(self.settings)]
        with self.said.open("ab") as said:
            self.process = subprocess.Popen(command, stdout=said, stderr=said)

    def kill(self):
        if self.process:
            self.process.send_signal(signal.SIGKILL)
            self.process.wait()


class Namespace:
    """A network namespace with two cables to it: one of the shop, one of the outlet."""

    def __init__(self, number):
        self.name = f"bt{os.getpid() % 10000}x{number}"
        self.cables = {}
        self.within = ["ip", "netns", "exec", self.name]
        # One at a time, or two take the same net.
        with (Path(tempfile.gettempdir()) / "benchtag-nets.lock").open("w") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            self._make(_free_net())

    def _make(self, net):
        _ip("netns", "add", self.name)
        _ip("-n", self.name, "link", "set", "lo", "up")
        for index, whose in enumerate(("shop", "outlet")):
            inner, outer = f"{self.name[-8:]}{index}i", f"{self.name[-8:]}{index}o"
            here = f"10.{77 + index}.{net}"
            _ip("link", "add", outer, "type", "veth", "peer", "name", inner, "netns", self.name)
            _ip("addr", "add", f"{here}.1/24", "dev", outer)
            _ip("link", "set", outer, "up")
            _ip("-n", self.name, "addr", "add", f"{here}.2/24", "dev", inner)
            _ip("-n", self.name, "link", "set", inner, "up")
            self.cables[whose] = (outer, f"{here}.2")

    def address(self, whose, port):
        return self.cables[whose][1], port

    def cut(self, whose):
        _ip("link", "set", self.cables[whose][0], "down")

    def mend(self, whose):
        _ip("link", "set", self.cables[whose][0], "up")

    def end(self):
        # The cables first: a namespace that is taken down lets go of them some time later.
        for outer, _ in self.cables.values():
            with contextlib.suppress(subprocess.CalledProcessError):
                _ip("link", "del", outer)
        with contextlib.suppress(subprocess.CalledProcessError):
            _ip("netns", "del", self.name)


class Relay:
    """Two relays between the shop, the outlet and the broker: they stop passing on when cut."""

    within = ()

    def __init__(self, port):
        self.ports, self.processes = {}, {}
        for whose in ("shop", "outlet"):
            self.ports[whose] = free_port()
            command = [
                sys.executable,
                "-m",
                "tests.outlets.relay",
                str(self.ports[whose]),
                str(port),
            ]
            self.processes[whose] = subprocess.Popen(command, stdin=subprocess.PIPE)

    def address(self, whose, _port):
        return "127.0.0.1", self.ports[whose]

    def cut(self, whose):
        self._say(whose, b"cut\n")

    def mend(self, whose):
        self._say(whose, b"mend\n")

    def _say(self, whose, order):
        self.processes[whose].stdin.write(order)
        self.processes[whose].stdin.flush()

    def end(self):
        for process in self.processes.values():
            process.kill()
            process.wait()


def namespaces_are_allowed():
    try:
        probe = Namespace(250)
    except (OSError, subprocess.CalledProcessError):
        return False
    probe.end()
    return True


def _free_net():
    """Return a third byte that no address of this machine has, here and in another run."""
    shown = subprocess.run(["ip", "-o", "addr"], capture_output=True, text=True, check=True).stdout
    taken = {int(byte) for byte in re.findall(r"inet 10\.7[78]\.(\d+)\.", shown)}
    return random.choice([net for net in range(1, 250) if net not in taken])


def _ip(*words):
    subprocess.run(["ip", *words], check=True, capture_output=True)


def wait_until_open(host, port, seconds=20):
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        with contextlib.suppress(OSError), socket.create_connection((host, port), timeout=1):
            return
        time.sleep(0.05)
    raise TimeoutError(f"Nobody listens at {host}:{port}.")
