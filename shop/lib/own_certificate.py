"""A certificate of this machine's own: an authority that a phone is told to trust, and what it signs.

The authority vouches for names and addresses of a local network, and for the addresses that the
machine has when it is made, so that whoever gets hold of its key can stand in for no page elsewhere.

Sources: RFC 5280 (profile and name constraints, 4.2.1.10), RFC 1918, RFC 3927, RFC 4193, RFC 6598
and RFC 6762 (what is local). A certificate of at most 825 days: what phones take, from memory.
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import IPv4Address, IPv6Address, ip_address, ip_network
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

_LOCAL_NETWORKS = (
    "127.0.0.0/8", "10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16",
    "100.64.0.0/10",
    "::1/128", "fc00::/7", "fe80::/10",
)  # fmt: skip
_LOCAL_NAMES = ("localhost", "local", "lan", "internal", "home.arpa")
AUTHORITY_LASTS, LASTS, RENEWED_BEFORE = timedelta(3650), timedelta(397), timedelta(30)
# Clocks of phones differ.
_EARLIER = timedelta(days=1)

Address = IPv4Address | IPv6Address


class NoCertificate(Exception):
    """A certificate that cannot be made; the message is a sentence."""


@dataclass(frozen=True)
class Files:
    """Where they lie: the authority for the phone, the certificate and its key for the server."""

    folder: Path

    @property
    def authority(self) -> Path:
        """What a phone is told to trust; nothing in it is secret."""
        return self.folder / "authority.pem"

    @property
    def certificate(self) -> Path:
        """What the server shows."""
        return self.folder / "certificate.pem"

    @property
    def key(self) -> Path:
        """The key of the server."""
        return self.folder / "key.pem"

    @property
    def _authority_key(self) -> Path:
        return self.folder / "authority-key.pem"

    def provide(self, names: list[str], addresses: list[str], now: datetime) -> None:
        """Make what is missing, ends soon, or does not name all of these; the authority stays.

        NoCertificate for an address or a name that the authority does not vouch for.
        """
        wanted = [ip_address(address) for address in addresses]
        _require_local(names)
        self.folder.mkdir(mode=0o700, exist_ok=True)
        if not self._authority_key.exists():
            self._make_authority(wanted, now)
        self._require_vouched(wanted)
        if not self._serves(names, wanted, now):
            self._make_certificate(names, wanted, now)

    def _require_vouched(self, addresses: list[Address]) -> None:
        authority = x509.load_pem_x509_certificate(self.authority.read_bytes())
        limits = authority.extensions.get_extension_for_class(x509.NameConstraints).value
        permitted = [
            ip_network(str(name.value))
            for name in limits.permitted_subtrees or ()
            if isinstance(name, x509.IPAddress)
        ]
        for address in addresses:
            if not any(address in network for network in permitted):
                raise NoCertificate(
                    f"{address} is no address of a local network, nor one that this machine had."
                    f" Remove {self.folder} for a new certificate, which phones must be told to"
                    " trust; or put a proxy in front (docs/serving.md)."
                )

    def _make_authority(self, addresses: list[Address], now: datetime) -> None:
        key = ec.generate_private_key(ec.SECP256R1())
        name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Benchtag on this machine")])
        builder = (
            _begun(name, name, key, now, AUTHORITY_LASTS)
            .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
            .add_extension(_usage(signs_certificates=True), critical=True)
            .add_extension(x509.NameConstraints(_permitted(addresses), None), critical=True)
        )
        _write(self.authority, _pem(builder.sign(key, hashes.SHA256())))
        _write(self._authority_key, _key_pem(key))

    def _make_certificate(self, names: list[str], addresses: list[Address], now: datetime) -> None:
        authority = x509.load_pem_x509_certificate(self.authority.read_bytes())
        signing = serialization.load_pem_private_key(self._authority_key.read_bytes(), None)
        if not isinstance(signing, ec.EllipticCurvePrivateKey):
            raise NoCertificate(f"{self._authority_key} is no key of Benchtag's.")
        key = ec.generate_private_key(ec.SECP256R1())
        called = [x509.DNSName(name) for name in names] + [x509.IPAddress(a) for a in addresses]
        name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Benchtag")])
        builder = (
            _begun(name, authority.subject, key, now, LASTS)
            .add_extension(x509.SubjectAlternativeName(called), critical=False)
            .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
            .add_extension(_usage(signs_certificates=False), critical=True)
            .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
            .add_extension(
                x509.AuthorityKeyIdentifier.from_issuer_public_key(signing.public_key()),
                critical=False,
            )
        )
        _write(self.key, _key_pem(key))
        _write(self.certificate, _pem(builder.sign(signing, hashes.SHA256())))

    def _serves(self, names: list[str], addresses: list[Address], now: datetime) -> bool:
        if not (self.certificate.exists() and self.key.exists()):
            return False
        here = x509.load_pem_x509_certificate(self.certificate.read_bytes())
        called = here.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
        has_names = set(names) <= set(called.get_values_for_type(x509.DNSName))
        has_addresses = set(addresses) <= set(called.get_values_for_type(x509.IPAddress))
        return has_names and has_addresses and here.not_valid_after_utc - now > RENEWED_BEFORE

    def fingerprint(self) -> str:
        """Return the SHA-256 of the authority, in pairs, as a phone shows it."""
        authority = x509.load_pem_x509_certificate(self.authority.read_bytes())
        return authority.fingerprint(hashes.SHA256()).hex(":").upper()

    def authority_der(self) -> bytes:
        """Return the authority in the form that phones install."""
        authority = x509.load_pem_x509_certificate(self.authority.read_bytes())
        return authority.public_bytes(serialization.Encoding.DER)


def in_folder(data: Path) -> Files:
    """Return the files of a shop, in its data folder."""
    return Files(Path(data) / "tls")


def _begun(
    subject: x509.Name,
    issuer: x509.Name,
    key: ec.EllipticCurvePrivateKey,
    now: datetime,
    lasts: timedelta,
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - _EARLIER)
        .not_valid_after(now + lasts)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
    )


def _usage(*, signs_certificates: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs_certificates,
        key_cert_sign=signs_certificates,
        crl_sign=signs_certificates,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )


def _permitted(addresses: list[Address]) -> list[x509.GeneralName]:
    local = [ip_network(network) for network in _LOCAL_NETWORKS]
    beyond = [ip_network(str(a)) for a in addresses if not any(a in network for network in local)]
    names: list[x509.GeneralName] = [x509.DNSName(name) for name in _LOCAL_NAMES]
    return names + [x509.IPAddress(network) for network in (*local, *beyond)]


def _require_local(names: list[str]) -> None:
    for name in names:
        if not any(name == local or name.endswith(f".{local}") for local in _LOCAL_NAMES):
            raise NoCertificate(f"{name} is no name of a local network; it must end in .local.")


def _write(file: Path, content: bytes) -> None:
    """Write a file for its owner alone; the name appears when it is whole."""
    partial = file.with_name(f"{file.name}.part")
    partial.unlink(missing_ok=True)
    with open(os.open(partial, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600), "wb") as fresh:
        fresh.write(content)
    partial.rename(file)


def _pem(certificate: x509.Certificate) -> bytes:
    return certificate.public_bytes(serialization.Encoding.PEM)


def _key_pem(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )
