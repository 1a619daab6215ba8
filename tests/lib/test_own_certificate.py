"""The certificate of a machine: what trusts its authority is answered, and for nothing else."""

from __future__ import annotations

import http.server
import ssl
import threading
import urllib.request
from datetime import UTC, datetime, timedelta
from urllib.error import URLError

import pytest
from cryptography import x509

from shop.lib.own_certificate import LASTS, NoCertificate, in_folder

NOW = datetime.now(UTC)


@pytest.fixture
def files(tmp_path):
    files = in_folder(tmp_path)
    files.provide(["localhost", "bench.local"], ["127.0.0.1", "192.168.7.20"], NOW)
    return files


def served(files):
    server = http.server.HTTPServer(("127.0.0.1", 0), http.server.SimpleHTTPRequestHandler)
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(files.certificate, files.key)
    server.socket = context.wrap_socket(server.socket, server_side=True)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    return server


@pytest.mark.parametrize("name", ["127.0.0.1", "localhost"])
def test_who_trusts_the_authority_is_answered(files, name):
    server = served(files)
    trusting = ssl.create_default_context(cafile=str(files.authority))
    try:
        with urllib.request.urlopen(
            f"https://{name}:{server.server_port}/", context=trusting
        ) as answer:
            assert answer.status == 200
        with pytest.raises(URLError, match="CERTIFICATE_VERIFY_FAILED"):
            urllib.request.urlopen(f"https://{name}:{server.server_port}/")
    finally:
        server.shutdown()
        server.server_close()


def test_it_stands_until_it_ends_soon_or_the_machine_moves(files, tmp_path):
    def serial():
        return x509.load_pem_x509_certificate(files.certificate.read_bytes()).serial_number

    authority, first = files.authority.read_bytes(), serial()
    files.provide(["localhost"], ["192.168.7.20"], NOW)
    assert serial() == first
    files.provide(["localhost"], ["192.168.7.21"], NOW)
    second = serial()
    assert second != first
    files.provide(["localhost"], ["192.168.7.21"], NOW + LASTS - timedelta(days=29))
    assert serial() != second
    assert files.authority.read_bytes() == authority, "phones trust it already"


def test_keys_are_for_their_owner_alone(files):
    assert files.folder.stat().st_mode & 0o777 == 0o700
    assert {file.stat().st_mode & 0o777 for file in files.folder.iterdir()} == {0o600}
    assert len(list(files.folder.iterdir())) == 4


def test_the_fingerprint_is_that_of_the_file(files):
    authority = x509.load_der_x509_certificate(files.authority_der())
    assert len(files.fingerprint()) == 32 * 3 - 1
    assert authority.subject.rfc4514_string() == "CN=Benchtag on this machine"


@pytest.mark.parametrize("name", ["bench.example.org", "notlocal"])
def test_it_has_no_name_beyond_the_local_network(tmp_path, name):
    with pytest.raises(NoCertificate, match=f"{name} is no name of a local network"):
        in_folder(tmp_path).provide([name], [], NOW)
    assert list(tmp_path.iterdir()) == []


def test_beyond_it_it_vouches_for_the_address_that_the_machine_had_and_no_other(tmp_path):
    files = in_folder(tmp_path)
    files.provide(["localhost"], ["198.51.100.7"], NOW)
    files.provide(["localhost"], ["198.51.100.7", "10.0.0.4", "100.64.0.9"], NOW)
    with pytest.raises(NoCertificate, match=r"198\.51\.100\.8 is no address of a local network"):
        files.provide(["localhost"], ["198.51.100.8"], NOW)


def test_a_stolen_authority_stands_in_for_no_page_elsewhere(files, monkeypatch):
    """RFC 5280, 4.2.1.10: whoever checks refuses a name that the authority was not given."""
    files._make_certificate(["bench.example.org"], [], NOW)
    store = x509.verification.Store([x509.load_pem_x509_certificate(files.authority.read_bytes())])
    leaf = x509.load_pem_x509_certificate(files.certificate.read_bytes())
    builder = x509.verification.PolicyBuilder().store(store)
    with pytest.raises(x509.verification.VerificationError):
        builder.build_server_verifier(x509.DNSName("bench.example.org")).verify(leaf, [])
    files._make_certificate(["bench.local"], [], NOW)
    leaf = x509.load_pem_x509_certificate(files.certificate.read_bytes())
    assert builder.build_server_verifier(x509.DNSName("bench.local")).verify(leaf, [])
