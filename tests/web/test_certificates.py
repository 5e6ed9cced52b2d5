"""The plant's authority: what it makes is trusted by OpenSSL and for nothing outside; keys are their owner's alone."""

from __future__ import annotations

import socket
import ssl
import stat
import subprocess
import threading
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from beltwright.errors import BookError, InputError
from beltwright.web import certificates
from beltwright.web.certificates import Certificates, Made

NAMES = ("mill-pc", "mill-pc.local", "127.0.0.1", "localhost")
NOW = datetime.now(UTC).replace(microsecond=0)


def make(folder: Path, names: tuple[str, ...] = NAMES, at: datetime = NOW, *, renew: bool = False) -> Made:
    return certificates.make(folder, names, plant="Pellet mill", at=at, renew=renew)


def verified(files: Certificates, *more: str) -> str:
    """What OpenSSL, which is not ours, says of the server's certificate."""
    done = subprocess.run(["openssl", "verify", "-CAfile", str(files.authority), "-purpose", "sslserver",
                           "-x509_strict", *more, str(files.server)], capture_output=True, text=True, check=False)
    return done.stdout + done.stderr


def test_what_it_makes_counts_for_the_names_asked_and_no_other(tmp_path: Path) -> None:
    made = make(tmp_path / "tls")
    assert verified(made.files).strip().endswith("OK")
    for name in ("mill-pc", "mill-pc.local"):
        assert verified(made.files, "-verify_hostname", name).strip().endswith("OK")
    assert verified(made.files, "-verify_ip", "127.0.0.1").strip().endswith("OK")
    assert "mismatch" in verified(made.files, "-verify_hostname", "bank.example")


def test_the_authority_cannot_vouch_for_a_name_outside(tmp_path: Path) -> None:
    made = make(tmp_path / "tls")
    # signed with the plant's own key, as by somebody who has stolen it
    certificates._make_server(made.files, ["bank.example"], NOW)
    assert "permitted subtree violation" in verified(made.files)


def test_a_name_the_authority_was_not_made_for_is_refused(tmp_path: Path) -> None:
    make(tmp_path)
    with pytest.raises(InputError, match=r"not made for bank\.example"):
        make(tmp_path, (*NAMES, "bank.example"))
    with pytest.raises(InputError, match=r"not made for 8\.8\.8\.8"):
        make(tmp_path, ("8.8.8.8",))
    assert verified(make(tmp_path / "other", ("book.plant.example", "198.51.100.7")).files).strip().endswith("OK")


def test_a_browser_s_handshake_goes_through(tmp_path: Path) -> None:
    files = make(tmp_path / "tls").files
    serving = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    serving.load_cert_chain(files.server, files.server_key)
    asking = ssl.create_default_context(cafile=str(files.authority))
    with socket.create_server(("127.0.0.1", 0)) as listening:
        def serve() -> None:
            with serving.wrap_socket(listening.accept()[0], server_side=True) as line:
                line.sendall(b"belts")

        thread = threading.Thread(target=serve)
        thread.start()
        with socket.create_connection(listening.getsockname()) as line, \
                asking.wrap_socket(line, server_hostname="localhost") as safe:
            assert safe.recv(5) == b"belts"
        thread.join()


def test_keys_are_their_owner_s_alone(tmp_path: Path) -> None:
    files = make(tmp_path / "tls").files
    assert stat.S_IMODE((tmp_path / "tls").stat().st_mode) == 0o700
    for key in (files.authority_key, files.server_key):
        assert stat.S_IMODE(key.stat().st_mode) == 0o600
        assert key.read_bytes() not in files.authority.read_bytes()


def test_a_second_run_changes_nothing_until_it_is_time(tmp_path: Path) -> None:
    first = make(tmp_path)
    assert first.new_authority
    assert first.new_server
    again = make(tmp_path)
    assert (again.new_authority, again.new_server, again.fingerprint) == (False, False, first.fingerprint)
    late = NOW + certificates.SERVER_LASTS - certificates.RENEWED_BEFORE
    renewed = make(tmp_path, at=late)
    assert (renewed.new_authority, renewed.new_server) == (False, True)
    assert renewed.until > first.until
    assert renewed.fingerprint == first.fingerprint, "phones go on trusting"
    assert verified(renewed.files, "-attime", str(int(late.timestamp()))).strip().endswith("OK")
    more = make(tmp_path, (*NAMES, "192.168.7.20"), at=late)
    assert more.new_server
    assert "192.168.7.20" in certificates.names_of(more.files.server)
    assert make(tmp_path, at=late, renew=True).new_server


def test_it_is_kept_fresh_for_the_names_it_has(tmp_path: Path) -> None:
    assert certificates.keep_fresh(tmp_path, at=NOW) is None, "nothing there yet"
    made = make(tmp_path)
    fresh = certificates.keep_fresh(tmp_path, at=NOW + certificates.SERVER_LASTS)
    assert fresh is not None
    assert fresh.new_server
    assert certificates.names_of(fresh.files.server) == (*NAMES[:2], "localhost", "127.0.0.1")
    made.files.authority_key.unlink()   # kept elsewhere, as it may be
    assert certificates.keep_fresh(tmp_path, at=NOW) is None


def test_a_server_certificate_lasts_no_longer_than_phones_take(tmp_path: Path) -> None:
    made = make(tmp_path)
    assert made.until - NOW < timedelta(days=398)


@pytest.mark.parametrize("name", ["", "mill pc", "a..b", "-mill", "mill/pc", "mill\nX: y", "ü.local", "x" * 64,
                                  "*.local"])
def test_what_is_no_name_is_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(InputError):
        make(tmp_path, (name,))
    assert list(tmp_path.iterdir()) == []


def test_damaged_files_are_said_plainly(tmp_path: Path) -> None:
    files = make(tmp_path).files
    files.authority_key.write_text("no key", encoding="ascii")
    with pytest.raises(BookError, match="not a key of ours"):
        make(tmp_path, renew=True)
    files.server.write_text("no certificate", encoding="ascii")
    with pytest.raises(BookError, match="not a certificate"):
        make(tmp_path)


def test_this_computer_s_names_can_be_certified(tmp_path: Path) -> None:
    names = certificates.own_names()
    assert "127.0.0.1" in names
    assert set(make(tmp_path, names).names) == set(names)
