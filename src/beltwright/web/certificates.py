"""The plant's own authority and the server's certificate, so that phones reach the book over HTTPS.

The authority can vouch for nothing but names inside a plant (RFC 5280, 4.2.1.10), so that trusting it puts nobody's
bank at risk should its key be stolen. Keys are written for their owner alone. Loads `cryptography` when first needed.
"""

from __future__ import annotations

import ipaddress
import os
import socket
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Final

from beltwright.errors import BookError, BookReadOnly, InputError

if TYPE_CHECKING:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey

    Address = ipaddress.IPv4Address | ipaddress.IPv6Address

AUTHORITY_LASTS: Final = timedelta(days=3650)
# phones take no server certificate that lasts longer than 398 days, whoever made it
SERVER_LASTS: Final = timedelta(days=397)
RENEWED_BEFORE: Final = timedelta(days=30)
# clocks of phones are off by minutes; a certificate of this minute would not count yet
_SLACK: Final = timedelta(hours=1)
_INSIDE: Final = ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8", "fc00::/7",
                  "fe80::/10", "::1/128")
# ends of names that no public authority gives out (RFC 2606, 6762, 8375; ICANN for `internal`)
_INSIDE_NAMES: Final = ("local", "lan", "home.arpa", "internal", "localhost", "test")


@dataclass(frozen=True, slots=True)
class Certificates:
    """The four files of a folder, and what a person has to know of them."""

    authority: Path
    authority_key: Path
    server: Path
    server_key: Path

    @classmethod
    def at(cls, folder: Path) -> Certificates:
        """The files as they are called in a folder, there or not."""
        return cls(folder / "authority.crt", folder / "authority.key", folder / "server.crt", folder / "server.key")

    def are_there(self) -> bool:
        """Whether HTTPS can be served with them."""
        return self.server.exists() and self.server_key.exists()


@dataclass(frozen=True, slots=True)
class Made:
    """What `make` did: the server's names, until when its certificate counts, which of the two are new."""

    files: Certificates
    names: tuple[str, ...]
    until: datetime
    fingerprint: str
    new_authority: bool
    new_server: bool


def beside(book: str | Path) -> Path:
    """The folder of a book's certificates: beside the file, named after it; for a server's book, here.

    >>> beside("/srv/plant.book").as_posix()
    '/srv/plant-tls'
    """
    if "://" in str(book):
        return Path("beltwright-tls")
    path = Path(book)
    return path.with_name(f"{path.stem}-tls")


def make(folder: Path, names: Sequence[str], *, plant: str, at: datetime, renew: bool = False) -> Made:
    """Make what is missing: the authority once, the server's certificate when it runs out or other names are wanted.

    names: host names and addresses under which phones reach the server
    renew: make the server's certificate anew in any case; the authority stays, so that phones go on trusting
    errors: `InputError` for a name that is none; `BookReadOnly` when the folder cannot be written
    """
    wanted = _told_apart(names)
    files = Certificates.at(folder)
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        new_authority = not (files.authority.exists() and files.authority_key.exists())
        if new_authority:
            _make_authority(files, plant, wanted, at)
        _must_be_vouched_for(files.authority, wanted)
        new_server = new_authority or renew or not files.are_there() or not _still_good(files, wanted, at)
        if new_server:
            _make_server(files, wanted, at)
    except OSError as problem:
        raise BookReadOnly(f"{folder} cannot be written ({problem.strerror}): choose another folder with --folder"
                           ) from problem
    return Made(files, tuple(map(str, wanted)), _read(files.server).not_valid_after_utc, fingerprint(files.authority),
                new_authority, new_server)


def keep_fresh(folder: Path, *, at: datetime) -> Made | None:
    """Renew the server's certificate for the same names when it is about to run out; None where that cannot be done."""
    files = Certificates.at(folder)
    if not files.are_there() or not files.authority_key.exists():
        return None
    return make(folder, names_of(files.server), plant="", at=at)


def fingerprint(certificate: Path) -> str:
    """The SHA-256 of a certificate as people compare it: pairs of digits with colons."""
    from cryptography.hazmat.primitives.hashes import SHA256

    return _read(certificate).fingerprint(SHA256()).hex(":").upper()


def as_phones_take_it(certificate: Path) -> bytes:
    """A certificate in DER, which every phone opens."""
    from cryptography.hazmat.primitives.serialization import Encoding

    return _read(certificate).public_bytes(Encoding.DER)


def names_of(certificate: Path) -> tuple[str, ...]:
    """The names and addresses a certificate is for."""
    from cryptography import x509

    named = _read(certificate).extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    return (*named.get_values_for_type(x509.DNSName), *map(str, named.get_values_for_type(x509.IPAddress)))


def runs_out(certificate: Path) -> datetime:
    """When a certificate counts no more."""
    return _read(certificate).not_valid_after_utc


def own_names() -> tuple[str, ...]:
    """The names and addresses under which this computer is likely reached."""
    host = socket.gethostname().split(".")[0].casefold()
    found = [host, f"{host}.local", "localhost", "127.0.0.1", *_own_addresses()]
    return tuple(dict.fromkeys(name for name in found if name))


# --- how -------------------------------------------------------------------------------------------------------------

def _own_addresses() -> list[str]:
    found = []
    # nothing is sent: connecting a UDP socket only asks which address would be used
    for family, there in ((socket.AF_INET, "192.0.2.1"), (socket.AF_INET6, "2001:db8::1")):
        try:
            with socket.socket(family, socket.SOCK_DGRAM) as asking:
                asking.connect((there, 9))
                found.append(str(asking.getsockname()[0]).split("%")[0])
        except OSError:
            continue
    return found


def _told_apart(names: Iterable[str]) -> list[str | Address]:
    wanted: list[str | Address] = []
    for name in names:
        bare = name.strip().strip("[]").rstrip(".").casefold()
        try:
            wanted.append(ipaddress.ip_address(bare))
            continue
        except ValueError:
            pass
        parts = bare.split(".")
        if not bare.isascii() or len(bare) > 253 or not all(
                0 < len(part) < 64 and part.replace("-", "").isalnum() and part[0] != "-" != part[-1]
                for part in parts):
            raise InputError(f"{name!r} is no name of a computer: give one like mill-pc.local or 192.168.1.20")
        wanted.append(bare)
    if not wanted:
        raise InputError("give at least one name or address under which phones reach this computer")
    return list(dict.fromkeys(wanted))


def _read(path: Path) -> x509.Certificate:
    from cryptography import x509

    try:
        return x509.load_pem_x509_certificate(path.read_bytes())
    except (OSError, ValueError) as problem:
        raise BookError(f"{path} is not a certificate that can be read: delete it and run beltwright tls") from problem


def _read_key(path: Path) -> EllipticCurvePrivateKey:
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    try:
        key = load_pem_private_key(path.read_bytes(), None)
        assert isinstance(key, EllipticCurvePrivateKey)
    except (OSError, ValueError, AssertionError) as problem:
        raise BookError(f"{path} is not a key of ours: delete the folder and run beltwright tls; phones must then "
                        "trust the new authority") from problem
    return key


def _still_good(files: Certificates, wanted: Iterable[str | Address], at: datetime) -> bool:
    server = _read(files.server)
    return (set(map(str, wanted)) <= set(names_of(files.server)) and server.not_valid_after_utc - at > RENEWED_BEFORE
            and server.issuer == _read(files.authority).subject)


def _must_be_vouched_for(authority: Path, wanted: Iterable[str | Address]) -> None:
    from cryptography import x509

    allowed = _read(authority).extensions.get_extension_for_class(x509.NameConstraints).value.permitted_subtrees or []
    for name in wanted:
        if isinstance(name, str):
            fits = any(name == end.value or name.endswith(f".{end.value}") for end in allowed
                       if isinstance(end, x509.DNSName))
        else:
            fits = any(name in network.value for network in allowed if isinstance(network, x509.IPAddress)
                       and isinstance(network.value, ipaddress.IPv4Network | ipaddress.IPv6Network))
        if not fits:
            raise InputError(f"the authority in {authority.parent} was not made for {name}: move that folder away and "
                             "run beltwright tls with all names; phones must then trust the new authority")


def _make_authority(files: Certificates, plant: str, wanted: Sequence[str | Address], at: datetime) -> None:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric import ec

    key = ec.generate_private_key(ec.SECP256R1())
    name = _named(f"Beltwright, {plant}"[:64] if plant else "Beltwright")
    made = (
        _begun(name, name, key, at, AUTHORITY_LASTS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(signs_certificates=True), critical=True)
        .add_extension(_only_inside(wanted), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False))
    _write(files.authority_key, files.authority, key, made, key)


def _make_server(files: Certificates, wanted: Sequence[str | Address], at: datetime) -> None:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.x509.oid import ExtendedKeyUsageOID

    authority, signing = _read(files.authority), _read_key(files.authority_key)
    key = ec.generate_private_key(ec.SECP256R1())
    named = [x509.DNSName(name) if isinstance(name, str) else x509.IPAddress(name) for name in wanted]
    made = (
        _begun(_named(str(wanted[0])[:64]), authority.subject, key, at, SERVER_LASTS)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs_certificates=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName(named), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(signing.public_key()), critical=False))
    _write(files.server_key, files.server, key, made, signing)


def _begun(subject: x509.Name, issuer: x509.Name, key: EllipticCurvePrivateKey, at: datetime,
           lasts: timedelta) -> x509.CertificateBuilder:
    from cryptography import x509

    return (x509.CertificateBuilder().subject_name(subject).issuer_name(issuer).public_key(key.public_key())
            .serial_number(x509.random_serial_number()).not_valid_before(at - _SLACK)
            .not_valid_after(at - _SLACK + lasts))


def _named(words: str) -> x509.Name:
    from cryptography import x509
    from cryptography.x509.oid import NameOID

    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, words)])


def _usage(*, signs_certificates: bool) -> x509.KeyUsage:
    from cryptography import x509

    return x509.KeyUsage(digital_signature=not signs_certificates, key_cert_sign=signs_certificates,
                         crl_sign=signs_certificates, content_commitment=False, key_encipherment=False,
                         data_encipherment=False, key_agreement=False, encipher_only=False, decipher_only=False)


def _only_inside(wanted: Iterable[str | Address]) -> x509.NameConstraints:
    """Names inside a plant, and those asked for."""
    from cryptography import x509

    inside = [ipaddress.ip_network(network) for network in _INSIDE]
    names, networks = list(_INSIDE_NAMES), list(inside)
    for name in wanted:
        if isinstance(name, str):
            names += [] if any(name == end or name.endswith(f".{end}") for end in _INSIDE_NAMES) else [name]
        elif not any(name in network for network in inside):
            networks.append(ipaddress.ip_network(name))
    return x509.NameConstraints([*map(x509.DNSName, names), *map(x509.IPAddress, networks)], None)


def _write(key_path: Path, path: Path, key: EllipticCurvePrivateKey, made: x509.CertificateBuilder,
           signing: EllipticCurvePrivateKey) -> None:
    from cryptography.hazmat.primitives import hashes, serialization

    secret = key.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8,
                               serialization.NoEncryption())
    certificate = made.sign(signing, hashes.SHA256()).public_bytes(serialization.Encoding.PEM)
    for to, data, mode in ((key_path, secret, 0o600), (path, certificate, 0o644)):
        half = to.with_name(f".{to.name}.half")
        half.unlink(missing_ok=True)
        with os.fdopen(os.open(half, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode), "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        half.replace(to)
